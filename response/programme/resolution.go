package programme

import (
	"math"
)

// A resolution holds the spectra from segments of one length, with the signals decimated by a
// factor. The length in samples is the same in every resolution, so each octave further down has
// segments twice as long in seconds, and the same resolution on a logarithmic axis.
type resolution struct {
	factor   int
	rate     float64 // Hz
	n, hop   int     // samples at that rate
	segments int
	top      float64 // Hz; it is used from top/2 to top, the lowest resolution from 0
	groups   []*sums // by piece of time, in order; their scatter gives the uncertainty
	total    *sums
	slopes   []complex128 // dH/dk; see segmentends.go
	hum      []bool       // the bins that hold hum or another steady tone, and little else
}

// lowest returns the lowest frequency in Hz that the resolution reports.
func (t *resolution) lowest() float64 { return periods * t.rate / float64(t.n) }

// group returns the piece of time to which segment j belongs.
func (t *resolution) group(j int) int { return j * len(t.groups) / t.segments }

// sumUp adds the pieces of time, and takes the slopes from the sum.
func (t *resolution) sumUp() {
	t.total = newSums(t.n)
	for _, g := range t.groups {
		t.total.merge(g)
	}
	t.slopes = t.total.slopes()
}

// settle releases the sums of the pieces of time, except those that the scatter is computed from:
// the power of the direct signal and the cross-spectrum, which it corrects for leakage. A
// comparison keeps 32 pieces for as long as it is kept.
func (t *resolution) settle() {
	for _, g := range t.groups {
		for k := range g.xy {
			g.xy[k] = t.corrected(g, k)
		}
		g.yy, g.dd, g.xd = nil, nil, nil
	}
}

// between returns the bins from low to high Hz.
func (t *resolution) between(low, high float64) bins {
	spacing := t.rate / float64(t.n)
	a, b := max(low/spacing, 0.5), min(high/spacing, float64(t.n/2)-0.5)
	if b <= a {
		return bins{}
	}
	out := bins{first: int(a + 0.5)}
	out.weight = make([]float64, 0, int(b+0.5)+2-out.first)
	for k := out.first; float64(k)-0.5 < b; k++ {
		out.weight = append(out.weight, min(b, float64(k)+0.5)-max(a, float64(k)-0.5))
	}
	return out
}

// density returns the factor from the sums of a bin to its one-sided power density per Hz.
func (t *resolution) density() float64 {
	return 2 / (t.rate * 3 / 8 * float64(t.n)) / float64(t.total.count)
}

// bins is a range of bins of a resolution, each with a weight. The weight is 1 inside the range; at
// its ends it is the share of the bin that lies in the range.
type bins struct {
	first  int
	weight []float64
}

const (
	// shortest is the length in seconds of the segments for the top octaves, to within the
	// rounding to a power of two samples. Each further resolution has twice that.
	shortest = 0.085
	// longest bounds the length of the segments for the bass, in seconds.
	longest = 1.5
	// periods is the number of periods of a frequency that a segment has to hold for that frequency
	// to be reported. A third of an octave is then 3 bins wide.
	periods = 12
	// leastSpan is the number of segments, end to end, that the material has to hold.
	leastSpan = 8
	// enough is the number of segments, end to end, from which on they do not overlap, since the
	// uncertainty is small already. From half that number on they overlap by a half; fewer overlap
	// by three quarters, so that every sample has the same weight.
	enough = 400
	// maxGroups is the greatest number of pieces of time into which a resolution is divided,
	// each no shorter than a segment.
	maxGroups = 32
	// neighbours is the correlation of the errors of neighbouring pieces that are one segment long
	// and whose segments overlap by three quarters. It is 0.074 for noise and 0.117 for steady
	// tones, from the overlap of the window.
	neighbours = 0.09
	// servedShare is the share of a decimated rate up to which a resolution is used.
	servedShare = 0.25
)

// resolutions plans the resolutions for a number of shared samples. It returns none if that is too
// small.
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

// resolutionFor returns the resolution for a frequency in Hz, nil if there is none.
func resolutionFor(all []*resolution, f float64) *resolution {
	for i, t := range all {
		if i == len(all)-1 || f > all[i+1].top {
			return t
		}
	}
	return nil
}
