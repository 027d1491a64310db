package target

import (
	"math"
	"slices"

	"example.com/earnest/response"
	"gonum.org/v1/gonum/stat/distuv"
)

// Difference is how two pairs of a ranking differ.
type Difference struct {
	// A and B are indices into Ranking.Places.
	A, B int
	// RMS is the rms deviation of B less that of A, in dB.
	RMS response.Figure
	// P is the probability of a difference at least so large, to either side,
	// between two pairs that do not differ, and Adjusted the same with an eye on
	// all the pairs that are compared (Holm); NaN when not known.
	P, Adjusted float64
	// Separated says that the ranking tells A and B apart: Adjusted is below
	// 1 − confidence.
	Separated bool
	// Regions tell where they differ: two pairs may stray equally far from a
	// target and sound nothing alike.
	Regions []RegionDifference
}

// RegionDifference is the difference between two pairs in one region. The
// chance that any of a ranking's regions is wrongly called different is 1 −
// confidence, besides that of the ranking itself.
type RegionDifference struct {
	Region
	// Mean is the mean level of B less that of A, both aligned, in dB.
	Mean        response.Figure
	P, Adjusted float64
	Separated   bool
}

// compare computes the differences of all the pairs.
func (r *Ranking) compare() {
	var ps, regionPs []float64
	for b := range r.Places {
		for a := range b {
			d := r.difference(a, b)
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

func (r *Ranking) difference(a, b int) Difference {
	x, y := &r.Places[a].Deviation, &r.Places[b].Deviation
	d := Difference{A: a, B: b, RMS: between(x, y, x.rms, y.rms)}
	d.P = chance(d.RMS)
	for i, region := range y.Regions {
		mean := between(x, y, x.regionMeans[i], y.regionMeans[i])
		d.Regions = append(d.Regions, RegionDifference{Region: region.Region, Mean: mean, P: chance(mean)})
	}
	return d
}

// between is the figure of y less that of x. UncertaintyComponents that both share are taken
// off from each other one by one; the others add up as variances.
func between(x, y *Deviation, a, b budget) response.Figure {
	out := figure(b.value-a.value, "dB")
	if !x.known || !y.known || !out.Known() {
		return out
	}
	// What x has and y has not counts with its sign turned, which is the same.
	rest := a
	rest.by = slices.Clone(a.by)
	var squares, freedoms []float64
	for g, c := range y.causes {
		by := b.by[g]
		if k := x.sharing(c, y); k >= 0 {
			by = budget{by: [][]float64{by}}.plus(-1, budget{by: [][]float64{rest.by[k]}}).by[0]
			rest.by[k] = nil
		}
		v, f := budget{by: [][]float64{by}}.variances([]cause{c})
		squares, freedoms = append(squares, v...), append(freedoms, f...)
	}
	v, f := rest.variances(x.causes)
	out.Uncertainty, out.DegreesOfFreedom = pooled(append(squares, v...), append(freedoms, f...))
	return out
}

// sharing returns which of x's causes is the very one that y has, −1 if none:
// the target's is, and the calibration's on one rig.
func (d *Deviation) sharing(c cause, other *Deviation) int {
	if c.from == seatingsCause || c.from == calibrationCause && d.Curve.Rig != other.Curve.Rig {
		return -1
	}
	return slices.IndexFunc(d.causes, func(own cause) bool { return own.from == c.from })
}

// chance is the two-sided probability that a figure whose true value is zero
// lies so far from it.
func chance(f response.Figure) float64 {
	if !f.Known() || math.IsNaN(f.Uncertainty) {
		return math.NaN()
	}
	if f.Value == 0 {
		return 1
	}
	t := math.Abs(f.Value) / f.Uncertainty
	if f.DegreesOfFreedom > 0 && !math.IsInf(t, 0) {
		return 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: f.DegreesOfFreedom}.Survival(t)
	}
	return 2 * distuv.UnitNormal.Survival(t)
}

// holm adjusts probabilities for how many there are: in ascending order the
// i-th of n, from 0, is multiplied by n − i, and none comes out below the one
// before. What is not known counts as a comparison and stays not known.
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
