package tone

import (
	"math"
	"math/cmplx"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
)

// Harmonic is a component at a multiple of the fundamental; its levels are in dB relative to the
// fundamental.
type Harmonic struct {
	Order int // 2 is the second harmonic, at twice the frequency
	Component
	// Phase is that of the harmonic as a sine in radians, at an instant at which the fundamental is
	// a sine of phase 0. It is not known unless the level is.
	Phase response.Figure
}

// harmonics returns orders 2 to the highest asked for.
func (f *fitted) harmonics() []Harmonic {
	first := f.corrected[0]
	var hs []Harmonic
	for k := 2; k <= f.config.Orders; k++ {
		h := Harmonic{Order: k, Phase: response.NotKnown("rad")}
		h.Component = f.order(k).component(first.amplitude(), "dB", f.config.MaxFrequency)
		if h.Known() {
			r := f.corrected[k-1]
			// As sines: φₖ + π/2 − k (φ₁ + π/2).
			h.Phase = figure(wrap(cmplx.Phase(r.c)-float64(k)*cmplx.Phase(first.c)+math.Pi/2*float64(1-k)),
				math.Hypot(r.u/cmplx.Abs(r.c), float64(k)*first.u/cmplx.Abs(first.c)), "rad")
		}
		hs = append(hs, h)
	}
	return hs
}

// order returns the reading of harmonic k, not known if it could not be fitted.
func (f *fitted) order(k int) reading {
	if k <= len(f.corrected) {
		return f.corrected[k-1]
	}
	return reading{frequency: float64(k) * f.hertz(f.omega[0]), u: math.NaN()}
}

// thd sums the harmonics that were read.
func (f *fitted) thd(harmonics []Harmonic) distortion.THD {
	t := distortion.THD{Reading: nothing("%"), Frequency: f.readings[0].frequency, Level: math.NaN()}
	var parts []distortion.Reading
	for _, h := range harmonics {
		if h.Reason != "" {
			t.OutOfRange = append(t.OutOfRange, h.Order)
			continue
		}
		t.Contains = append(t.Contains, h.Order)
		parts = append(parts, f.order(h.Order).relative(f.corrected[0].amplitude(), "%"))
	}
	if len(parts) > 0 {
		t.Reading = distortion.Sum(parts[0], parts[1:]...)
	}
	return t
}

// disturbance returns the rms of everything in the band except the fundamental.
func (f *fitted) disturbance(b response.Band) response.Figure {
	parts := []response.Figure{rootOf(f.total(b))}
	for _, r := range f.readings[1:] {
		if b.Contains(r.frequency) {
			parts = append(parts, ratio(cmplx.Abs(r.c)/math.Sqrt2, r.u/math.Sqrt2))
		}
	}
	return rootSum(parts)
}

// rmsLevel returns a power with its relative uncertainty in dB relative to the rms of a full-scale
// sine.
func rmsLevel(power, relative float64) response.Figure {
	return inDecibels(over(rootOf(power, relative), ratio(math.Sqrt2/2, 0)), "dBFS")
}

// rootOf converts a power with its relative uncertainty to an rms.
func rootOf(power, relative float64) response.Figure {
	root := math.Sqrt(power)
	return ratio(root, root*relative/2)
}
