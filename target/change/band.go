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
	// assumed is the turning of the scatter in radians per octave if two seatings do not show it:
	// that of errors correlated over a third of an octave.
	assumed = math.Pi / 2 * 3
	draws   = 1000 // of a largest t; its 95 % quantile is then one of 94.3 to 95.7 %
	most    = 2000 // relabellings looked at
	// cautious is the share of the probability of a wrong change that the drawn quantile uses. The
	// rest allows for the uncertainty of the estimated correlation along frequency.
	cautious = 0.8
)

// fields are random curves with a variance of 1 and the same correlation along frequency as the
// scatter of seatings.
type fields struct {
	first  []int // knot of each point
	weight [][]float64
	knots  int
}

// newFields takes the angle in radians by which the scatter turns from point to point. The errors
// of the seatings at one frequency, scaled to a length of 1, are a point on a sphere, and draw a
// path on it along frequency. Its length estimates ∫√λ dx without bias from two degrees of freedom
// on; λ is the variance of the slope of the errors divided by their standard deviation (Worsley,
// Advances in Applied Probability 26, 1994, and Hotelling's and Weyl's tubes; from memory). A
// stationary field with the correlation exp(−s²/2), s being that length, turns in the same way.
func newFields(turns []float64) *fields {
	const spacing, reach = 1, 3 // radians between knots, and how many of them to either side
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
		near := knots[f.first[i]:]
		near = near[:len(w)]
		var sum float64
		for k, v := range w {
			sum += v * near[k]
		}
		into[i] = sum
	}
}

// each draws differences and the residuals of every group. For each draw it calls yield with the
// largest |t|, calculated as for a measurement, and the largest |z|, until yield returns false.
// Residuals take the most time to draw. So they are drawn once for several differences, for half as
// many as there are degrees of freedom.
func (f *fields) each(groups []group, yield func(t, z float64) bool) {
	r := rand.New(rand.NewPCG(1, 19)) // the same band each time
	const many = 60                   // degrees of freedom, beyond which the largest t is hardly smaller
	n := len(f.first)
	knots, one, squares, u := make([]float64, f.knots), make([]float64, n), make([]float64, n), make([]float64, n)
	for {
		clear(squares)
		var shared int
		for _, g := range groups {
			nu := int(min(many, g.freedom))
			if part := g.freedom - float64(nu); nu < many && part > 0 && r.Float64() < part {
				nu++
			}
			shared += nu
			for range nu {
				f.draw(r, knots, one)
				for i, v := range one {
					v *= v / float64(nu)
					if g.weight != nil {
						v *= g.weight[i]
					}
					squares[i] += v
				}
			}
		}
		steadied(squares, u)
		for range max(1, shared/2) {
			f.draw(r, knots, one)
			var t, z float64
			for i, v := range one {
				t, z = max(t, v*v/u[i]), max(z, v*v)
			}
			if !yield(math.Sqrt(t), math.Sqrt(z)) {
				return
			}
		}
	}
}

// largest returns the values that the largest |t| and the largest |z| exceed by chance with a
// probability of alpha.
func (f *fields) largest(groups []group, alpha float64) (t, z float64) {
	var ts, zs []float64
	f.each(groups, func(t, z float64) bool {
		ts, zs = append(ts, t), append(zs, z)
		return len(ts) < draws
	})
	slices.Sort(ts)
	slices.Sort(zs)
	return stat.Quantile(1-cautious*alpha, stat.Empirical, ts, nil), stat.Quantile(1-alpha, stat.Empirical, zs, nil)
}

// group is a set of seatings that scatter alike: the degrees of freedom of its scatter, and at each
// point its share in the variance of the difference; nil is 1 everywhere.
type group struct {
	freedom float64
	weight  []float64
}

// relabelling is what all assignments of names to seatings share.
type relabelling struct {
	levels     [][]float64 // less their mean, where names are exchanged
	first      int
	total      []float64 // sum of the squares
	sum, u     []float64
	remaining  []float64
	perFreedom float64
}

