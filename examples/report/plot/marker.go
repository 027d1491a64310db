package plot

import "math"

// polygon is a marker with so many corners, turned by a part of the full circle
// from having one on top; eight corners look round.
func polygon(radius float64, corners int, turn float64) func(*pathData, point) {
	return func(d *pathData, at point) {
		for i := range corners {
			sin, cos := math.Sincos(2 * math.Pi * (float64(i)/float64(corners) + turn))
			corner := point{at.x + radius*sin, at.y - radius*cos}
			if i == 0 {
				d.move(corner)
			} else {
				d.line(corner)
			}
		}
		d.close()
	}
}

// cross is a marker of two strokes.
func cross(arm float64) func(*pathData, point) {
	return func(d *pathData, at point) {
		for _, side := range []float64{-1, 1} {
			d.move(point{at.x - arm, at.y - side*arm})
			d.line(point{at.x + arm, at.y + side*arm})
		}
	}
}
