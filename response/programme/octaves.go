package programme

import (
	"math"

	"example.com/earnest/internal/interpolate"
	"example.com/earnest/smoothing"
)

// A tier is what one length of segment gives: the signals at the sample rate
// divided by factor, cut into segments of so many samples. The length in samples
// is the same in every tier, so that each octave further down has segments twice
// as long in seconds, and is resolved alike on a logarithmic axis.
type tier struct {
	factor   int
	rate     float64 // Hz
	n, hop   int     // samples at that rate
	segments int
	top      float64 // Hz; it serves from top/2 up to here, the lowest tier all below
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
	// maxGroups is into how many pieces of time each tier is divided, each no
	// shorter than a segment.
	maxGroups = 32
	// neighbours is the correlation of the errors of neighbouring pieces, one
	// segment long each, whose segments overlap by three quarters: between 0.074
	// for noise and 0.117 for steady tones, by the window's overlap.
	neighbours = 0.09
	// edgeOfTier is the share of a decimated rate up to which a tier serves.
	edgeOfTier = 0.25
)

// tiers plans for so many samples shared. There may be none.
func tiers(sampleRate, shared int) []*tier {
	n := 1 << int(math.Round(math.Log2(shortest*float64(sampleRate))))
	var out []*tier
	for factor := 1; ; factor *= 2 {
		span := n * factor
		if float64(span) > longest*float64(sampleRate) || leastSpan*float64(span) > float64(shared) {
			return out
		}
		t := &tier{factor: factor, rate: float64(sampleRate) / float64(factor), n: n, hop: n}
		t.top = edgeOfTier * t.rate
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

// lowest is the lowest frequency in Hz that a segment of the tier resolves.
func (t *tier) lowest() float64 { return periods * t.rate / float64(t.n) }

// group is the one that segment j belongs to.
func (t *tier) group(j int) int { return j * len(t.groups) / t.segments }

// sumUp adds the groups.
func (t *tier) sumUp() {
	t.total = newSums(t.n)
	for _, g := range t.groups {
		t.total.merge(g)
	}
	t.slopes = t.total.slopes()
}

// serving is the tier for a frequency in Hz.
func serving(all []*tier, f float64) *tier {
	for i, t := range all {
		if i == len(all)-1 || f > all[i+1].top {
			return t
		}
	}
	return nil
}

// bins is a range of a tier's bins with a weight each: 1 inside, at the ends
// the share of the bin that lies in the range.
type bins struct {
	first  int
	weight []float64
}

// between returns the bins from low to high Hz.
func (t *tier) between(low, high float64) bins {
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
func (t *tier) density() float64 {
	return 2 / (t.rate * 3 / 8 * float64(t.n)) / float64(t.total.count)
}

// halfBand is the filter before every other sample is left out: a windowed sinc
// whose even taps are zero, 31 taps, β = 10. It passes 0.14 of the sample rate
// within 0.001 dB and stops above 0.36 by 100 dB, so that what folds back
// below 0.14 is that far down; what lies between is not used.
var halfBand = func() (odd [8]float64) {
	for i := range odd {
		u := float64(2*i + 1)
		odd[i] = 0.5 * interpolate.Kernel(u/2, 8, 10)
	}
	// A constant passes unchanged: the even taps give one half, these the other.
	var sum float64
	for _, v := range odd {
		sum += 2 * v
	}
	for i := range odd {
		odd[i] *= 0.5 / sum
	}
	return odd
}()

// halve returns x at half its rate, sample m standing where x[2m] does, in dst
// if that is long enough.
func halve(dst, x []float64) []float64 {
	const reach = 2*len(halfBand) - 1
	h := halfBand
	dst = grown(dst, (len(x)+1)/2)
	for m := range dst {
		c := 2 * m
		v := 0.5 * x[c]
		if c < reach || c+reach >= len(x) {
			for i, w := range h {
				if j := c - 2*i - 1; j >= 0 {
					v += w * x[j]
				}
				if j := c + 2*i + 1; j < len(x) {
					v += w * x[j]
				}
			}
			dst[m] = v
			continue
		}
		s := (*[2*reach + 1]float64)(x[c-reach:])
		v += h[0]*(s[reach-1]+s[reach+1]) + h[1]*(s[reach-3]+s[reach+3]) + h[2]*(s[reach-5]+s[reach+5]) + h[3]*(s[reach-7]+s[reach+7])
		v += h[4]*(s[reach-9]+s[reach+9]) + h[5]*(s[reach-11]+s[reach+11]) + h[6]*(s[reach-13]+s[reach+13]) + h[7]*(s[reach-15]+s[reach+15])
		dst[m] = v
	}
	return dst
}

// thirds are the third-octave bands of IEC 61260-1 whose edges lie within low
// to high Hz.
func thirds(low, high float64) []smoothing.Band {
	all, err := smoothing.Bands(3, low, high)
	if err != nil {
		return nil
	}
	var out []smoothing.Band
	for _, b := range all {
		if b.Low >= low*(1-1e-9) && b.High <= high*(1+1e-9) {
			out = append(out, b)
		}
	}
	return out
}
