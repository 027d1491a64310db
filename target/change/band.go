package change

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/combin"

	"example.com/earnest/response"
)

const (
	perOctave = 24 // points of every curve; the responses are smoothed over 1/12 octave
	window    = perOctave / 4
	// assumed is by how many radians an octave the scatter of two seatings turns, where these cannot tell:
	// errors that keep together over a third of an octave.
	assumed = math.Pi / 2 * 3
	draws   = 1000 // of a largest t; its 95 % quantile is then one of 94.3 to 95.7 %
	most    = 2000 // relabellings looked at
	// cautious is the share of the probability of a wrong change that the drawn quantile uses. The
	// rest allows for the uncertainty of the estimated correlation along frequency.
	cautious = 0.8
)

// steadied returns the standard deviation at each point from the squares. It is the larger of the
// point's own and of the mean over a quarter of an octave to either side. With few seatings the
// scatter is nearly zero by chance at some frequency, and a difference would look large there.
func steadied(squares, into []float64) []float64 {
	var sum float64
	n := len(squares)
	for i := range min(window, n) {
		sum += squares[i]
	}
	for i := range squares {
		if i+window < n {
			sum += squares[i+window]
		}
		if i > window {
			sum -= squares[i-window-1]
		}
		count := min(i+window, n-1) - max(i-window, 0) + 1
		into[i] = math.Sqrt(max(squares[i], sum/float64(count)))
	}
	return into
}

// fields are random curves with a variance of 1 and the same correlation along frequency as the
// scatter of seatings.
type fields struct {
	first  []int // knot of each point
	weight [][]float64
	knots  int
}

// newFields takes how far the scatter turns from point to point, in radians. As a vector with one entry
// for each seating, scaled to a length of 1, it draws a path on a sphere; the length of that path is,
// free of bias from two degrees of freedom on, ∫√λ dx, λ the variance of the slope of the errors divided by
// their standard deviation (Worsley, Advances in Applied Probability 26, 1994, and Hotelling's and Weyl's
// tubes; from memory). A stationary field with exp(−s²/2) for its correlation, s that length, turns alike.
func newFields(turns []float64) *fields {
	const spacing, reach = 0.7, 4 // knots a radian apart, and how many to either side
	f := &fields{}
	var s float64
	for i := range len(turns) + 1 {
		middle := int(math.Round(s / spacing))
		w := make([]float64, 2*reach+1)
		for k := range w {
			away := s - float64(middle+k-reach)*spacing
			w[k] = math.Exp(-away * away)
		}
		floats.Scale(1/floats.Norm(w, 2), w)
		f.first, f.weight, f.knots = append(f.first, middle), append(f.weight, w), middle+2*reach+1
		if i < len(turns) {
			s += turns[i]
		}
	}
	return f
}

func (f *fields) draw(r *rand.Rand, knots, into []float64) {
	for i := range knots {
		knots[i] = r.NormFloat64()
	}
	for i, w := range f.weight {
		into[i] = floats.Dot(w, knots[f.first[i]:f.first[i]+len(w)])
	}
}

// turning returns the angle in radians by which the effects turn from each point to the next.
func turning(effects [][]float64, freedom float64) []float64 {
	out := make([]float64, len(effects[0])-1)
	for i := range out {
		var ab, aa, bb float64
		for _, e := range effects {
			ab, aa, bb = ab+e[i]*e[i+1], aa+e[i]*e[i], bb+e[i+1]*e[i+1]
		}
		out[i] = math.Acos(max(-1, min(1, ab/math.Sqrt(aa*bb))))
		if !(freedom > 1) || math.IsNaN(out[i]) {
			out[i] = assumed / perOctave
		}
	}
	return out
}

// largest are draws of the largest |t| where nothing has changed, ascending, and of the largest |z|
// where the scatter is known; and by how much steadied standard deviations, over the true one, lie off.
type largest struct{ t, z, steadied []float64 }

// quantile returns the value that the largest |t| exceeds by chance with a probability of alpha.
func (l largest) quantile(alpha float64) float64 {
	return stat.Quantile(1-cautious*alpha, stat.Empirical, l.t, nil)
}

// simulate draws a difference and the residuals of ν degrees of freedom, and calculates the largest
// |t| in the same way as for a measurement.
func (f *fields) simulate(freedom float64) largest {
	r := rand.New(rand.NewPCG(1, 19)) // the same band each time
	const many = 60                   // degrees of freedom, beyond which the largest t is hardly smaller
	n, nu := len(f.first), int(min(many, math.Round(freedom)))
	knots, d, one, squares, u := make([]float64, f.knots), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	var out largest
	for range draws {
		f.draw(r, knots, d)
		clear(squares)
		for range nu {
			f.draw(r, knots, one)
			for i, v := range one {
				squares[i] += v * v / float64(nu)
			}
		}
		steadied(squares, u)
		var t, z float64
		for i, v := range d {
			t, z = max(t, math.Abs(v)/u[i]), max(z, math.Abs(v))
		}
		out.t, out.z, out.steadied = append(out.t, t), append(out.z, z), append(out.steadied, u[r.IntN(n)])
	}
	slices.Sort(out.t)
	slices.Sort(out.z)
	return out
}

