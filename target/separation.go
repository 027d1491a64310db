package target

import (
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
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
	// Regions says where they differ: two pairs may deviate equally from a target and still sound
	// different.
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
	ps, regionPs = statistic.Holm(ps), statistic.Holm(regionPs)
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
	d.P = d.RMS.Chance()
	for i, region := range y.Regions {
		mean := between(x.Regions[i].Mean, region.Mean)
		d.Regions = append(d.Regions, RegionDifference{Region: region.Region, Mean: mean, P: mean.Chance()})
	}
	return d
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
