package response

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
)

// Transfer is a complex transfer function on the one-sided bins of a real transform: bin k is at k
// SampleRate/Len Hz.
type Transfer struct {
	Bins       []complex128 // from 0 Hz to half the sample rate
	SampleRate int          // Hz
	Len        int          // points of the transform; Bins has Len/2+1
	Valid      Band
	// Reference says what a gain of 1 means; empty means full scale per full scale.
	Reference string
	// Rig says in words on which rig it was measured.
	Rig string

	noise      []noiseShare
	short      *shortened
	resolution float64 // Hz between two bins whose noise is independent; 0 if noise is not known
	plans      *fft.Cache
}

// Frequency returns the frequency of bin k in Hz.
func (t *Transfer) Frequency(k int) float64 {
	return float64(k) * float64(t.SampleRate) / float64(t.Len)
}

// At returns the transfer function at f Hz, interpolated linearly between bins, or NaN outside the
// valid band. Remove the bulk delay first (Delayed), or the phase turns between two bins.
func (t *Transfer) At(f float64) complex128 {
	x := f * float64(t.Len) / float64(t.SampleRate)
	k := int(x)
	if !t.Valid.Contains(f) || k < 0 || k >= len(t.Bins) {
		return cmplx.NaN()
	}
	if x -= float64(k); x == 0 {
		return t.Bins[k]
	}
	if k+1 == len(t.Bins) {
		return cmplx.NaN()
	}
	return t.Bins[k] + complex(x, 0)*(t.Bins[k+1]-t.Bins[k])
}

// delay turns the phase as a delay of seconds does. Bin k turns as the first bin of its block does,
// and then as bin k of the first block: two angles for a sine instead of one for each bin, right to
// two roundings.
func (t *Transfer) delay(seconds float64) {
	turn := func(k int) complex128 {
		cycles := t.Frequency(k) * seconds
		return cmplx.Rect(1, -2*math.Pi*(cycles-math.Floor(cycles)))
	}
	within := make([]complex128, min(256, len(t.Bins)))
	for i := range within {
		within[i] = turn(i)
	}
	for k := 0; k < len(t.Bins); k += len(within) {
		first := turn(k)
		block := t.Bins[k:min(k+len(within), len(t.Bins))]
		for i := range block {
			block[i] *= first * within[i]
		}
	}
}

// Delayed returns the transfer function followed by a delay in seconds; a negative one removes a
// delay.
func (t *Transfer) Delayed(seconds float64) *Transfer {
	out := t.clone()
	out.delay(seconds)
	return out
}

func (t *Transfer) clone() *Transfer {
	out := *t
	out.Bins = slices.Clone(t.Bins)
	return &out
}

// Divide returns t divided by direct, which removes the interface and the recorder, since both
// contain them. Both must have the same sample rate and number of bins, as windows of the same
// length give. The result is valid where both are. It keeps the bin beyond each end of that band,
// so that the ends themselves lie between bins, and is NaN further out.
func (t *Transfer) Divide(direct *Transfer) (*Transfer, error) {
	if t.SampleRate != direct.SampleRate {
		return nil, fmt.Errorf("response: sample rates %d Hz and %d Hz; record both at one rate",
			t.SampleRate, direct.SampleRate)
	}
	if t.Len != direct.Len {
		return nil, fmt.Errorf("response: transfer functions of %d and %d points; window both to one length",
			t.Len, direct.Len)
	}
	out := t.clone()
	out.Valid = t.Valid.Intersect(direct.Valid)
	out.Reference = "direct recording"
	out.divideShares(t, direct)
	first, end := out.bracketingBins()
	for k, b := range direct.Bins {
		if b == 0 || k < first || k >= end {
			out.Bins[k] = cmplx.NaN()
			continue
		}
		out.Bins[k] = t.Bins[k] / b
	}
	return out, nil
}

// bracketingBins returns validBins with the bin beyond each end of the band, so that the band lies
// between them.
func (t *Transfer) bracketingBins() (first, end int) {
	first, end = t.validBins()
	if first == end {
		return first, end
	}
	return max(1, first-1), min(len(t.Bins), end+1)
}

// validBins returns the first bin of the valid band and the one after its last. Bin 0 has no place
// on a logarithmic axis and is never among them.
func (t *Transfer) validBins() (first, end int) {
	resolution := float64(t.SampleRate) / float64(t.Len)
	first = max(1, int(math.Ceil(t.Valid.Low/resolution-edge)))
	end = len(t.Bins)
	if top := math.Floor(t.Valid.High/resolution + edge); top < float64(end) {
		end = int(top) + 1
	}
	if t.Valid.Empty() || end < first {
		return 1, 1
	}
	return first, end
}

// Frequencies returns the frequencies in Hz of the bins in the valid band: those of Magnitude,
// Phase and GroupDelay.
func (t *Transfer) Frequencies() []float64 {
	first, end := t.validBins()
	f := make([]float64, end-first)
	for i := range f {
		f[i] = t.Frequency(first + i)
	}
	return f
}

// Magnitude returns the level 20 log10|H| in dB at every bin of the valid band.
func (t *Transfer) Magnitude() Curve {
	first, end := t.validBins()
	level := make([]float64, end-first)
	for i := range level {
		level[i] = decibel.OfAmplitude(cmplx.Abs(t.Bins[first+i]))
	}
	return Curve{Frequency: t.Frequencies(), Level: level, Reference: t.Reference, Rig: t.Rig, Valid: t.Valid}
}

// Impulse returns the impulse response of the transfer function, with time zero at the middle
// sample. Bins that are not known count as zero, so it is band-limited to the valid band. Remove
// the bulk delay first (Delayed).
func (t *Transfer) Impulse() *Impulse {
	centred := t.Delayed(float64(t.Len/2) / float64(t.SampleRate))
	for k, v := range centred.Bins {
		if cmplx.IsNaN(v) || !t.Valid.Contains(t.Frequency(k)) {
			centred.Bins[k] = 0
		}
	}
	return &Impulse{
		Samples:    t.plans.Plan(t.Len).Inverse(nil, centred.Bins),
		SampleRate: t.SampleRate,
		Zero:       t.Len / 2,
		Valid:      t.Valid,
		plans:      t.plans,
	}
}
