package target

import (
	"math"
	"slices"

	"example.com/earnest/internal/grid"
	"example.com/earnest/response"
)

// plan is a band cut into pieces on which every judged curve, and the tolerance, is a straight line
// against log2 of frequency. It is made once for a grid and sums up any number of curves.
type plan struct {
	points []point
	pieces []piece // one fewer than points

	// The grid that was read last, and where in it the points lie: all effects share one.
	grid   []float64
	valid  response.Band
	places []place
}

// The nodes of two-point Gauss quadrature on 0…1, (1 ∓ 1/√3)/2. They integrate
// a cubic exactly.
var nodes = [2]float64{0.21132486540518713, 0.7886751345948129}

// piecesPerOctave keeps the pieces so short that a smooth weight such as PerERB is nearly a
// straight line on each.
const piecesPerOctave = 24

// newPlan cuts a band at the points of the difference and the tolerance and
// at the cuts (Hz).
func newPlan(difference response.Curve, tolerance Tolerance, band response.Band, w weight,
	cuts ...float64) (*plan, error) {
	if band.Empty() {
		return &plan{}, nil
	}
	at := grid.Union(band.Low, band.High, []float64{band.Low, band.High, difference.Valid.Low, difference.Valid.High},
		cuts, difference.Frequency, tolerance.Above.Frequency, tolerance.Below.Frequency, thirdOctaveEdges,
		response.LogGrid(band.Low, band.High, piecesPerOctave))
	p := &plan{points: make([]point, len(at)), pieces: make([]piece, len(at)-1)}
	for i, f := range at {
		p.points[i] = point{f: f, x: math.Log2(f)}
		p.points[i].above, p.points[i].below = tolerance.at(f)
	}
	for i := range p.pieces {
		x, width := p.points[i].x, p.points[i+1].x-p.points[i].x
		p.pieces[i].half = width / 2
		for k, s := range nodes {
			weight, err := w.at(math.Exp2(x + s*width))
			if err != nil {
				return nil, err
			}
			p.pieces[i].weight[k] = weight * width / 2
		}
	}
	return p, nil
}

// read returns the curve's levels at the points, the same as c.At, in a tenth of the time.
func (p *plan) read(c response.Curve) []float64 {
	p.locate(c)
	d := make([]float64, len(p.points))
	for i, at := range p.places {
		switch {
		case at.k < 0:
			d[i] = c.At(p.points[i].f)
		case at.share == 1:
			d[i] = c.Level[at.k]
		default:
			d[i] = c.Level[at.k-1] + at.share*(c.Level[at.k]-c.Level[at.k-1])
		}
	}
	return d
}

// locate finds the points in the curve's grid, walking along both.
func (p *plan) locate(c response.Curve) {
	same := len(c.Frequency) == len(p.grid) && (len(p.grid) == 0 || &c.Frequency[0] == &p.grid[0])
	if p.places != nil && same && c.Valid == p.valid {
		return
	}
	p.grid, p.valid, p.places = c.Frequency, c.Valid, make([]place, len(p.points))
	var k int // c.Frequency[k−1] < f ≤ c.Frequency[k]
	var x0, x1 float64
	at := -1 // the interval to which x0 and x1 belong
	for i, point := range p.points {
		for k < len(c.Frequency) && c.Frequency[k] < point.f {
			k++
		}
		switch {
		case k == 0 || k == len(c.Frequency) || !c.Valid.Contains(point.f):
			p.places[i] = place{k: -1}
			continue
		case c.Frequency[k] == point.f:
			p.places[i] = place{k, 1}
			continue
		case at != k:
			x0, x1, at = math.Log2(c.Frequency[k-1]), math.Log2(c.Frequency[k]), k
		}
		p.places[i] = place{k, (point.x - x0) / (x1 - x0)}
	}
}

// part returns the pieces [from, to) that lie in a band, whose edges must be cuts.
func (p *plan) part(b response.Band) (from, to int) {
	for from < len(p.pieces) && p.points[from].f < b.Low*(1-rounding) {
		from++
	}
	for to = from; to < len(p.pieces) && p.points[to+1].f <= b.High*(1+rounding); to++ {
	}
	return from, to
}

// sumUp integrates over the pieces [from, to) the difference that has the
// values d at the points.
func (p *plan) sumUp(d []float64, from, to int) sums {
	var s sums
	for i := from; i < to; i++ {
		c, a, b := &p.pieces[i], d[i], d[i+1]
		w0, w1 := c.weight[0], c.weight[1]
		s.allOctaves += 2 * c.half
		s.all += w0 + w1
		if math.IsNaN(a) || math.IsNaN(b) {
			continue
		}
		v0, v1 := a+nodes[0]*(b-a), a+nodes[1]*(b-a)
		x, width := p.points[i].x, 2*c.half
		s.octaves += width
		s.weight += w0 + w1
		s.mean += w0*v0 + w1*v1
		s.square += w0*v0*v0 + w1*v1*v1
		s.sumX += w0*(x+nodes[0]*width) + w1*(x+nodes[1]*width)
		p.addCut(&s, i, a, b)
	}
	s.mean /= s.weight
	s.square /= s.weight
	s.meanAbsolute /= s.weight
	s.share, s.shareKnown = min(1, max(0, s.within/s.judged)), s.judged/s.weight
	p.line(&s, d, from, to)
	return s
}

