package excerpt

import (
	"errors"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
)

// filter returns x through the filter of a response: the minimum phase of its magnitude, and at the
// ends of the band a fall to zero that adds no phase.
func filter(x []float64, sampleRate int, curve response.Curve) ([]float64, error) {
	half := fft.FastLen(int(filterSeconds * float64(sampleRate)))
	h, err := impulseResponse(curve, 2*half, sampleRate)
	if err != nil {
		return nil, err
	}
	plan := fft.NewPlan(fft.FastLen(len(x) + half)) // half a filter of zeros serves both ends
	signal := make([]float64, plan.Len())
	copy(signal, x)
	spectrum := plan.Forward(nil, signal)
	clear(signal)
	copy(signal, h[:half])
	copy(signal[plan.Len()-half:], h[half:])
	for k, g := range plan.Forward(nil, signal) {
		spectrum[k] *= g
	}
	return plan.Inverse(signal, spectrum)[:len(x)], nil
}

// impulseResponse returns n samples of the filter; the second half lies before time 0.
func impulseResponse(curve response.Curve, n, sampleRate int) ([]float64, error) {
	known := knownPart(curve)
	if len(known.Frequency) < 2 {
		return nil, errors.New("nothing of the response is known, so nothing can be filtered by it")
	}
	t := &response.Transfer{Len: n, SampleRate: sampleRate, Valid: known.Valid, Bins: make([]complex128, n/2+1)}
	for k := range t.Bins {
		t.Bins[k] = complex(decibel.Amplitude(known.At(t.Frequency(k))), 0)
	}
	phase, _ := t.MinimumPhase() // near the ends, where the phase is uncertain, the filter falls to zero
	spectrum := make([]complex128, n/2+1)
	for i, f := range t.Frequencies() {
		k := int(math.Round(f * float64(n) / float64(sampleRate)))
		end := min(math.Log2(f/known.Valid.Low), math.Log2(known.Valid.High/f)) / edgeOctaves
		spectrum[k] = cmplx.Rect(real(t.Bins[k])*taper.Rise(end), phase[i])
	}
	return fft.NewPlan(n).Inverse(nil, spectrum), nil
}

// knownPart returns the known points of a curve, valid from the first to the last of them.
func knownPart(c response.Curve) response.Curve {
	known := response.Curve{}
	for i, f := range c.Frequency {
		if c.Valid.Contains(f) && !math.IsNaN(c.Level[i]) && f > 0 {
			known.Frequency, known.Level = append(known.Frequency, f), append(known.Level, c.Level[i])
		}
	}
	if n := len(known.Frequency); n > 0 {
		known.Valid = response.Band{Low: known.Frequency[0], High: known.Frequency[n-1]}
	}
	return known
}
