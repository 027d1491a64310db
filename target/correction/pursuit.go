package correction

import (
	"math"
	"slices"
)

// enough is the rms in dB below which nothing more is sought.
const enough = 0.02

// fit lays filters one by one, refines all together after each, and then tries
// each somewhere else.
func (ft *fitter) fit() []Filter {
	var filters []Filter
	cost := ft.rms(nil)
	cost *= cost
	for len(filters) < ft.limits.Filters && cost > enough*enough {
		more, moreCost := ft.refine(append(slices.Clone(filters), ft.best(ft.left(filters))))
		if !(moreCost < cost) {
			break
		}
		filters, cost = more, moreCost
	}
	filters = ft.rearrange(filters, cost)
	return ft.thin(filters)
}

// best is the filter that, by its shape at a small gain, takes most of what is
// left away.
func (ft *fitter) best(left []float64) Filter {
	const perOctave = 4
	var found Filter
	most := -1.0
	low, high := ft.limits.Band.Low, ft.limits.Band.High
	n := max(1, int(math.Ceil(perOctave*math.Log2(high/low))))
	template := make([]float64, len(ft.f))
	for i := range n + 1 {
		f := low * math.Pow(high/low, float64(i)/float64(n))
		for _, try := range ft.tries(f) {
			p := polynomials(try, ft.limits.SampleRate)
			for k, at := range ft.phase {
				template[k] = p.level(at)
			}
			ft.level(template)
			size := ft.dot(template, template)
			if !(size > 0) {
				continue
			}
			gain := min(ft.limits.Boost, max(-ft.limits.Cut, ft.dot(left, template)/size))
			if won := gain * (2*ft.dot(left, template) - gain*size); won > most {
				most, found = won, try
				found.Gain = gain
			}
		}
	}
	return found
}

// tries are the filters of 1 dB that may stand at f.
func (ft *fitter) tries(f float64) []Filter {
	clamp := func(shape Shape, q float64) float64 {
		s := ft.limits.spans(shape)[2]
		return min(math.Exp2(s.high), max(math.Exp2(s.low), q))
	}
	var tries []Filter
	for _, q := range []float64{0.6, 1.2, 2.4, 4.8} {
		t := Filter{Peaking, f, 1, clamp(Peaking, q)}
		if !slices.Contains(tries, t) {
			tries = append(tries, t)
		}
	}
	if !ft.limits.NoShelves {
		tries = append(tries, Filter{LowShelf, f, 1, clamp(LowShelf, 0.7)}, Filter{HighShelf, f, 1, clamp(HighShelf, 0.7)})
	}
	return tries
}

// rearrange takes each filter out in turn, lays it where it is worth most
// among the others, and keeps that if it is better.
func (ft *fitter) rearrange(filters []Filter, cost float64) []Filter {
	const rounds = 2
	for range rounds {
		before := cost
		for i := range filters {
			if cost < enough*enough {
				return filters
			}
			others := slices.Delete(slices.Clone(filters), i, i+1)
			again, againCost := ft.refine(append(others, ft.best(ft.left(others))))
			if againCost < cost*0.999 {
				filters, cost = again, againCost
			}
		}
		if cost > before*0.95 {
			break
		}
	}
	return filters
}

// thin leaves out filters that are not worth it, the least worth first.
func (ft *fitter) thin(filters []Filter) []Filter {
	for len(filters) > 0 {
		rms := ft.rms(filters)
		var fewer []Filter
		least := math.Inf(1)
		for i := range filters {
			others := slices.Delete(slices.Clone(filters), i, i+1)
			// Refining is dear: only where the others are nearly as good as they stand.
			if r := ft.rms(others); r > rms+10*ft.limits.Worth+0.5 {
				continue
			}
			if len(others) > 0 {
				others, _ = ft.refine(others)
			}
			if r := ft.rms(others); r < least {
				least, fewer = r, others
			}
		}
		if !(least < rms+ft.limits.Worth) {
			break
		}
		filters = fewer
	}
	return filters
}
