package target

import (
	"math"
	"strconv"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/response"
)

// judgement is an aligned difference on its plan, ready for its figures. Its slices hold values at
// the nodes of the pieces, two to a piece.
type judgement struct {
	*plan
	d      []float64 // at the points of the plan
	top    int       // index of the point with the largest deviation
	causes []response.Cause
	known  bool // whether the uncertainty is known

	weight, x, level []float64 // weight is 0 where nothing is known
	effects          []effect
}

// prepare reads the difference and its components at the nodes.
func (j *judgement) prepare(difference response.Curve, a aligner) {
	n := 2 * len(j.pieces)
	j.weight, j.x, j.level = make([]float64, n), make([]float64, n), j.atNodes(j.d)
	for i, piece := range j.pieces {
		for k, node := range nodes {
			j.x[2*i+k] = j.points[i].x + node*2*piece.half
			if math.IsNaN(j.level[2*i+k]) {
				j.level[2*i+k] = 0
			} else {
				j.weight[2*i+k] = piece.weight[k]
			}
		}
	}
	j.known = difference.Uncertainty != nil
	for _, one := range difference.Components {
		for _, levels := range one.Effects {
			e := effect{cause: len(j.causes)}
			if levels != nil && !isZero(levels) {
				curve := response.Curve{Frequency: difference.Frequency, Level: levels, Valid: difference.Valid}
				points := j.read(curve)
				e.at, e.taken = j.atNodes(points), a.levelOf(curve, j.plan, points)
				if j.top >= 0 {
					e.atTop = points[j.top]
				}
				j.support(&e)
			}
			j.effects = append(j.effects, e)
		}
		j.causes = append(j.causes, one.Cause)
	}
}

// support finds the nodes at which an effect is not 0, and whether it is known wherever the
// difference is.
func (j *judgement) support(e *effect) {
	e.from, e.to = len(e.at), 0
	for i, v := range e.at {
		switch {
		case j.weight[i] == 0:
			e.at[i] = 0
			continue
		case math.IsNaN(v):
			j.known = false
		case v == 0:
			continue
		}
		e.from, e.to = min(e.from, i), i+1
	}
}

// figure returns a quantity that is linear in the difference, with the contribution of each effect.
func (j *judgement) figure(value float64, unit string, by func(e effect) float64) response.Figure {
	if !j.known || math.IsNaN(value) {
		return figure(value, unit)
	}
	budget := make(response.Budget, len(j.causes))
	for i, c := range j.causes {
		budget[i].Cause = c
	}
	for _, e := range j.effects {
		var v float64
		if e.at != nil {
			v = by(e)
		}
		budget[e.cause].Effects = append(budget[e.cause].Effects, v)
	}
	return budget.Figure(value, unit)
}

// over returns the span of the pieces [from, to).
func (j *judgement) over(from, to int) span {
	s := span{judgement: j, from: 2 * from, to: 2 * to, level: j.level}
	s.weight = floats.Sum(j.weight[s.from:s.to])
	s.mean = s.product(j.level, nil)
	return s
}

// estimates returns the estimates of variance behind the causes, all well-known ones as one, and
// the index of the estimate for each cause.
func (j *judgement) estimates() (groups []response.Cause, of []int) {
	seen := map[string]int{}
	for i, c := range j.causes {
		key := c.Estimate
		switch {
		case !(c.DegreesOfFreedom > 0):
			key = "known well"
			c = response.Cause{Name: "squares of what is stated"}
		case key == "":
			key = strconv.Itoa(i)
		}
		if _, there := seen[key]; !there {
			seen[key] = len(groups)
			c.Key = "" // these squares cancel in no difference
			groups = append(groups, c)
		}
		of = append(of, seen[key])
	}
	return groups, of
}

// steepest limits the derivative of a root with respect to its mean square, relative to that of the
// measured value with its noise, for the one standard uncertainty of a root. A value without noise,
// as of a pair that is its own target, has the root of the square's uncertainty at most. The
// interval does not depend on it.
const steepest = 1.5

