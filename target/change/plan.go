package change

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// Plan states which changes a comparison can be expected to find, from the scatter of earlier
// sessions.
type Plan struct {
	// Scatter is the standard deviation of a seating in dB, by frequency, and DegreesOfFreedom is
	// the number from which it was estimated.
	Scatter          response.Curve
	DegreesOfFreedom float64

	confidence float64
	residuals  [][]float64 // of seatings, scaled to the variance of a seating
	fields     *fields
}

// NewPlan takes the seatings of earlier sessions, each of one pair in one condition; the Condition
// identifies the session. It estimates the scatter from all sessions with two seatings or more.
func NewPlan(earlier []Seating, o Config) (Plan, error) {
	o = o.withDefaults()
	if err := o.check(); err != nil {
		return Plan{}, fmt.Errorf("change: plan: %w", err)
	}
	if len(earlier) == 0 {
		return Plan{}, errors.New("change: plan: there are no seatings of earlier sessions")
	}
	// A comparison needs two conditions. The added one has a single seating and so no residuals.
	c, err := newComparison(append(earlier[:len(earlier):len(earlier)],
		Seating{Condition: "to come", Response: earlier[0].Response}), o)
	if err != nil {
		return Plan{}, fmt.Errorf("change: plan: %w", err)
	}
	d, err := c.design(c.response, "dB")
	if err != nil {
		return Plan{}, fmt.Errorf("change: plan: %w", err)
	}
	freedom := d.model.freedom
	if freedom == 0 {
		return Plan{}, errors.New("change: plan: no session has two seatings, so the scatter is not known; " +
			"name one that has two or more")
	}
	scatter := response.Curve{Frequency: c.grid, Level: make([]float64, len(c.grid)),
		Valid: response.Band{Low: c.grid[0], High: c.grid[len(c.grid)-1]}}
	left := d.model.residuals()
	var residuals, effects [][]float64
	for i, k := range d.condition {
		if d.counts[k] < 2 {
			continue
		}
		n := float64(d.counts[k])
		own := left.RawRowView(i)
		for p, v := range own {
			scatter.Level[p] += v * v / freedom
		}
		effects = append(effects, own)
		residuals = append(residuals, floats.ScaleTo(make([]float64, len(own)), math.Sqrt(n/(n-1)), own))
	}
	for p, v := range scatter.Level {
		scatter.Level[p] = math.Sqrt(v)
	}
	return Plan{scatter, freedom, o.Confidence, residuals, newFields(turning(effects, freedom))}, nil
}

const (
	planned   = 1000 // comparisons drawn for a plan
	bands     = 150  // comparisons with a band of their own; the others share these bands
	resampled = 20   // degrees of freedom from which earlier seatings show the shape of the scatter
)

