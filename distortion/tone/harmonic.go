package tone

import (
	"math"
	"math/cmplx"

	"example.com/earnest/response"
)

// Harmonic is a component at a multiple of the fundamental; its levels are in dB
// relative to the fundamental.
type Harmonic struct {
	Order int // 2 is the second harmonic, at twice the frequency
	Component
	// Phase in radians of the harmonic as a sine at an instant when the
	// fundamental is a sine of phase 0; NaN unless the state is Known.
	Phase Figure
}

// harmonics states orders 2 to the highest asked for.
func (f *fitted) harmonics(o Options) []Harmonic {
	first := f.readings[0]
	var hs []Harmonic
	for k := 2; k <= o.Orders; k++ {
		h := Harmonic{Order: k, Component: f.order(k).component(first.amplitude(), o.Ceiling), Phase: notKnown}
		if h.State == Known {
			r := f.readings[k-1]
			// As sines: φₖ + π/2 − k (φ₁ + π/2).
			h.Phase.Value = wrap(cmplx.Phase(r.c) - float64(k)*cmplx.Phase(first.c) + math.Pi/2*float64(1-k))
			h.Phase.Uncertainty = math.Hypot(r.u/cmplx.Abs(r.c), float64(k)*first.u/cmplx.Abs(first.c))
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

// THD is total harmonic distortion.
type THD struct {
	// ToFundamental and ToTotal are the root sum of squares of the harmonics in
	// Contains as a ratio to the fundamental, as many makers state it, and to
	// fundamental and harmonics together, as IEC 60268-3 does (from memory).
	// NaN when Contains is empty.
	ToFundamental, ToTotal Figure
	// Bound is a ratio to the fundamental that the harmonics in Contains and
	// BelowFloor together do not exceed, in 95 cases of 100; NaN when both are
	// empty.
	Bound float64
	// Contains, BelowFloor and OutOfRange are the orders that were asked for.
	Contains, BelowFloor, OutOfRange []int
}

func (f *fitted) thd(o Options) THD {
	t := THD{ToFundamental: notKnown, ToTotal: notKnown, Bound: math.NaN()}
	fundamental := f.readings[0].amplitude()
	var known []Figure
	var below float64
	for k := 2; k <= o.Orders; k++ {
		switch r := f.order(k); {
		case r.frequency > o.Ceiling || math.IsNaN(r.u):
			t.OutOfRange = append(t.OutOfRange, k)
		case r.above():
			t.Contains = append(t.Contains, k)
			known = append(known, r.amplitude())
		default:
			t.BelowFloor = append(t.BelowFloor, k)
			below = math.Hypot(below, r.bound()/fundamental.Value)
		}
	}
	if len(known) > 0 {
		t.ToFundamental = rootSum(known).over(fundamental)
		t.ToTotal = t.ToFundamental.ofTotal()
	}
	switch {
	case len(known) > 0:
		t.Bound = math.Hypot(below, t.ToFundamental.Value+oneSided*t.ToFundamental.Uncertainty)
	case below > 0:
		t.Bound = below
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
	RMS, AWeighted Figure
	// Level and AWeightedLevel are the same in dB relative to the rms of a
	// full-scale sine, so that they compare with Result.Level.
	Level, AWeightedLevel Figure
}

func (f *fitted) noise(b response.Band) Noise {
	n := Noise{Band: b}
	n.RMS = rootOf(f.total(b))
	n.AWeighted = rootOf(f.residue.power(b, aWeighted))
	n.Level = n.RMS.over(Figure{Value: math.Sqrt2 / 2}).inDecibels()
	n.AWeightedLevel = n.AWeighted.over(Figure{Value: math.Sqrt2 / 2}).inDecibels()
	return n
}

// rootOf turns a power with its relative uncertainty into an rms.
func rootOf(power, relative float64) Figure {
	root := math.Sqrt(power)
	return Figure{root, root * relative / 2}
}

// disturbance is the rms of everything in the band but the fundamental.
func (f *fitted) disturbance(b response.Band) Figure {
	parts := []Figure{rootOf(f.total(b))}
	for _, r := range f.readings[1:] {
		if b.Contains(r.frequency) {
			parts = append(parts, Figure{cmplx.Abs(r.c) / math.Sqrt2, r.u / math.Sqrt2})
		}
	}
	return rootSum(parts)
}