// root returns the figure for factor times the root of a mean square, in dB. Its interval is that
// of the mean square, √(q ± t u(q)), since the square is much nearer to Student's distribution than
// its root.
func (j *judgement) root(q meanSquare, factor float64) response.Figure {
	value := factor * math.Sqrt(max(0, q.value))
	if !j.known || math.IsNaN(value) {
		return figure(value, "dB").WithBounds(0, math.Inf(1))
	}
	raw := math.Sqrt(q.asRead)
	slope := 2 * max(math.Sqrt(max(0, q.value)), raw/steepest, math.Sqrt(q.uncertainty())/steepest/steepest)
	if !(slope > 0) {
		slope = 1
	}
	budget := make(response.Budget, len(j.causes))
	for i, c := range j.causes {
		budget[i].Cause = c
	}
	for i, e := range j.effects {
		budget[e.cause].Effects = append(budget[e.cause].Effects, factor*q.by[i]/slope)
	}
	for _, s := range q.second {
		budget = append(budget, response.Component{Cause: s.Cause,
			Effects: []float64{factor * math.Sqrt(s.variance) / slope}})
	}
	f := budget.Figure(value, "dB")
	square := response.Figure{Value: q.value, Uncertainty: f.Uncertainty * slope / factor,
		DegreesOfFreedom: f.DegreesOfFreedom, Unit: "dB²"}
	return f.WithBounds(0, math.Inf(1)).WithEnds(rootEnds{square, factor})
}

// effect is the effect of one independent part of a cause, before the alignment subtracts a level
// from it.
type effect struct {
	cause    int
	at       []float64 // at the nodes
	from, to int       // it is 0 outside of the nodes from ≤ i < to
	taken    float64   // the level that the alignment subtracts
	atTop    float64   // at the place of the largest deviation
}

// span is a part of the judged band over which the difference and the effects are summed up.
type span struct {
	*judgement
	from, to int     // nodes
	weight   float64 // of the known part
	mean     float64 // of the difference
	level    []float64
	// square is the mean square of x about its mean. If it is not 0, a straight line is subtracted
	// from the difference and the effects.
	square, middle float64
}

// withoutLine returns the span with the straight line subtracted from the difference, and the slope
// of the line.
func (s span) withoutLine() (span, float64) {
	s.middle = s.product(s.x, nil)
	s.square = s.product(s.x, s.x) - s.middle*s.middle
	slope := s.slope(s.judgement.level, s.from, s.to)
	s.level = make([]float64, len(s.level))
	for i := s.from; i < s.to; i++ {
		s.level[i] = s.judgement.level[i] - s.mean - slope*(s.x[i]-s.middle)
	}
	return s, slope
}

// octaves returns the width in octaves of the known part of the span.
func (s span) octaves() (sum float64) {
	for i := s.from; i < s.to; i++ {
		if s.judgement.weight[i] != 0 {
			sum += s.pieces[i/2].half
		}
	}
	return sum
}

// product returns the weighted mean of a·b over the span, or of a alone if b is nil.
func (s span) product(a, b []float64) float64 { return s.within(a, b, s.from, s.to) }

func (s span) within(a, b []float64, from, to int) float64 {
	var sum float64
	for i := max(from, s.from); i < min(to, s.to); i++ {
		v := s.judgement.weight[i] * a[i]
		if b != nil {
			v *= b[i]
		}
		sum += v
	}
	return sum / s.weight
}

// slope returns the slope per octave of the weighted straight line through values.
func (s span) slope(v []float64, from, to int) float64 {
	return (s.within(v, s.x, from, to) - s.middle*s.within(v, nil, from, to)) / s.square
}

// meanEffect returns the change of the mean level of the span by an effect.
func (s span) meanEffect(e effect) float64 { return s.within(e.at, nil, e.from, e.to) - e.taken }

