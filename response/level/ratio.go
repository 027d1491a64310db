package level

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// Ratio is the complex ratio of the voltage across the load to that of the source, against
// frequency.
type Ratio struct {
	Frequency []float64    // Hz, ascending
	T         []complex128 // NaN where it is not known
	// Uncertainty is the absolute standard uncertainty (k = 1) of |T|; nil if it is not known.
	Uncertainty []float64
	// Coherence is γ² between the channels.
	Coherence []float64
	Valid     response.Band
}

// segmentSeconds is the length of the segments of a ratio from noise. Its bins are 1 Hz apart, far
// narrower than any resonance of headphones.
const segmentSeconds = 1.0

// firstBin is the first bin of a ratio. The window leaks into those below it.
const firstBin = 4

// leastCoherence is the coherence at a signal-to-noise ratio of 10 dB, γ² = SNR/(1 + SNR). Below
// it, the ratio is not known.
const leastCoherence = 10.0 / 11

// RatioFromNoise estimates the ratio from a steady noise recorded on both channels. These have to
// come from one interface and have the same length, at least 5 s; 30 s are better. It is
//
//	T = Sxy/Sxx,  u(|T|) = |T| √(1 − γ²)/(|γ| √(2 nd))
//
// (Bendat & Piersol, Random Data, ch. 9) with nd averages of one second under a Hann window,
// overlapping by half, which are independent except for 5 % (Welch, IEEE Trans. AU 15(2), 1967).
// Near a resonance the bins leak into each other, which lowers the coherence, so it is contained in
// u: 1 % of the impedance in 5 s of noise, for a quality factor of 2 at 60 Hz. Where the coherence
// γ² is below 10/11, a signal-to-noise ratio of 10 dB, the ratio is not known.
//
// Errors: ErrUnequal; ErrNoSignal; ErrInput for a sample rate that no recorder has, for a channel
// that is clipped or has a sample that is not finite, and for a ratio that moves while it is
// recorded, as with the level control of a recorder.
func RatioFromNoise(source, load []float64, sampleRate int) (*Ratio, error) {
	if err := checkRate(sampleRate); err != nil {
		return nil, err
	}
	if len(source) != len(load) {
		return nil, fmt.Errorf("level: impedance: %w: %d samples of the source and %d of the load; "+
			"give two channels of one recording", ErrUnequal, len(source), len(load))
	}
	s := newSegments(sampleRate, segmentSeconds)
	const least = 8
	if s.count(len(source)) < least {
		return nil, fmt.Errorf("level: impedance: %w: %.1f s of recording; record noise for 30 s",
			ErrNoSignal, float64(len(source))/float64(sampleRate))
	}
	for _, channel := range []recorded{{"source channel", source}, {"load channel", load}} {
		if err := checkSamples("impedance: "+channel.name, channel.samples, sampleRate); err != nil {
			return nil, err
		}
	}
	if err := audibleChannels(source, load); err != nil {
		return nil, err
	}
	bins := s.plan.Bins()
	sxx, syy, sxy := make([]float64, bins), make([]float64, bins), make([]complex128, bins)
	var x, y []complex128
	n := 0
	for at := range s.starts(len(source)) {
		x, y = s.spectrum(x, source[at:]), s.spectrum(y, load[at:])
		for k := range x {
			sxx[k] += fft.Power(x[k])
			syy[k] += fft.Power(y[k])
			sxy[k] += cmplx.Conj(x[k]) * y[k]
		}
		n++
	}
	r := ratioOf(s, sxx, syy, sxy, float64(n)/1.056)
	return r, r.checkSteady(s, source, load)
}

// checkSteady returns an error if the ratio over all frequencies moves from segment to segment. It
// is the factor g of least squares in y = g T x. Where the channels are coherent, it does not move.
func (r *Ratio) checkSteady(s *segments, source, load []float64) error {
	const coherent, most = 0.998, 1 // a change of 1 dB leaves less; dB
	if statistic.Median(r.Coherence) > coherent {
		return nil
	}
	var x, y []complex128
	low, high := math.Inf(1), math.Inf(-1)
	for at := range s.starts(len(source)) {
		x, y = s.spectrum(x, source[at:]), s.spectrum(y, load[at:])
		var along, power float64
		for i, t := range r.T {
			if cmplx.IsNaN(t) {
				continue
			}
			expected := t * x[i+firstBin]
			along += real(cmplx.Conj(expected) * y[i+firstBin])
			power += fft.Power(expected)
		}
		if power > 0 {
			low, high = min(low, along/power), max(high, along/power)
		}
	}
	if moves := decibel.OfAmplitude(high / max(low, 1e-3)); high > 0 && moves > most {
		return fmt.Errorf("level: impedance: ratio of load to source voltage %w: it moves by %.1f dB during the recording; "+
			"switch off the level control of the recorder, secure the plugs and record again", ErrInput, moves)
	}
	return nil
}

// ratioOf returns the ratio at all bins except those at both ends, into which the window leaks.
func ratioOf(s *segments, sxx, syy []float64, sxy []complex128, averages float64) *Ratio {
	r := &Ratio{}
	last := len(sxx) - firstBin
	for k := firstBin; k < last; k++ {
		coherence := fft.Power(sxy[k]) / (sxx[k] * syy[k])
		more := syy[k] - sxx[k]
		t, u := complex((more+math.Hypot(more, 2*cmplx.Abs(sxy[k])))/2, 0)/cmplx.Conj(sxy[k]), math.NaN()
		if coherence >= leastCoherence {
			size := cmplx.Abs(t)
			random := size * math.Sqrt(max(0, 1-coherence)/(coherence*2*averages))
			least, most := cmplx.Abs(sxy[k])/sxx[k], syy[k]/cmplx.Abs(sxy[k])
			u = math.Hypot(random, max(0, size-least, most-size)/math.Sqrt(3))
		} else {
			t = cmplx.NaN()
		}
		r.Frequency = append(r.Frequency, s.plan.Frequency(k, s.rate))
		r.T, r.Uncertainty, r.Coherence = append(r.T, t), append(r.Uncertainty, u), append(r.Coherence, coherence)
	}
	r.Valid = knownBand(r.Frequency, r.T)
	return r
}

// audibleChannels returns an error for a silent channel.
func audibleChannels(source, load []float64) error {
	for _, channel := range []struct {
		name    string
		samples []float64
	}{{"source", source}, {"load", load}} {
		const silence = 1e-5 // −100 dBFS rms
		if r := math.Sqrt(statistic.MeanSquare(channel.samples)); !(r > silence) {
			return fmt.Errorf("level: impedance: %w: the %s channel is at %.0f dBFS rms; "+
				"check its cable, raise the level and record again", ErrNoSignal, channel.name, 20*math.Log10(r))
		}
	}
	return nil
}

// knownBand returns the band from the first to the last value that is known.
func knownBand(frequency []float64, values []complex128) response.Band {
	var b response.Band
	for i, v := range values {
		if cmplx.IsNaN(v) {
			continue
		}
		if b.High == 0 {
			b.Low = frequency[i]
		}
		b.High = frequency[i]
	}
	return b
}
