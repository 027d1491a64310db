package programme

import (
	"math"
)

// A resolution is what one length of segment gives: the signals at the sample rate
// divided by factor, cut into segments of so many samples. The length in samples
// is the same in every resolution, so that each octave further down has segments twice
// as long in seconds, and is resolved alike on a logarithmic axis.
type resolution struct {
	factor   int
	rate     float64 // Hz
	n, hop   int     // samples at that rate
	segments int
	top      float64 // Hz; it serves from top/2 up to here, the lowest resolution all below
	groups   []*sums // by time, in order, to tell how steady the result is
	total    *sums
	slopes   []complex128 // dH/dk; see leakage.go
}

const (
	// shortest is about how long in seconds the segments for the top octaves
	// are; there is a whole number of halvings from it to the longest.
	shortest = 0.085
	// longest is how long they get for the bass, if there is material enough.
	longest = 1.5
	// periods is how many periods of a frequency a segment has to hold for the
	// frequency to be reported: a third of an octave is then 3 bins wide.
	periods = 12
	// leastSpan is how many segments, laid end to end, the material has to
	// hold.
	leastSpan = 8
	// enough segments, laid end to end, need not overlap: more of them would
	// not tell more than is known already. Half as many overlap by a half, and
	// fewer by three quarters, with which every sample weighs the same.
	enough = 400
	// maxGroups is into how many pieces of time each resolution is divided, each no
	// shorter than a segment.
	maxGroups = 32
	// neighbours is the correlation of the errors of neighbouring pieces, one
	// segment long each, whose segments overlap by three quarters: between 0.074
	// for noise and 0.117 for steady tones, by the window's overlap.
	neighbours = 0.09
	// servedShare is the share of a decimated rate up to which a resolution serves.
	servedShare = 0.25
)

// resolutions plans for so many samples shared. There may be none.
func resolutions(sampleRate, shared int) []*resolution {
	n := 1 << int(math.Round(math.Log2(shortest*float64(sampleRate))))
	var out []*resolution
	for factor := 1; ; factor *= 2 {
		span := n * factor
		if float64(span) > longest*float64(sampleRate) || leastSpan*float64(span) > float64(shared) {
			return out
		}
		t := &resolution{factor: factor, rate: float64(sampleRate) / float64(factor), n: n, hop: n}
		t.top = servedShare * t.rate
		if factor == 1 {
			t.top = float64(sampleRate) / 2
		}
		switch {
		case shared/span < enough/2:
			t.hop = n / 4
		case shared/span < enough:
			t.hop = n / 2
		}
		t.segments = (shared-span)/(t.hop*factor) + 1
		t.groups = make([]*sums, min(maxGroups, max(1, t.segments*t.hop/n)))
		for i := range t.groups {
			t.groups[i] = newSums(n)
		}
		out = append(out, t)
	}
}

// lowest is the lowest frequency in Hz that a segment of the resolution resolves.
func (t *resolution) lowest() float64 { return periods * t.rate / float64(t.n) }

// group is the one that segment j belongs to.
func (t *resolution) group(j int) int { return j * len(t.groups) / t.segments }

// sumUp adds the groups.
func (t *resolution) sumUp() {
	t.total = newSums(t.n)
	for _, g := range t.groups {
		t.total.merge(g)
	}
	t.slopes = t.total.slopes()
}

// serving is the resolution for a frequency in Hz.
func resolutionFor(all []*resolution, f float64) *resolution {
	for i, t := range all {
		if i == len(all)-1 || f > all[i+1].top {
			return t
		}
	}
	return nil
}

// bins is a range of a resolution's bins with a weight each: 1 inside, at the ends
// the share of the bin that lies in the range.
type bins struct {
	first  int
	weight []float64
}

// between returns the bins from low to high Hz.
func (t *resolution) between(low, high float64) bins {
	spacing := t.rate / float64(t.n)
	a, b := max(low/spacing, 0.5), min(high/spacing, float64(t.n/2)-0.5)
	if b <= a {
		return bins{}
	}
	out := bins{first: int(a + 0.5)}
	for k := out.first; float64(k)-0.5 < b; k++ {
		out.weight = append(out.weight, min(b, float64(k)+0.5)-max(a, float64(k)-0.5))
	}
	return out
}

// density scales sums over a bin to a one-sided power density per Hz.
func (t *resolution) density() float64 {
	return 2 / (t.rate * 3 / 8 * float64(t.n)) / float64(t.total.count)
}
