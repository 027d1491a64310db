package plot

import "math"

// marker draws a shape at a position and scale.
type marker func(d *pathData, at point, scale float64)

// polygon returns a marker with a number of corners, turned by a fraction of a circle from one
// corner at the top; eight corners look round.
func polygon(radius float64, corners int, turn float64) marker {
	return func(d *pathData, at point, scale float64) {
		for i := range corners {
			sin, cos := math.Sincos(2 * math.Pi * (float64(i)/float64(corners) + turn))
			corner := point{at.x + scale*radius*sin, at.y - scale*radius*cos}
			if i == 0 {
				d.move(corner)
			} else {
				d.line(corner)
			}
		}
		d.close()
	}
}

// cross returns a marker of two strokes.
func cross(arm float64) marker {
	return func(d *pathData, at point, scale float64) {
		arm := scale * arm
		for _, side := range []float64{-1, 1} {
			d.move(point{at.x - arm, at.y - side*arm})
			d.line(point{at.x + arm, at.y + side*arm})
		}
	}
}