// Least returns the smallest change in dB, by frequency, that is found with the given probability,
// such as 0.8, from the given number of independent seatings of each condition. Named is for one
// frequency chosen beforehand, and anywhere is for the whole band. It panics for fewer than 2
// seatings, or unless 0 < probability < 1.
//
// Comparisons are drawn and judged as [Compare] does. If the earlier sessions have 20 degrees of
// freedom or more, seatings are drawn from theirs, whatever the shape of the scatter. With fewer
// the scatter is taken as normal; a cushion's leak is then found less often than planned. A plan
// from few seatings asks for a larger change, since their scatter is less certain.
func (p Plan) Least(seatings int, probability float64) (named, anywhere response.Curve) {
	if seatings < 2 || !(probability > 0 && probability < 1) {
		panic("change: a plan is for 2 seatings or more, and for a probability between 0 and 1")
	}
	alpha := 1 - p.confidence
	student := statistic.StudentQuantile(1-alpha/2, float64(2*seatings-2))
	condition, block := make([]int, 2*seatings), slices.Repeat([]int{-1}, 2*seatings)
	for i := range seatings {
		condition[seatings+i] = 1
	}
	points := len(p.Scatter.Level)
	needed := make([][]float64, points)
	var all []comparisonDrawn
	for i := range planned {
		r := rand.New(rand.NewPCG(uint64(i), 19))
		levels := p.seatings(r, 2*seatings)
		e := newModel(levels, condition, block, false).estimate(0, 1)
		one := comparisonDrawn{level: e.level, u: steadied(e.variance, make([]float64, points)), changeAt: r.IntN(points)}
		if i < bands {
			one.levels = levels
			one.simulated, _ = e.largest(alpha)
		}
		all = append(all, one)
		for k, d := range e.level {
			var square float64
			for _, effect := range e.effects {
				square += effect[k] * effect[k]
			}
			// The difference has a symmetric distribution, so a change up is found as often as one
			// down.
			needed[k] = append(needed[k], student*math.Sqrt(square)-d)
		}
	}
	named, anywhere = p.Scatter, p.Scatter
	named.Level = quantiles(needed, probability)
	anywhere.Level = make([]float64, points)
	for range 2 { // the change itself widens the band of the relabellings: first without it
		var t []float64
		for _, one := range all[:bands] {
			t = append(t, max(one.simulated, relabel(one.changed(anywhere.Level), seatings, alpha)))
		}
		for k := range needed {
			needed[k] = needed[k][:0]
			for i, one := range all {
				needed[k] = append(needed[k], t[i%bands]*math.Sqrt(one.u[k])-one.level[k])
			}
		}
		anywhere.Level = quantiles(needed, probability)
	}
	return named, anywhere
}

// seatings draws the levels of n seatings that scatter like the earlier ones. Each call first draws
// a distribution that the earlier seatings may come from: one that weights them at random (Rubin's
// Bayesian bootstrap, Annals of Statistics 9, 1981; from memory), or a normal one of random
// variance.
func (p Plan) seatings(r *rand.Rand, n int) [][]float64 {
	out := make([][]float64, n)
	if p.DegreesOfFreedom >= resampled {
		upTo := make([]float64, len(p.residuals))
		for i := range upTo {
			upTo[i] = r.ExpFloat64()
		}
		floats.CumSum(upTo, upTo)
		for i := range out {
			k, _ := slices.BinarySearch(upTo, upTo[len(upTo)-1]*r.Float64())
			out[i] = p.residuals[k]
		}
		return out
	}
	scale := math.Sqrt(p.DegreesOfFreedom / distuv.ChiSquared{K: p.DegreesOfFreedom, Src: r}.Rand())
	knots := make([]float64, p.fields.knots)
	for i := range out {
		out[i] = make([]float64, len(p.Scatter.Level))
		p.fields.draw(r, knots, out[i])
		floats.Mul(out[i], p.Scatter.Level)
		floats.Scale(scale, out[i])
	}
	return out
}

// comparisonDrawn is a comparison of seatings that were drawn.
type comparisonDrawn struct {
	level, u  []float64   // the difference, and the steadied variance
	levels    [][]float64 // of the seatings; only for the first bands comparisons
	simulated float64     // largest |t| by simulation; only for those too
	changeAt  int
}

// changed returns the levels with a change in the second half of the seatings: half an octave wide
// about the frequency at changeAt, and as large as least is there.
func (d comparisonDrawn) changed(least []float64) [][]float64 {
	const width = 0.25 * perOctave
	out := slices.Clone(d.levels)
	for i := len(out) / 2; i < len(out); i++ {
		out[i] = slices.Clone(out[i])
		for k := range out[i] {
			away := float64(k-d.changeAt) / width
			out[i][k] += least[d.changeAt] * math.Exp(-away*away/2)
		}
	}
	return out
}

// quantiles returns one of each set of values, at least 0.
func quantiles(sets [][]float64, probability float64) []float64 {
	out := make([]float64, len(sets))
	for i, one := range sets {
		slices.Sort(one)
		out[i] = max(0, stat.Quantile(probability, stat.Empirical, one, nil))
	}
	return out
}
