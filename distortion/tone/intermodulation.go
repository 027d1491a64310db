package tone

import (
	"fmt"
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
)

// Intermodulation is what two tones make of each other, by the definition of the method that
// measured it.
type Intermodulation struct {
	// Lower and Upper are the tones as recorded, in dBFS: a full-scale sine is 0.
	Lower, Upper Component
	// Second and Third are the distortion of the second and the third order, and Total is both
	// together.
	Second, Third, Total ProductSum
}

// ProductSum is the distortion of one order, or of both together, in %: what the definition adds up,
// relative to its reference. Products below their floor are left out of the figure, and the bound
// contains them. Nothing is known if any product is not, as one above the maximum frequency, since
// the definition is then not met.
type ProductSum struct {
	distortion.Reading
	// Products that the definition adds up; levels in dB relative to its reference.
	Products []Product
}

// Product is a component at |M f₁ + N f₂| that two tones make of each other.
type Product struct {
	M, N int
	Component
}

// String names the product: "f2 − 2 f1".
func (p Product) String() string {
	term := func(k int, name string) string {
		if k == 1 {
			return name
		}
		return fmt.Sprintf("%d %s", k, name)
	}
	switch {
	case p.M < 0:
		return term(p.N, "f2") + " − " + term(-p.M, "f1")
	case p.N < 0:
		return term(p.M, "f1") + " − " + term(-p.N, "f2")
	}
	return term(p.N, "f2") + " + " + term(p.M, "f1")
}

// Modulation measures modulation distortion in the steady part of a recording of the two tones (see
// Steady): how far the lower tone modulates the upper one. By IEC 60268-3 (from memory) the
// modulation distortion of the second and the third order are the arithmetic sums of the amplitudes
// of a pair of products, relative to the upper tone as it comes out:
//
//	d₂ = (U(f₂−f₁) + U(f₂+f₁)) / U(f₂)
//	d₃ = (U(f₂−2f₁) + U(f₂+2f₁)) / U(f₂)
//
// SMPTE RP 120 (from memory) states one figure, the modulation of the upper tone's envelope, which
// is the total √(d₂² + d₃²) if higher orders do not matter. The total is over what is known of both.
//
// Of the configuration, only MaxFrequency is used. Errors: ErrAbsent, ErrTwoTones for a third tone,
// ErrTooShort, ErrNotFinite; the upper tone has to be at least eight times as high as the lower one,
// so that no harmonic of the lower one lies among the products.
func (t TwoTones) Modulation(x []float64, c Config) (Intermodulation, error) {
	if !(t.Upper >= 8*t.Lower) {
		return Intermodulation{}, fmt.Errorf("tone: modulation distortion of %v Hz and %v Hz; choose an upper tone at least eight times as high as the lower one", t.Lower, t.Upper)
	}
	f, err := t.takeApart(x, c)
	if err != nil {
		return Intermodulation{}, err
	}
	carrier := f.at(line{0, 1}).amplitude()
	out := f.tones()
	out.Second = f.sum(carrier, plainSum, line{-1, 1}, line{1, 1})
	out.Third = f.sum(carrier, plainSum, line{-2, 1}, line{2, 1})
	out.Total = out.Second.with(out.Third)
	return out, nil
}

// Difference measures difference-frequency distortion in the steady part of a recording of the two
// tones (see Steady): what two high tones make at the difference of their frequencies and beside
// them. By IEC 60268-3 (from memory) the distortion of the second and the third order, relative to
// the sum of the two tones as they come out, is
//
//	d₂ = U(f₂−f₁) / (U(f₁) + U(f₂))
//	d₃ = (U(2f₁−f₂) + U(2f₂−f₁)) / (U(f₁) + U(f₂))
//
// The total is the root sum of squares of all three products. With 19 kHz and 20 kHz they lie at
// 1 kHz, 18 kHz and 21 kHz: the last is above the range of many microphones, and the third order is
// then not known.
//
// Of the configuration, only MaxFrequency is used. Errors: ErrAbsent, ErrTwoTones for a third tone,
// ErrTooShort, ErrNotFinite; the upper tone may be at most a third higher than the lower one, so that
// the products do not overlap.
func (t TwoTones) Difference(x []float64, c Config) (Intermodulation, error) {
	if !(t.Upper <= 4./3*t.Lower) {
		return Intermodulation{}, fmt.Errorf("tone: difference-frequency distortion of %v Hz and %v Hz; choose an upper tone at most a third higher than the lower one", t.Lower, t.Upper)
	}
	f, err := t.takeApart(x, c)
	if err != nil {
		return Intermodulation{}, err
	}
	both := plainSum([]response.Figure{f.at(line{1, 0}).amplitude(), f.at(line{0, 1}).amplitude()})
	out := f.tones()
	out.Second = f.sum(both, plainSum, line{-1, 1})
	out.Third = f.sum(both, plainSum, line{2, -1}, line{-1, 2})
	out.Total = f.sum(both, rootSum, line{-1, 1}, line{2, -1}, line{-1, 2})
	return out, nil
}

func (f *fitted) tones() Intermodulation {
	return Intermodulation{Lower: f.at(line{1, 0}).tone(), Upper: f.at(line{0, 1}).tone()}
}

// sum adds up products by the rule of a definition.
func (f *fitted) sum(reference response.Figure, add func([]response.Figure) response.Figure, lines ...line) ProductSum {
	out := ProductSum{Reading: nothing("%")}
	var known, bounds, read, floors []response.Figure
	complete := true
	for _, l := range lines {
		r := f.at(l)
		p := Product{M: l.m, N: l.n, Component: r.component(reference, "dB", f.config.MaxFrequency)}
		out.Products = append(out.Products, p)
		complete = complete && p.Reason == ""
		read, floors = append(read, over(r.amplitude(), reference)), append(floors, ratio(r.floor()/reference.Value, 0))
		switch {
		case p.Known():
			known = append(known, over(r.amplitude(), reference))
		case p.Below:
			bounds = append(bounds, ratio(r.bound()/reference.Value, 0))
		}
	}
	if !complete {
		return out
	}
	out.AsRead, out.Floor, out.Below = 100*add(read).Value, 100*add(floors).Value, len(known) == 0
	if !out.Below {
		d := add(known)
		out.Figure = inPercent(d)
		bounds = append(bounds, ratio(d.Value+oneSided*d.Uncertainty, 0))
	}
	out.Bound = 100 * add(bounds).Value
	return out
}

// with is the root sum of squares of two orders. One that is below the floor adds to the bound alone;
// one that is not known leaves nothing known.
func (d ProductSum) with(e ProductSum) ProductSum {
	out := ProductSum{Reading: nothing("%"), Products: append(append([]Product{}, d.Products...), e.Products...)}
	if math.IsNaN(d.AsRead) || math.IsNaN(e.AsRead) {
		return out
	}
	out.AsRead, out.Floor, out.Bound = math.Hypot(d.AsRead, e.AsRead), math.Hypot(d.Floor, e.Floor), math.Hypot(d.Bound, e.Bound)
	var known []response.Figure
	for _, part := range []ProductSum{d, e} {
		if part.Known() {
			known = append(known, part.Figure)
		}
	}
	if out.Below = len(known) == 0; !out.Below {
		sum := rootSum(known)
		out.Figure = figure(sum.Value, sum.Uncertainty, "%")
	}
	return out
}
