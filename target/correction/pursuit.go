package correction

import (
	"cmp"
	"math"
	"slices"
)

// enough is the rms in dB below which the search ends.
const enough = 0.02

// fit refines the best sets of the dictionary, keeps the best result, and removes filters that do
// not improve it enough. If a few filters leave almost no residual, it looks no further.
func (ft *fitter) fit() []Filter {
	d := newDictionary(ft)
	n := min(ft.Filters, len(d.filters))
	for few := range min(n, 4) {
		if filters, _ := ft.refine(d.withGains(d.draw(few, nil).set), coarse); ft.rms(filters) < enough {
			filters, _ = ft.refine(filters, fine)
			return ft.thin(filters)
		}
	}
	var best []Filter
	cost := math.Inf(1)
	for start := range d.sets(n) {
		filters, c := ft.refine(start, coarse)
		if c < cost {
			best, cost = filters, c
		}
		if ft.rms(best) < enough {
			break
		}
	}
	if len(best) == 0 {
		return nil
	}
	return ft.thin(ft.rearrange(d, best, cost))
}

// rearrange removes each filter in turn, adds the best one beside the others, and keeps that if it
// is better.
func (ft *fitter) rearrange(d *dictionary, filters []Filter, cost float64) []Filter {
	for k := 0; k < len(filters) && len(filters) <= searched && ft.rms(filters) > enough; k++ {
		others := slices.Delete(slices.Clone(filters), k, k+1)
		next := d.nearest(ft.left(others))
		if next.Q == 0 {
			continue
		}
		if again, c := ft.refine(append(others, next), coarse); c < 0.98*cost {
			filters, cost = again, c
			k = -1
		}
	}
	filters, _ = ft.refine(filters, fine)
	return filters
}

// thin removes filters that do not improve the deviation enough, the least useful first. Refining
// the remaining ones is slow, so it tries only those whose removal has the smallest effect before
// refinement.
func (ft *fitter) thin(filters []Filter) []Filter {
	const tried = 5
	for len(filters) > 0 {
		rms := ft.rms(filters)
		var without [][]Filter
		for i := range filters {
			without = append(without, slices.Delete(slices.Clone(filters), i, i+1))
		}
		slices.SortStableFunc(without, func(a, b []Filter) int { return cmp.Compare(ft.rms(a), ft.rms(b)) })
		var fewer []Filter
		least := math.Inf(1)
		for _, others := range without[:min(tried, len(without))] {
			if ft.rms(others) > rms+10*ft.MinImprovement+0.5 {
				break
			}
			others, _ = ft.refine(others, fine)
			if r := ft.rms(others); r < least {
				least, fewer = r, others
			}
		}
		if !(least < rms+ft.MinImprovement) {
			break
		}
		filters = fewer
	}
	return filters
}
