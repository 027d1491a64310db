package response

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/statistic"
)

// Chance returns the two-sided probability that a figure whose true value is zero lies as far from
// it as this one; NaN where the figure or its budget is not known. The error is S t + U z: t has
// Student's distribution, with S and its degrees of freedom from the components whose size was
// estimated; z is normal, with U from the components that are known well. The probability is
// averaged over z. The single number of degrees of freedom of Welch and Satterthwaite, for both
// together, finds too many differences with few seatings. It is used for pairs with unequal numbers
// of seatings, or if one of them scatters much more.
func (f Figure) Chance() float64 {
	if !f.Known() || math.IsNaN(f.Uncertainty) || f.Budget == nil {
		return math.NaN()
	}
	var estimated Budget
	var u float64
	for _, c := range f.Budget {
		if c.DegreesOfFreedom == 0 {
			u += c.Variance()
		} else if c.Variance() > 0 {
			estimated = append(estimated, c)
		}
	}
	away, u, s, nu := math.Abs(f.Value), math.Sqrt(u), 0.0, 0.0
	if len(estimated) > 0 {
		e := estimated.Figure(0, "dB")
		s, nu = e.Uncertainty, e.DegreesOfFreedom
		if together, alike := pooledFreedom(estimated); alike {
			nu = together
		}
	}
	switch {
	case f.Value == 0:
		return 1
	case s == 0:
		return 2 * distuv.UnitNormal.Survival(away/u)
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}
	if u == 0 {
		return 2 * t.Survival(away/s)
	}
	return min(1, statistic.OverNormal(func(z float64) float64 {
		return t.Survival((away-u*z)/s) + t.CDF((-away-u*z)/s)
	}))
}

// pooledFreedom returns the sum of the degrees of freedom of the estimates of variance, and whether
// they may be estimates of one variance: they have equal degrees of freedom, and none is more than
// unlike times another.
func pooledFreedom(estimated Budget) (sum float64, alike bool) {
	const unlike = 10
	variances := map[string]float64{}
	var nu float64
	for i, c := range estimated {
		key := cmp.Or(c.Estimate, c.Key, strconv.Itoa(i))
		if _, counted := variances[key]; !counted {
			sum += c.DegreesOfFreedom
			if nu != 0 && nu != c.DegreesOfFreedom {
				return 0, false
			}
			nu = c.DegreesOfFreedom
		}
		variances[key] += c.Variance()
	}
	sizes := slices.Collect(maps.Values(variances))
	return sum, slices.Max(sizes) <= unlike*slices.Min(sizes)
}
