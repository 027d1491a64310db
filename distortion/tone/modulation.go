package tone

import (
	"fmt"
	"math"
)

// Modulation is how far the lower of two tones modulates the upper one.
//
// By IEC 60268-3 (from memory) the modulation distortion of the second and the
// third order are the arithmetic sums of the amplitudes of a pair of products,
// relative to the upper tone as it comes out:
//
//	d₂ = (U(f₂−f₁) + U(f₂+f₁)) / U(f₂)
//	d₃ = (U(f₂−2f₁) + U(f₂+2f₁)) / U(f₂)
//
// SMPTE RP 120 (from memory) states one figure, the modulation of the upper
// tone's envelope, which is √(d₂² + d₃²) where higher orders do not matter.
type Modulation struct {
	Lower, Upper TonePart
	Second       Intermodulation
	Third        Intermodulation
	// Total is √(d₂² + d₃²), over what is known of both.
	Total Intermodulation
}

// TonePart is one of the two tones as recorded.
type TonePart struct {
	Frequency float64 // Hz, by the clock of the recorder
	Level     Figure  // dBFS: a full-scale sine is 0
}

// Modulation measures modulation distortion in the steady part of a recording
// of the two tones: see Steady. Of the options, only Ceiling is used.
//
// Errors: ErrAbsent, ErrTwoTones for a third tone, ErrTooShort, ErrNotFinite; the
// upper tone has to be at least eight times as high as the lower one, so that
// no harmonic of that lies among the products.
func (t TwoTones) Modulation(x []float64, o Options) (Modulation, error) {
	if !(t.Upper >= 8*t.Lower) {
		return Modulation{}, fmt.Errorf("tone: modulation distortion of %v Hz and %v Hz; choose an upper tone at least eight times as high as the lower one", t.Lower, t.Upper)
	}
	f, err := t.takeApart(x, o)
	if err != nil {
		return Modulation{}, err
	}
	lower, upper := f.parts()
	carrier := f.at(line{0, 1}).amplitude()
	m := Modulation{Lower: lower, Upper: upper,
		Second: f.intermodulation(carrier, plainSum, line{-1, 1}, line{1, 1}),
		Third:  f.intermodulation(carrier, plainSum, line{-2, 1}, line{2, 1}),
	}
	m.Total = m.Second.with(m.Third)
	return m, nil
}

// with is the root sum of squares of two orders. One that is wholly below the
// floor adds to the bound alone; one that is not known leaves nothing known.
func (d Intermodulation) with(e Intermodulation) Intermodulation {
	sum := Intermodulation{Ratio: notKnown, Bound: math.Hypot(d.Bound, e.Bound)}
	sum.Products = append(append(sum.Products, d.Products...), e.Products...)
	if math.IsNaN(sum.Bound) {
		return sum
	}
	var known []Figure
	for _, part := range []Intermodulation{d, e} {
		if part.Ratio.Known() {
			known = append(known, part.Ratio)
		}
	}
	if len(known) > 0 {
		sum.Ratio = rootSum(known)
	}
	return sum
}

func (x *mixed) parts() (lower, upper TonePart) {
	part := func(l line) TonePart {
		r := x.at(l)
		return TonePart{Frequency: r.frequency, Level: r.amplitude().inDecibels()}
	}
	return part(line{1, 0}), part(line{0, 1})
}
