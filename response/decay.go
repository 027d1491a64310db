package response

import (
	"fmt"
	"math"
	"slices"
	"time"

	"example.com/earnest/internal/fft"
	"example.com/earnest/smoothing"
)

// DecayConfig sets the bands and the duration that Decays analyses; the zero value is third octaves
// over 500 ms.
type DecayConfig struct {
	// Fraction is the width of a band as a fraction of an octave; 0 means 3.
	Fraction int
	// After is the time after the peak that is analysed; 0 means DefaultAfter. The noise is taken
	// from its last quarter, which should hold only noise.
	After time.Duration
}

// Decay is the decay of the energy in one band after the peak of an impulse response.
type Decay struct {
	Band smoothing.Band
	// Level is the energy decay curve in dB: the energy still to come at each instant, relative to
	// all energy in the band. It is NaN where it is not known.
	Level []float64
	// Start is the time in seconds of the first level, relative to the peak, and Step that between
	// two levels.
	Start, Step float64
	// Noise is the level in dB of the noise in the band, relative to the greatest power in it; −Inf
	// without noise, NaN where nothing is known.
	Noise float64

	deviation []float64 // standard uncertainty of Level from noise, dB
	rate      float64   // of the filter: its power falls as exp(−(rate t)²)
	unknown   string    // the reason why nothing is known in the band
}

// trim begins the curve at a time in seconds.
func (d *Decay) trim(from float64) {
	skip := min(max(0, int((from-d.Start)/d.Step)), len(d.Level)) // there are none if nothing is known
	d.Level, d.deviation = d.Level[skip:], d.deviation[skip:]
	d.Start += float64(skip) * d.Step
}

// decaySpectrum is the spectrum of the part that is analysed, from which every band is taken.
type decaySpectrum struct {
	bins    []complex128
	n       int     // points of the transform
	fs      float64 // Hz
	before  float64 // seconds from the first sample to the peak
	after   float64 // seconds from the peak to the end of the response
	padding float64 // seconds of zeros after it

	packed []complex128 // working memory, used again for each band
}

// decayBefore is the analysed time in seconds before the peak: shorter than the distance to the
// harmonics of any usual sweep.
const decayBefore = 0.1

func (h *Impulse) newDecaySpectrum(peak int, after time.Duration) *decaySpectrum {
	fs := float64(h.SampleRate)
	before := min(peak, int(decayBefore*fs))
	length := min(len(h.Samples)-peak, int(math.Ceil(after.Seconds()*fs)))
	x := h.Samples[peak-before : peak+length]
	n := fft.FastLen(len(x) + int(decayPadding*fs))
	return &decaySpectrum{
		bins: h.plans.Plan(n).Forward(nil, x), n: n, fs: fs,
		before: float64(before) / fs, after: float64(length) / fs, padding: float64(n-len(x)) / fs,
	}
}

// decayPadding is a time in seconds that separates the part spread backwards from the peak by the
// filters from the end of the response. The lowest band, at 20 Hz, spreads its energy over 0.15 s.
const decayPadding = 0.35

// decay filters out one band and integrates it.
func (s *decaySpectrum) decay(b smoothing.Band, valid Band) Decay {
	middle, sigma := (b.Low+b.High)/2, (b.High-b.Low)/(2*math.Sqrt(math.Ln2))
	d := Decay{Band: b, Noise: math.NaN(), rate: 2 * math.Pi * sigma}
	if !valid.holds(b.Low) || !valid.holds(b.High) {
		d.unknown = fmt.Sprintf("the band reaches beyond what the sweep excited, %v", valid)
		return d
	}
	if d.filterTime(-40) > s.padding/2 {
		d.unknown = reasonFilter
		return d
	}
	power, step := s.envelope(middle, sigma)
	// The transform is circular and begins with the response; the part that the filter spreads
	// before it is at the end.
	lead := int(s.padding / 2 / step)
	power = append(power[len(power)-lead:len(power):len(power)], power[:len(power)-lead]...)
	d.Start, d.Step = -s.before-float64(lead)*step, step
	end := min(len(power), lead+int((s.before+s.after)/step))
	d.integrate(power[:end], lead)
	d.trim(-d.filterTime(-50))
	return d
}

