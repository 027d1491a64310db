package target

import (
	"math"
	"slices"

	"example.com/earnest/response"
)

// point is a place on the difference, which runs straight from one to the next.
type point struct {
	f, x         float64 // frequency in Hz, and its log2
	d            float64 // dB; NaN where it is not known
	above, below float64 // limits of the tolerance, dB; NaN where they are not known
}

func (p point) towards(q point, s float64) point {
	x := p.x + s*(q.x-p.x)
	return point{
		f:     math.Exp2(x),
		x:     x,
		d:     p.d + s*(q.d-p.d),
		above: p.above + s*(q.above-p.above),
		below: p.below + s*(q.below-p.below),
	}
}

// piecesPerOctave keeps the pieces so short that a weight which changes as
// gently as PerERB is as good as a straight line on each.
const piecesPerOctave = 24

// trace lists the points between which difference and tolerance are straight,
// from end to end of the band, with the given cuts (Hz) among them.
func trace(difference response.Curve, tolerance Tolerance, band response.Band, cuts []float64) []point {
	if band.Empty() {
		return nil
	}
	at := []float64{band.Low, band.High}
	for _, more := range [][]float64{
		cuts, difference.Frequency, tolerance.Above.Frequency, tolerance.Below.Frequency,
		{difference.Valid.Low, difference.Valid.High},
		response.LogGrid(band.Low, band.High, piecesPerOctave),
	} {
		for _, f := range more {
			if band.Contains(f) {
				at = append(at, f)
			}
		}
	}
	slices.Sort(at)
	at = slices.Compact(at)
	points := make([]point, len(at))
	for i, f := range at {
		points[i] = point{f: f, x: math.Log2(f), d: difference.At(f)}
		points[i].above, points[i].below = tolerance.at(f)
	}
	return points
}

// cutAtCrossings raises the points by offset dB and adds those where the
// difference crosses zero or the tolerance, so that on each piece the
// deviation has one sign and is within tolerance or is not.
func cutAtCrossings(points []point, offset float64) []point {
	out := make([]point, 0, len(points)+16)
	for i, p := range points {
		p.d += offset
		if i > 0 {
			last := out[len(out)-1]
			cuts := [3]float64{
				crossing(last.d, p.d),
				crossing(last.d-last.above, p.d-p.above),
				crossing(last.d-last.below, p.d-p.below),
			}
			slices.Sort(cuts[:])
			for _, s := range cuts {
				if s > 0 {
					out = append(out, last.towards(p, s))
				}
			}
		}
		out = append(out, p)
	}
	return out
}

// crossing returns where, as a part of the way from a to b, a straight line
// crosses zero; 0 if it does not.
func crossing(a, b float64) float64 {
	if a < 0 && b > 0 || a > 0 && b < 0 {
		return a / (a - b)
	}
	return 0
}

// reading is the difference at a node of the quadrature, with the octaves and
// the weight it stands for.
type reading struct {
	point
	octaves, weight float64
}

// sample lays two Gauss nodes on each piece. They integrate a cubic exactly.
func sample(points []point, w Weight) ([]reading, error) {
	const node = 0.21132486540518713 // (1 − 1/√3)/2
	if len(points) < 2 {
		return nil, nil
	}
	readings := make([]reading, 0, 2*len(points)-2)
	for i, q := range points[1:] {
		p := points[i]
		half := (q.x - p.x) / 2
		for _, s := range [2]float64{node, 1 - node} {
			at := p.towards(q, s)
			weight, err := w.at(at.f)
			if err != nil {
				return nil, err
			}
			readings = append(readings, reading{point: at, octaves: half, weight: half * weight})
		}
	}
	return readings, nil
}

// sums is what the figures are made of, over what is known.
type sums struct {
	octaves, weight         float64 // known
	allOctaves, all         float64 // known or not: octaves, weight
	mean, rms, meanAbsolute float64
	tilt, ripple            float64
	share, shareKnown       float64 // shareKnown: the part of weight where the tolerance is known
}

func sumUp(readings []reading) sums {
	var s sums
	var sumD, sumX, sumSquare, sumAbsolute, within, judged float64
	for _, r := range readings {
		s.allOctaves += r.octaves
		s.all += r.weight
		if math.IsNaN(r.d) {
			continue
		}
		s.octaves += r.octaves
		s.weight += r.weight
		sumD += r.weight * r.d
		sumX += r.weight * r.x
		sumSquare += r.weight * r.d * r.d
		sumAbsolute += r.weight * math.Abs(r.d)
		if math.IsNaN(r.above) || math.IsNaN(r.below) {
			continue
		}
		judged += r.weight
		if r.d <= r.above+rounding && r.d >= r.below-rounding {
			within += r.weight
		}
	}
	s.mean = sumD / s.weight
	s.rms = math.Sqrt(sumSquare / s.weight)
	s.meanAbsolute = sumAbsolute / s.weight
	s.share, s.shareKnown = within/judged, judged/s.weight
	s.tilt, s.ripple = line(readings, sumX/s.weight, s.mean, s.weight)
	return s
}

// rounding, in dB, keeps a deviation that equals its tolerance within it.
const rounding = 1e-9

// line fits a weighted straight line through the readings and returns its slope
// in dB per octave and the rms of what it leaves.
func line(readings []reading, meanX, meanD, weight float64) (slope, residual float64) {
	var xx, xd, rr float64
	for _, r := range readings {
		if !math.IsNaN(r.d) {
			xx += r.weight * (r.x - meanX) * (r.x - meanX)
			xd += r.weight * (r.x - meanX) * (r.d - meanD)
		}
	}
	slope = xd / xx
	for _, r := range readings {
		if !math.IsNaN(r.d) {
			e := r.d - meanD - slope*(r.x-meanX)
			rr += r.weight * e * e
		}
	}
	return slope, math.Sqrt(rr / weight)
}