// moments returns the weighted means of d and d² over the pieces [from, to).
func (p *plan) moments(d []float64, from, to int) (mean, square float64) {
	var weight float64
	for i := from; i < to; i++ {
		a, b := d[i], d[i+1]
		if v := b - a; !math.IsNaN(v) {
			w0, w1 := p.pieces[i].weight[0], p.pieces[i].weight[1]
			v0, v1 := a+nodes[0]*v, a+nodes[1]*v
			weight += w0 + w1
			mean += w0*v0 + w1*v1
			square += w0*v0*v0 + w1*v1*v1
		}
	}
	return mean / weight, square / weight
}

// rounding, in dB, keeps a deviation that equals its tolerance within it. As a fraction, it is the
// largest rounding error of a sum.
const rounding = 1e-9

// addCut adds the integrals that bend where the difference crosses zero or the tolerance: the
// absolute value and the share within tolerance. On such a piece the weight is taken as the
// straight line through its values at the nodes.
func (p *plan) addCut(s *sums, i int, a, b float64) {
	from, to, c := &p.points[i], &p.points[i+1], &p.pieces[i]
	tolerated := !math.IsNaN(from.above+to.above) && !math.IsNaN(from.below+to.below)
	add := func(v, weight, at float64) {
		s.meanAbsolute += weight * math.Abs(v)
		if tolerated {
			s.judged += weight
			if v <= from.above+at*(to.above-from.above)+rounding && v >= from.below+at*(to.below-from.below)-rounding {
				s.within += weight
			}
		}
	}
	cuts := [4]float64{crossing(a, b), crossing(a-from.above, b-to.above), crossing(a-from.below, b-to.below), 1}
	if cuts[0]+cuts[1]+cuts[2] == 0 {
		for k, at := range nodes {
			add(a+at*(b-a), c.weight[k], at)
		}
		return
	}
	slices.Sort(cuts[:3])
	start := 0.0
	for _, end := range cuts {
		if end <= start {
			continue
		}
		for _, node := range nodes {
			at := start + node*(end-start)
			weight := c.weight[0] + (at-nodes[0])/(nodes[1]-nodes[0])*(c.weight[1]-c.weight[0])
			add(a+at*(b-a), weight*(end-start), at)
		}
		start = end
	}
}

// line fits a weighted straight line to the difference. It sets its slope in dB per octave and the
// mean square of the residual.
func (p *plan) line(s *sums, d []float64, from, to int) {
	meanX := s.sumX / s.weight
	var xx, xd, rr float64
	each := func(visit func(weight, x, v float64)) {
		for i := from; i < to; i++ {
			a, b, x, width := d[i], d[i+1], p.points[i].x-meanX, 2*p.pieces[i].half
			if math.IsNaN(a) || math.IsNaN(b) {
				continue
			}
			for k, at := range nodes {
				visit(p.pieces[i].weight[k], x+at*width, a+at*(b-a)-s.mean)
			}
		}
	}
	each(func(weight, x, v float64) { xx += weight * x * x; xd += weight * x * v })
	s.tilt = xd / xx
	each(func(weight, x, v float64) { rr += weight * (v - s.tilt*x) * (v - s.tilt*x) })
	s.rippleSquare = rr / s.weight
}

// place is where a point lies in a grid: at the frequency k, or between the one before and k. Below
// 0, k means that it lies outside.
type place struct {
	k     int
	share float64 // of the way to the frequency k, in octaves
}

// point is an end of a piece.
type point struct {
	f, x         float64 // frequency in Hz, and its log2
	above, below float64 // limits of the tolerance, dB; NaN where they are not known
}

// piece holds the values that are the same for every curve: half its width in octaves and, at the
// two nodes of Gauss quadrature, that times the weight.
type piece struct {
	half   float64
	weight [2]float64
}

// sums holds the integrals behind the figures, over the known part.
type sums struct {
	octaves, weight      float64 // known
	allOctaves, all      float64 // known or not: octaves, weight
	mean, square         float64 // weighted means of d and d²
	meanAbsolute         float64
	tilt, rippleSquare   float64
	share, shareKnown    float64 // shareKnown: the part of the weight at which the tolerance is known
	sumX, within, judged float64
}

// crossing returns where, as a fraction of the way from a to b, a straight line crosses zero; 0 if
// it does not.
func crossing(a, b float64) float64 {
	if a < 0 && b > 0 || a > 0 && b < 0 {
		return a / (a - b)
	}
	return 0
}