// envelope returns the squared envelope of the response in a band, and the seconds between two of
// its samples. It has no scale, since it is used for ratios only. Only the bins of the band are
// transformed back, with half as many more points as the square of the envelope needs.
func (s *decaySpectrum) envelope(middle, sigma float64) (power []float64, step float64) {
	spacing := s.fs / float64(s.n)
	const reach = 5 // of the Gaussian, to −109 dB
	first := max(0, int((middle-reach*sigma)/spacing))
	stop := min(len(s.bins), int((middle+reach*sigma)/spacing)+2)
	m := fft.FastLen(3 * (stop - first))
	s.packed = slices.Grow(s.packed[:0], m)
	packed := s.packed[:m]
	clear(packed)
	for i, v := range s.bins[first:stop] {
		u := (float64(first+i)*spacing - middle) / sigma
		packed[i] = v * complex(math.Exp(-u*u/2), 0)
	}
	fft.NewComplex(m).Transform(packed) // back to time, in reversed order
	power = make([]float64, m)
	for i, v := range packed {
		power[(m-i)%m] = fft.Power(v)
	}
	return power, float64(s.n) / s.fs / float64(m)
}

// Decays returns the decay in every band of IEC 61260-1 that overlaps the valid band, by backward
// integration:
//
//	E(t) = ∫ p²(s) ds  from s = t to ∞
//
// (M. R. Schroeder, J. Acoust. Soc. Am. 37, 409–412, 1965). It is the decay of everything in the
// response, rig and room included.
//
// The filter of a band has no phase and a Gaussian magnitude
//
//	|H(f)| = exp(−½ ((f − m)/σ)²),  m = (Low + High)/2,  σ = (High − Low)/(2 √ln 2)
//
// which is −3.01 dB at both edges of the band. For a third octave it is −58 dB an octave below and
// −220 dB an octave above its middle. Midbands and edges are the standard's, the shape is not. A
// Gaussian rings least for its width: its own energy is 40 dB down 2.9 periods after the peak. It
// does not change the rate of an exponential decay. It spreads an impulse in time, also backwards,
// so at the peak of an impulse half of its energy is still to come.
//
// p² is the squared envelope in the band. Noise, taken from the last quarter, is subtracted (W. T.
// Chu, J. Acoust. Soc. Am. 63, 1978). The integration stops where the decay sinks into it, and the
// rest is added as an exponential (A. Lundeby et al., Acustica 81, 1995; both from memory). Levels
// are known until the decay comes within 10 dB of the noise, and NaN after that.
//
// The response must not be windowed: a taper at the end would hide the noise. Decays returns
// ErrNoPeak if the response has no peak.
func (h *Impulse) Decays(c DecayConfig) ([]Decay, error) {
	if c.Fraction == 0 {
		c.Fraction = 3
	}
	if c.After == 0 {
		c.After = DefaultAfter
	}
	if c.After < time.Millisecond {
		return nil, fmt.Errorf("response: decays over %v; give at least a millisecond", c.After)
	}
	peak, err := h.peak()
	if err != nil {
		return nil, err
	}
	fs := float64(h.SampleRate)
	low, high := max(h.Valid.Low, 1), min(h.Valid.High, fs/2)
	bands, err := smoothing.Bands(c.Fraction, low, max(low, high))
	if err != nil {
		return nil, fmt.Errorf("response: decays: %w", err)
	}
	s := h.newDecaySpectrum(peak, c.After)
	decays := make([]Decay, len(bands))
	for i, b := range slices.Backward(bands) { // the widest first: the others use its memory
		decays[i] = s.decay(b, h.Valid.Intersect(Band{0, fs / 2}))
	}
	return decays, nil
}