// meanSquare sums up the span.
//
// With d = μ + ε, the mean of d² exceeds that of μ² by the mean of ε², which is Σ ∫e² and is
// subtracted. The variance of the result is Σ(2∫d e)² + 2T, where T estimates the trace of the
// square of ε's covariance. For effects of known size T is tr G², G being their Gram matrix. For
// residuals with ν degrees of freedom the unbiased estimate is ν²/((ν − 1)(ν + 2)) (tr G² − (tr
// G)²/ν), and T is at least (tr G)²/40.
func (s span) meanSquare() meanSquare {
	q := meanSquare{asRead: s.product(s.level, s.level)}
	q.value = q.asRead
	groups, of := s.estimates()
	traces, fourth := make([]float64, len(groups)), make([][]float64, len(groups))
	for i := range fourth {
		fourth[i] = make([]float64, len(groups))
	}
	means, slopes := make([]float64, len(s.effects)), make([]float64, len(s.effects))
	q.by = make([]float64, len(s.effects))
	for a, e := range s.effects {
		if e.at == nil {
			continue
		}
		means[a] = s.within(e.at, nil, e.from, e.to)
		q.by[a] = 2 * s.within(s.level, e.at, e.from, e.to)
		if s.square > 0 {
			slopes[a] = s.slope(e.at, e.from, e.to)
		} else {
			q.by[a] -= 2 * e.taken * s.mean
		}
	}
	inside, outside := s.apart(of, len(groups))
	for i := range groups {
		traces[i] += outside[i]
		q.value -= outside[i]
		for k := range groups {
			fourth[i][k] += outside[i] * outside[k]
		}
	}
	weighted := make([]float64, s.to)
	for n, a := range inside {
		e := &s.effects[a]
		begin, end := max(e.from, s.from), min(e.to, s.to)
		for i := begin; i < end; i++ {
			weighted[i] = s.judgement.weight[i] * e.at[i]
		}
		if s.square == 0 { // the products with the effects outside
			for k, taken := range outside {
				v := (e.taken - means[a]) * (e.taken - means[a]) * taken
				fourth[of[e.cause]][k] += v
				fourth[k][of[e.cause]] += v
			}
		}
		for _, b := range inside[:n+1] {
			o := &s.effects[b]
			var g float64
			if from, to := max(begin, o.from), min(end, o.to); from < to {
				g = floats.Dot(weighted[from:to], o.at[from:to]) / s.weight
			}
			if s.square > 0 {
				g -= means[a]*means[b] + slopes[a]*slopes[b]*s.square
			} else {
				g += e.taken*o.taken - e.taken*means[b] - o.taken*means[a]
			}
			i, k := of[e.cause], of[o.cause]
			if a == b {
				traces[i] += g
				q.value -= g
				fourth[i][i] += g * g
				continue
			}
			fourth[i][k] += g * g
			fourth[k][i] += g * g
		}
	}
	for i, cause := range groups {
		t := fourth[i][i]
		if nu := cause.DegreesOfFreedom; nu > 0 {
			t = traces[i] * traces[i] / 40
			if nu > 1 {
				t = max(t, nu*nu/((nu-1)*(nu+2))*(fourth[i][i]-traces[i]*traces[i]/nu))
			}
		}
		for k := range groups {
			if k != i {
				t += fourth[i][k]
			}
		}
		q.second = append(q.second, squares{cause, 2 * t})
	}
	return q
}

// apart returns the indices of the effects that are not zero all over the span. Of the others only
// the levels are left that the alignment subtracts: it returns the sum of their squares for each
// estimate.
func (s span) apart(of []int, estimates int) (inside []int, outside []float64) {
	outside = make([]float64, estimates)
	for a := range s.effects {
		switch e := &s.effects[a]; {
		case e.at == nil:
		case max(e.from, s.from) < min(e.to, s.to):
			inside = append(inside, a)
		case s.square == 0: // a straight line takes a level off too
			outside[of[e.cause]] += e.taken * e.taken
		}
	}
	return inside, outside
}

// meanSquare is the mean square of the difference, corrected for the noise, and its uncertainty.
type meanSquare struct {
	value, asRead float64
	// by holds the contribution of each effect, 2∫d e. second holds, for each estimate of variance,
	// twice the variance of the squares of its effects.
	by     []float64
	second []squares
}

// uncertainty returns the standard uncertainty of the mean square as if its effects were
// independent.
func (q meanSquare) uncertainty() float64 {
	variance := floats.Dot(q.by, q.by)
	for _, s := range q.second {
		variance += s.variance
	}
	return math.Sqrt(variance)
}

// squares is the contribution, as squares, of the effects of one estimate of variance, or of all
// effects whose size is known well.
type squares struct {
	response.Cause
	variance float64
}

// rootEnds computes the roots of the ends of a square's interval.
type rootEnds struct {
	square response.Figure
	factor float64
}

func (r rootEnds) Ends(probability float64) (low, high float64) {
	low, high = r.square.Interval(probability)
	return r.factor * math.Sqrt(max(0, low)), r.factor * math.Sqrt(max(0, high))
}

// atNodes interpolates values at the points linearly at the nodes.
func (p *plan) atNodes(points []float64) []float64 {
	out := make([]float64, 2*len(p.pieces))
	for i := range p.pieces {
		for k, node := range nodes {
			out[2*i+k] = points[i] + node*(points[i+1]-points[i])
		}
	}
	return out
}
