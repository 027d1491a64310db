package target

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"strconv"

	"example.com/earnest/response"
	"gonum.org/v1/gonum/stat/distuv"
)

// Difference is the difference between two pairs of a ranking.
type Difference struct {
	// A and B are indices into Ranking.Places.
	A, B int
	// RMS is the rms deviation of B less that of A, in dB.
	RMS response.Figure
	// P is the two-sided probability of a difference at least this large between two pairs that do
	// not differ. Adjusted is P adjusted for the number of comparisons (Holm). Both are NaN if not
	// known.
	P, Adjusted float64
	// Separated reports that the ranking tells A and B apart: Adjusted is below 1 − confidence.
	Separated bool
	// Regions says where they differ: two pairs may deviate equally from a target and sound nothing
	// alike.
	Regions []RegionDifference
}

// RegionDifference is the difference between two pairs in one region. The probability that any
// region of a ranking is wrongly called different is 1 − confidence, apart from that of the ranking
// itself.
type RegionDifference struct {
	Region
	// Mean is the mean level of B less that of A, both aligned, in dB.
	Mean        response.Figure
	P, Adjusted float64
	Separated   bool
}

// compare computes the differences of all the pairs. For pairs measured once they have no
// uncertainty.
func (r *Ranking) compare(once []bool) {
	var ps, regionPs []float64
	for b := range r.Places {
		for a := range b {
			d := r.difference(a, b, once[r.Places[a].Pair] || once[r.Places[b].Pair])
			r.Differences = append(r.Differences, d)
			ps = append(ps, d.P)
			for _, region := range d.Regions {
				regionPs = append(regionPs, region.P)
			}
		}
	}
	ps, regionPs = holm(ps), holm(regionPs)
	limit := 1 - r.Confidence
	for i := range r.Differences {
		d := &r.Differences[i]
		d.Adjusted, d.Separated = ps[i], ps[i] < limit
		for k := range d.Regions {
			d.Regions[k].Adjusted, d.Regions[k].Separated = regionPs[0], regionPs[0] < limit
			regionPs = regionPs[1:]
		}
	}
}

func (r *Ranking) difference(a, b int, unsure bool) Difference {
	x, y := &r.Places[a].Deviation, &r.Places[b].Deviation
	between := func(x, y response.Figure) response.Figure { // the shared components cancel
		if unsure {
			return figure(y.Value-x.Value, "dB")
		}
		return y.Budget.Plus(-1, x.Budget).Figure(y.Value-x.Value, "dB")
	}
	d := Difference{A: a, B: b, RMS: between(x.RMS, y.RMS)}
	d.P = chance(d.RMS)
	for i, region := range y.Regions {
		mean := between(x.Regions[i].Mean, region.Mean)
		d.Regions = append(d.Regions, RegionDifference{Region: region.Region, Mean: mean, P: chance(mean)})
	}
	return d
}

// chance returns the two-sided probability that a figure whose true value is zero lies as far from
// it as this one. The error is S t + U z: t has Student's distribution, with S and its degrees of
// freedom from the components whose size was estimated; z is normal, with U from the components
// that are known well. The probability is averaged over z. The single number of degrees of freedom
// of Welch and Satterthwaite, for both together, finds too many differences with few seatings. It
// is used for pairs with unequal numbers of seatings, or if one of them scatters much more.
func chance(f response.Figure) float64 {
	if !f.Known() || math.IsNaN(f.Uncertainty) {
		return math.NaN()
	}
	var estimated response.Budget
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
	// The midpoint rule over ±8 standard deviations: beyond that the density is negligible.
	const steps, reach = 400, 8.0
	var p float64
	for i := range steps {
		z := reach * (2*(float64(i)+0.5)/steps - 1)
		p += distuv.UnitNormal.Prob(z) * 2 * reach / steps * (t.Survival((away-u*z)/s) + t.CDF((-away-u*z)/s))
	}
	return min(1, p)
}

// pooledFreedom returns the sum of the degrees of freedom of the estimates of variance, and whether
// they may be estimates of one variance: they have equal degrees of freedom, and none is more than
// unlike times another.
func pooledFreedom(estimated response.Budget) (sum float64, alike bool) {
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

// holm adjusts probabilities for their number. In ascending order the i-th of n, from 0, is
// multiplied by n − i, and is at least the one before. A probability that is not known counts as a
// comparison and stays not known.
func holm(p []float64) []float64 {
	order := make([]int, 0, len(p))
	out := make([]float64, len(p))
	for i, v := range p {
		out[i] = math.NaN()
		if !math.IsNaN(v) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	var least float64
	for rank, i := range order {
		least = max(least, min(1, p[i]*float64(len(p)-rank)))
		out[i] = least
	}
	return out
}

// tie finds the places that each pair may hold.
func (r *Ranking) tie() {
	n := len(r.Places)
	apart := make([]bool, n*n)
	for _, d := range r.Differences {
		apart[d.A*n+d.B] = d.Separated
	}
	for i := range r.Places {
		r.Places[i].Best, r.Places[i].Worst = 1, n
		for k := range r.Places {
			switch {
			case k < i && apart[k*n+i]:
				r.Places[i].Best++
			case k > i && apart[i*n+k]:
				r.Places[i].Worst--
			}
		}
	}
}