// simultaneous is the half width in dB, at each point, of the band that holds the whole difference with
// a probability of 1 − alpha; NaN where there is no knowing. relabelled is the largest t that chance
// alone passes so rarely, by relabelling; 0 where there are too few relabellings.
func simultaneous(d response.Curve, alpha, relabelled float64) []float64 {
	half := make([]float64, len(d.Level))
	floats.AddConst(math.NaN(), half)
	i := slices.IndexFunc(d.Components, func(c response.CurveComponent) bool { return c.Name == scatterName })
	if i < 0 {
		return half
	}
	scatter := d.Components[i]
	squares, rest := make([]float64, len(half)), make([]float64, len(half))
	for k, one := range d.Components {
		for _, e := range one.Effects {
			for p, v := range e {
				if k == i {
					squares[p] += v * v
				} else {
					rest[p] += v * v
				}
			}
		}
	}
	l := newFields(turning(scatter.Effects, scatter.DegreesOfFreedom)).simulate(scatter.DegreesOfFreedom)
	t := max(relabelled, l.quantile(alpha))
	if scatter.DegreesOfFreedom == 1 { // which does not tell over how many octaves errors keep together
		places := max(1, 6*float64(len(half))/perOctave)
		t = response.Figure{DegreesOfFreedom: 1}.Coverage(1 - alpha/2/places)
	}
	z := stat.Quantile(1-alpha, stat.Empirical, l.z, nil)
	for p, u := range steadied(squares, make([]float64, len(half))) {
		if squares[p] > 0 {
			half[p] = math.Hypot(t*u, z*math.Sqrt(rest[p]))
		}
	}
	return half
}

// relabel is the value that the largest |t| passes in no more than alpha of all ways to call the seatings by
// the conditions' names, where nothing has changed and so any way was as likely: whatever the scatter
// looks like. It is 0 where there are too few ways to tell.
//
// With independent seatings, first of them in one condition, the names are exchanged; with paired ones the
// signs of the differences (first is 0).
func relabel(levels [][]float64, first int, alpha float64) float64 {
	n := len(levels)
	ways := math.Exp2(float64(n))
	if first > 0 {
		ways = combin.GeneralizedBinomial(float64(n), float64(first))
	}
	same := 1.0 // ways that give the same |t|: both names, or all signs, exchanged
	if first == 0 || 2*first == n {
		same = 2
	}
	if same/ways > alpha {
		return 0
	}
	var t []float64
	r := rand.New(rand.NewPCG(2, 19))
	each := func(chosen []bool) { t = append(t, largestOf(levels, chosen, first)) }
	chosen := make([]bool, n)
	if ways <= most {
		every(chosen, 0, first, each)
	} else {
		for i := range n {
			chosen[i] = i < first || first == 0
		}
		each(chosen)
		for range most - 1 {
			if first > 0 {
				r.Shuffle(n, func(i, k int) { chosen[i], chosen[k] = chosen[k], chosen[i] })
			} else {
				for i := range chosen {
					chosen[i] = r.IntN(2) == 0
				}
			}
			each(chosen)
		}
	}
	slices.Sort(t)
	return t[len(t)-1-int(alpha*float64(len(t)))]
}

// every calls call with each way to choose first elements from those from i on, or with each way to
// choose any number of them if first is 0.
func every(chosen []bool, i, first int, call func([]bool)) {
	var have int
	for _, c := range chosen[:i] {
		if c {
			have++
		}
	}
	switch {
	case first > 0 && (have > first || have+len(chosen)-i < first):
		return
	case i == len(chosen):
		call(chosen)
		return
	}
	for _, c := range []bool{true, false} {
		chosen[i] = c
		every(chosen, i+1, first, call)
	}
}

// largestOf returns the largest |t| over frequency for one assignment of names.
func largestOf(levels [][]float64, chosen []bool, first int) float64 {
	points, n := len(levels[0]), float64(len(levels))
	d, squares := make([]float64, points), make([]float64, points)
	freedom, factor := n-1, 1/n
	if first > 0 {
		a := float64(first)
		freedom, factor = n-2, 1/a+1/(n-a)
		for p := range points {
			var sum [2]float64
			var all float64
			for i, l := range levels {
				k := 0
				if chosen[i] {
					k = 1
				}
				sum[k] += l[p]
				all += l[p] * l[p]
			}
			one, other := sum[1]/a, sum[0]/(n-a)
			d[p], squares[p] = one-other, max(0, all-a*one*one-(n-a)*other*other)
		}
	} else {
		for p := range points {
			var sum, all float64
			for i, l := range levels {
				v := l[p]
				if !chosen[i] {
					v = -v
				}
				sum += v
				all += v * v
			}
			d[p], squares[p] = sum/n, max(0, all-sum*sum/n)
		}
	}
	floats.Scale(factor/freedom, squares)
	var t float64
	for p, u := range steadied(squares, make([]float64, points)) {
		if u > 0 {
			t = max(t, math.Abs(d[p])/u)
		}
	}
	return t
}
