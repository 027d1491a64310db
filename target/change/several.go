package change

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// together returns the probability that any two of the compared conditions differ at least as much,
// if none differs in truth. It is Tukey's and Kramer's for all pairs of independent seatings and
// Dunnett's if all are compared with one. Otherwise it is the probability of this comparison times
// the number of comparisons (Bonferroni).
func (d *design) together(f response.Figure, a, b int) float64 {
	if len(d.c.pairs) == 1 || math.IsNaN(f.Chance()) || f.Value == 0 {
		return f.Chance()
	}
	t, nu := math.Abs(f.Value)/f.Uncertainty, f.DegreesOfFreedom
	for _, one := range f.Budget {
		if one.Variance() > 0 && one.Name != response.ScatterOfSeatings {
			nu = 0
		}
	}
	switch {
	case !single(d.block, d.kind == inTurn) || nu == 0:
		return min(1, float64(len(d.c.pairs))*f.Chance())
	case d.c.Against == "":
		return beyond(t*math.Sqrt2, nu, rangeWithin(len(d.counts)))
	}
	return beyond(t, nu, againstOne(d.counts, a))
}

// beyond is the probability that what lies within w standard deviations with a probability of
// within(w) does not lie within t estimated ones, of ν degrees of freedom: the mean of within(t·s)
// over the distribution of s, √(χ²_ν/ν).
func beyond(t, nu float64, within func(float64) float64) float64 {
	const steps, low, high = 300, -9.0, 1.8 // of ln s
	var p, all float64
	chi := distuv.ChiSquared{K: nu}
	for i := range steps {
		s := math.Exp(low + (high-low)*(float64(i)+0.5)/steps)
		weight := chi.Prob(nu*s*s) * s * s
		p += weight * (1 - within(t*s))
		all += weight
	}
	return min(1, p/all)
}

// rangeWithin returns the distribution function of the range of k normal variables, k∫φ(z)(Φ(z) −
// Φ(z − w))^(k−1) dz (Tukey 1953; from memory).
func rangeWithin(k int) func(float64) float64 {
	return func(w float64) float64 {
		return float64(k) * statistic.OverNormal(func(z float64) float64 {
			return math.Pow(distuv.UnitNormal.CDF(z)-distuv.UnitNormal.CDF(z-w), float64(k-1))
		})
	}
}

// againstOne is the quantile for the largest difference from the condition with which the others
// are compared, each over its own standard deviation (Dunnett, Journal of the American Statistical
// Association 50, 1955; from memory): they share the scatter of the one condition, a part λ² = n/(n
// + n_one) of their variance.
func againstOne(counts []int, one int) func(float64) float64 {
	return func(w float64) float64 {
		return statistic.OverNormal(func(z float64) float64 {
			p := 1.0
			for i, n := range counts {
				if i != one {
					share := float64(n) / float64(n+counts[one])
					own, moved := math.Sqrt(1-share), math.Sqrt(share)*z
					p *= distuv.UnitNormal.CDF((w+moved)/own) - distuv.UnitNormal.CDF((moved-w)/own)
				}
			}
			return p
		})
	}
}
