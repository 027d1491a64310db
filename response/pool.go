package response

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/statistic"
)

const (
	// unlike is the ratio of the variances of the two sides, over half an octave to either side,
	// above which they are not taken as equal.
	unlike = 2
	// guardProbability is that of the interval at which the larger of two estimates is chosen.
	guardProbability = 0.95
)

// pool is the scatter of two averages on one grid.
type pool struct {
	residuals [][]float64
	squares   [2][]float64 // sums of the squares of each side's residuals
	counts    [2]float64
	others    [2][]CurveComponent // all but the scatter
	freedom   float64
	wide      [2][]float64 // variance over half an octave to either side
}

func newPool(left, right *Average) *pool {
	p := &pool{}
	grid := left.Level.Frequency
	for i, a := range []*Average{left, right} {
		p.counts[i] = float64(a.Count)
		p.squares[i] = make([]float64, len(grid))
		p.freedom += p.counts[i] - 1
		for _, one := range a.Level.Components {
			if one.Name != ScatterOfSeatings {
				p.others[i] = append(p.others[i], one)
				continue
			}
			for _, effect := range one.Effects {
				residual := floats.ScaleTo(make([]float64, len(effect)), math.Sqrt(p.counts[i]*(p.counts[i]-1)), effect)
				p.residuals = append(p.residuals, residual)
				for k, r := range residual {
					p.squares[i][k] += r * r
				}
			}
		}
		p.wide[i] = half(grid, p.squares[i], p.counts[i]-1)
	}
	return p
}

// own returns the factor from the residuals to the effects on the mean of one side.
func (p *pool) own(side int) []float64 {
	n := p.counts[side]
	factor := make([]float64, len(p.wide[side]))
	for k := range factor {
		factor[k] = 1 / math.Sqrt(p.freedom*n)
		if pooled := (p.squares[0][k] + p.squares[1][k]) / p.freedom; p.wide[side][k] > unlike*p.wide[1-side][k] {
			factor[k] *= max(1, student(n-1)/student(p.freedom)*math.Sqrt(p.squares[side][k]/(n-1)/pooled))
		}
	}
	return factor
}

// apart returns the factor from the residuals to the effects on left less right.
func (p *pool) apart() []float64 {
	factor := make([]float64, len(p.wide[0]))
	for k := range factor {
		factor[k] = math.Sqrt((1/p.counts[0] + 1/p.counts[1]) / p.freedom)
		if a, b := p.wide[0][k]/p.counts[0],
			p.wide[1][k]/p.counts[1]; max(p.wide[0][k], p.wide[1][k]) > unlike*min(p.wide[0][k], p.wide[1][k]) {
			welch := (a + b) * (a + b) / (a*a/(p.counts[0]-1) + b*b/(p.counts[1]-1))
			own := p.squares[0][k]/(p.counts[0]-1)/p.counts[0] + p.squares[1][k]/(p.counts[1]-1)/p.counts[1]
			pooled := (p.squares[0][k] + p.squares[1][k]) * factor[k] * factor[k]
			factor[k] *= student(welch) / student(p.freedom) * math.Sqrt(own/pooled)
		}
	}
	return factor
}

// component returns the pooled scatter with its effects.
func (p *pool) component(scope Scope, factor []float64) CurveComponent {
	c := CurveComponent{Cause: Cause{Name: ScatterOfSeatings, CommonTo: scope, DegreesOfFreedom: p.freedom,
		Estimate: statistic.Fingerprint(p.residuals...)}}
	for _, r := range p.residuals {
		c.Effects = append(c.Effects, floats.MulTo(make([]float64, len(r)), r, factor))
	}
	return c
}

// PoolSides takes the scatter of two sides, which were put on independently, as one estimate of
// variance, with ν = (n_left − 1) + (n_right − 1) degrees of freedom: three seatings of each side
// then have a t of 2.78 in place of 4.30. It changes the uncertainty of both levels, and returns
// the mean of both and left less right.
//
// The half width for a side is t_ν s_pooled/√n. Where the side's variance, over half an octave below
// and above, is more than twice that of the other side, its half width is at least t_{n−1} s/√n with
// its own s. Mean and difference have t_ν s_pooled √(1/n_left + 1/n_right), halved for the mean, and
// Welch's degrees of freedom if the sides scatter so differently. In 4,000 simulated sessions of
// each kind these 95 % intervals held the truth of the worst frequency in 94.5 to 95 % with the
// skewed leak of a cushion in the bass, in 93 to 94 % with an exponential one, and in 91 to 92 % on
// a side that scatters twice as much as the other.
//
// If neither side has two seatings nothing is pooled. The errors are those of Curve.Add. PoolSides
// panics unless both have the same frequencies.
func PoolSides(left, right *Average) (mean, difference Curve, err error) {
	if !slices.Equal(left.Level.Frequency, right.Level.Frequency) {
		panic("response: two sides at other frequencies cannot be pooled")
	}
	p := newPool(left, right)
	if p.freedom > 0 {
		for i, a := range []*Average{left, right} {
			a.Level = a.Level.withComponents(append(p.others[i], p.component(OneSide, p.own(i))))
		}
	}
	shared := func(i int) Curve {
		c := []*Average{left, right}[i].Level
		if p.freedom > 0 {
			c = c.withComponents(p.others[i])
		}
		return c
	}
	if mean, err = MeanLevel(shared(0), shared(1)); err != nil {
		return mean, difference, err
	}
	if difference, err = shared(0).Sub(shared(1)); err != nil || p.freedom == 0 {
		return mean, difference, err
	}
	apart := p.apart()
	difference = difference.withComponents(append(difference.Components, p.component(OnePair, apart)))
	mean = mean.withComponents(append(mean.Components,
		p.component(OnePair, floats.ScaleTo(make([]float64, len(apart)), 0.5, apart))))
	return mean, difference, nil
}

// half returns the mean variance over half an octave to either side.
func half(grid, squares []float64, freedom float64) []float64 {
	out := make([]float64, len(grid))
	for i, f := range grid {
		var sum, n float64
		for k, g := range grid {
			if v := squares[k]; math.Abs(math.Log2(g/f)) <= 0.5 && !math.IsNaN(v) {
				sum, n = sum+v, n+1
			}
		}
		out[i] = sum / n / freedom // not known for a single seating
	}
	return out
}

// student returns the quantile of Student's t at the end of the interval of guardProbability.
func student(freedom float64) float64 {
	return statistic.StudentQuantile((1+guardProbability)/2, freedom)
}