func newRelabelling(levels [][]float64, first int) *relabelling {
	points, n := len(levels[0]), float64(len(levels))
	l := &relabelling{first: first, total: make([]float64, points), sum: make([]float64, points),
		u: make([]float64, points), remaining: make([]float64, points)}
	mean := make([]float64, points)
	l.perFreedom = 1 / n / (n - 1)
	if first > 0 {
		for _, v := range levels {
			floats.AddScaled(mean, 1/n, v)
		}
		l.perFreedom = n / float64(first) / (n - float64(first)) / (n - 2)
	}
	for _, v := range levels {
		own := floats.SubTo(make([]float64, points), v, mean)
		l.levels = append(l.levels, own)
		for p, x := range own {
			l.total[p] += x * x
		}
	}
	return l
}

// largest returns the largest |t| over frequency for one assignment of names.
func (l *relabelling) largest(chosen []bool) float64 {
	clear(l.sum)
	for i, v := range l.levels {
		switch {
		case chosen[i]:
			floats.Add(l.sum, v)
		case l.first == 0:
			floats.Sub(l.sum, v)
		}
	}
	// The sums of the two names are equal and opposite; of signs there is one sum.
	n := float64(len(l.levels))
	scale, explained := 1/n, 1/n
	if l.first > 0 {
		a := float64(l.first)
		scale, explained = n/a/(n-a), n/a/(n-a)
	}
	for p, s := range l.sum {
		l.remaining[p] = max(0, l.total[p]-explained*s*s)
	}
	var t float64
	for p, u := range steadied(l.remaining, l.u) {
		if u > 0 {
			t = max(t, l.sum[p]*l.sum[p]/u)
		}
	}
	return scale * math.Sqrt(t/l.perFreedom)
}

// largest is like that of fields, for the turning and the groups of the estimate.
func (e *estimate) largest(alpha float64) (t, z float64) {
	t, z = newFields(e.turns).largest(e.groups, alpha)
	if e.freedom == 1 { // one degree of freedom does not show the correlation along frequency
		places := max(1, 6*float64(len(e.level))/perOctave)
		t = response.Figure{DegreesOfFreedom: 1}.Coverage(1 - alpha/2/places)
	}
	return t, z
}

// simultaneous returns the half width in dB, at each point, of the band that holds the whole
// difference with a probability of 1 − alpha. It is NaN where it is not known, and everywhere for a
// nil estimate. relabelled is the value of relabel for the same probability.
func (e *estimate) simultaneous(d response.Curve, alpha, relabelled float64) []float64 {
	half := make([]float64, len(d.Level))
	floats.AddConst(math.NaN(), half)
	if e == nil {
		return half
	}
	rest := make([]float64, len(half)) // the variance by other causes
	for _, one := range known(d).Components {
		for _, effect := range one.Effects {
			for p, v := range effect {
				rest[p] += v * v
			}
		}
	}
	t, z := e.largest(alpha)
	t = max(t, relabelled)
	for p, v := range steadied(e.variance, make([]float64, len(half))) {
		if e.variance[p] > 0 {
			half[p] = math.Sqrt(t*t*v + z*z*rest[p])
		}
	}
	return half
}

// around returns the mean of the values up to so many points to either side.
func around(values []float64, reach int) []float64 {
	out := make([]float64, len(values))
	meanAround(values, reach, out)
	return out
}

func meanAround(values []float64, reach int, into []float64) {
	var sum float64
	n := len(values)
	for i := range min(reach, n) {
		sum += values[i]
	}
	for i := range values {
		if i+reach < n {
			sum += values[i+reach]
		}
		if i > reach {
			sum -= values[i-reach-1]
		}
		into[i] = sum / float64(min(i+reach, n-1)-max(i-reach, 0)+1)
	}
}

// steadied returns the variance at each point, the larger of the point's own and of the mean over a
// quarter of an octave to either side. With few seatings the scatter is nearly zero by chance at
// some frequency, and a difference would look large there.
func steadied(variance, into []float64) []float64 {
	meanAround(variance, window, into)
	for i, v := range variance {
		into[i] = max(into[i], v)
	}
	return into
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

// relabel returns the value that the largest |t| exceeds in at most a share alpha of all ways to
// assign the conditions' names to the seatings. Without a change all ways are equally likely,
// whatever the shape of the scatter. It returns 0 if there are too few ways for such a share.
//
// With independent seatings, first of them in one condition, the names are exchanged; with paired
// ones the signs of the differences (first is 0).
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
	l := newRelabelling(levels, first)
	each := func(chosen []bool) { t = append(t, l.largest(chosen)) }
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

// every calls call once for each subset of the elements from i on: for the subsets of size first,
// or for all subsets if first is 0.
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
