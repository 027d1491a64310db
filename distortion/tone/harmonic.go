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
	// Phase in radians of the harmonic as a sine at an instant when the fundamental is a sine of
	// phase 0; not known unless the level is.
	Phase response.Figure
}

// harmonics states orders 2 to the highest asked for.
func (f *fitted) harmonics() []Harmonic {
	first := f.readings[0]
	var hs []Harmonic
	for k := 2; k <= f.config.Orders; k++ {
		h := Harmonic{Order: k, Component: f.order(k).component(first.amplitude(), "dB", f.config.MaxFrequency), Phase: response.NotKnown("rad")}
		if h.Known() {
			r := f.readings[k-1]
			// As sines: φₖ + π/2 − k (φ₁ + π/2).
			h.Phase = figure(wrap(cmplx.Phase(r.c)-float64(k)*cmplx.Phase(first.c)+math.Pi/2*float64(1-k)),
				math.Hypot(r.u/cmplx.Abs(r.c), float64(k)*first.u/cmplx.Abs(first.c)), "rad")
		}
		hs = append(hs, h)
	}
	return hs
}

// order is the reading of harmonic k; one that could not be fitted is not known.
func (f *fitted) order(k int) reading {
	if k <= len(f.readings) {
		return f.readings[k-1]
	}
	return reading{frequency: float64(k) * f.hertz(f.omega[0]), u: math.NaN()}
}

// thd sums the harmonics that stand above their floors. The bound holds for these and those below
// their floors together.
func (f *fitted) thd(harmonics []Harmonic) distortion.THD {
	fundamental := f.readings[0].amplitude()
	t := distortion.THD{Reading: nothing("%"), Frequency: f.readings[0].frequency, Level: math.NaN()}
	var known []response.Figure
	var read, floor, bound float64
	for _, h := range harmonics {
		r := f.order(h.Order)
		switch {
		case h.Reason != "":
			t.OutOfRange = append(t.OutOfRange, h.Order)
			continue
		case h.Below:
			t.BelowFloor = append(t.BelowFloor, h.Order)
			bound = math.Hypot(bound, r.bound())
		default:
			t.Contains = append(t.Contains, h.Order)
			known = append(known, r.amplitude())
		}
		read, floor = math.Hypot(read, cmplx.Abs(r.c)), math.Hypot(floor, r.floor())
	}
	if len(known)+len(t.BelowFloor) == 0 {
		return t
	}
	percent := 100 / fundamental.Value
	t.AsRead, t.Floor, t.Bound, t.Below = percent*read, percent*floor, percent*bound, len(known) == 0
	if !t.Below {
		t.Figure = inPercent(over(rootSum(known), fundamental))
		t.Bound = math.Hypot(t.Bound, t.Value+oneSided*t.Uncertainty)
	}
	return t
}

// Noise is what is neither the tone, nor an offset, nor one of the fitted
// harmonics; hum is part of it.
type Noise struct {
	// Band is the bandwidth it was measured in.
	Band response.Band
	// RMS and AWeighted are root mean squares, full scale = 1: unweighted, and
	// weighted by the A curve of IEC 61672-1.
	RMS, AWeighted response.Figure
	// Level and AWeightedLevel are the same in dB relative to the rms of a
	// full-scale sine, so that they compare with Result.Level.
	Level, AWeightedLevel response.Figure
}

func (f *fitted) noise(b response.Band) Noise {
	n := Noise{Band: b}
	n.RMS = rootOf(f.total(b))
	n.AWeighted = rootOf(f.residue.power(b, aWeighted))
	n.Level = inDecibels(over(n.RMS, ratio(math.Sqrt2/2, 0)), "dBFS")
	n.AWeightedLevel = inDecibels(over(n.AWeighted, ratio(math.Sqrt2/2, 0)), "dBFS")
	return n
}

// rootOf turns a power with its relative uncertainty into an rms.
func rootOf(power, relative float64) response.Figure {
	root := math.Sqrt(power)
	return ratio(root, root*relative/2)
}

// disturbance is the rms of everything in the band but the fundamental.
func (f *fitted) disturbance(b response.Band) response.Figure {
	parts := []response.Figure{rootOf(f.total(b))}
	for _, r := range f.readings[1:] {
		if b.Contains(r.frequency) {
			parts = append(parts, ratio(cmplx.Abs(r.c)/math.Sqrt2, r.u/math.Sqrt2))
		}
	}
	return rootSum(parts)
}
