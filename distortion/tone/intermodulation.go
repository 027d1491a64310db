package tone

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
)

// Intermodulation is the intermodulation of two tones, by the definition of the method that
// measured it.
type Intermodulation struct {
	// Lower and Upper are the tones as recorded, in dBFS: a full-scale sine is 0.
	Lower, Upper Component
	// Second and Third are the distortion of the second and the third order, and Total is both
	// together.
	Second, Third, Total ProductSum
}

// Modulation measures modulation distortion in the steady part of a recording of two tones, whose
// frequencies are in Hz: how far the lower tone modulates the upper one. By IEC 60268-3 (from
// memory) the modulation distortion of the second and the third order are the arithmetic sums of
// the amplitudes of a pair of products, relative to the upper tone at the output:
//
//	d₂ = (U(f₂−f₁) + U(f₂+f₁)) / U(f₂)
//	d₃ = (U(f₂−2f₁) + U(f₂+2f₁)) / U(f₂)
//
// SMPTE RP 120 (from memory) states one figure, the modulation of the upper tone's envelope, which
// is the total √(d₂² + d₃²) if higher orders do not matter.
//
// Of the configuration, MaxFrequency and Correction are used. Errors: ErrAbsent, ErrTwoTones for a
// third tone, ErrTooShort, ErrNotFinite. The upper tone has to be at least eight times as high as
// the lower one, so that no harmonic of the lower one lies among the products.
func Modulation(x []float64, sampleRate int, lower, upper float64, c Config) (Intermodulation, error) {
	if !(upper >= 8*lower) {
		return Intermodulation{}, fmt.Errorf("tone: modulation distortion of %v Hz and %v Hz; "+
			"choose an upper tone at least eight times as high as the lower one", lower, upper)
	}
	f, err := takeApart(x, sampleRate, lower, upper, c)
	if err != nil {
		return Intermodulation{}, err
	}
	carrier := f.at(line{0, 1}).amplitude()
	out := f.tones()
	out.Second = f.sum(carrier, line{-1, 1}, line{1, 1})
	out.Third = f.sum(carrier, line{-2, 1}, line{2, 1})
	out.Total = out.Second.with(out.Third)
	return out, nil
}

// Difference measures difference-frequency distortion in the steady part of a recording of two
// tones, whose frequencies are in Hz: the products of two high tones at the difference of their
// frequencies and beside them. By IEC 60268-3 (from memory) the distortion of the second and the
// third order, relative to the sum of the two tones at the output, is
//
//	d₂ = U(f₂−f₁) / (U(f₁) + U(f₂))
//	d₃ = (U(2f₁−f₂) + U(2f₂−f₁)) / (U(f₁) + U(f₂))
//
// The total is the root sum of squares of all three products. With 19 kHz and 20 kHz they lie at 1
// kHz, 18 kHz and 21 kHz: the last is above the range of many microphones, and the third order is
// then not known.
//
// Of the configuration, MaxFrequency and Correction are used. Errors: ErrAbsent, ErrTwoTones for a
// third tone, ErrTooShort, ErrNotFinite. The upper tone may be at most a third higher than the
// lower one, so that the products do not overlap.
func Difference(x []float64, sampleRate int, lower, upper float64, c Config) (Intermodulation, error) {
	if !(upper <= 4./3*lower) {
		return Intermodulation{}, fmt.Errorf("tone: difference-frequency distortion of %v Hz and %v Hz; "+
			"choose an upper tone at most a third higher than the lower one", lower, upper)
	}
	f, err := takeApart(x, sampleRate, lower, upper, c)
	if err != nil {
		return Intermodulation{}, err
	}
	a, b := f.at(line{1, 0}).amplitude(), f.at(line{0, 1}).amplitude()
	both := ratio(a.Value+b.Value, math.Hypot(a.Uncertainty, b.Uncertainty))
	out := f.tones()
	out.Second = f.sum(both, line{-1, 1})
	out.Third = f.sum(both, line{2, -1}, line{-1, 2})
	out.Total = out.Second.with(f.sum(both, line{2, -1})).with(f.sum(both, line{-1, 2}))
	return out, nil
}

// ProductSum is the distortion of one order, or of both together, in %: the sum by the definition,
// relative to its reference. It is not known if one product has no reading, for example above the
// maximum frequency, since the definition needs all.
type ProductSum struct {
	distortion.Reading
	// Products are those that the definition adds up; levels are in dB relative to its reference.
	Products []Product
}

// with returns the root sum of squares of two orders.
func (d ProductSum) with(e ProductSum) ProductSum {
	return ProductSum{Reading: distortion.Sum(d.Reading, e.Reading), Products: slices.Concat(d.Products, e.Products)}
}

// Product is a component at |M f₁ + N f₂| from the intermodulation of two tones.
type Product struct {
	M, N int
	Component
}

// String returns the name of the product: "f2 − 2 f1".
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

func (f *fitted) tones() Intermodulation {
	return Intermodulation{Lower: f.asRecorded(line{1, 0}), Upper: f.asRecorded(line{0, 1})}
}

// asRecorded returns a tone in dBFS, without correction for the microphone.
func (f *fitted) asRecorded(l line) Component { return f.readings[slices.Index(f.lines, l)].tone() }

// sum adds up the amplitudes of products, relative to a reference.
//
// The sum S of amplitudes in noise is no root sum of squares, but S² is distributed nearly as the
// power of a Reading. Noise alone gives it the mean
//
//	N² = Σ Nᵢ² + π/4 Σ Nᵢ Nⱼ,  i ≠ j,
//
// since the mean of each amplitude is √π/2 of its rms. Far above the noise S has the variance Σ
// Nᵢ²/2, that of a Reading with 2 N²/Σ Nᵢ² degrees of freedom. This holds for products that are
// about equally strong, as in amplitude modulation.
func (f *fitted) sum(reference response.Figure, lines ...line) ProductSum {
	out := ProductSum{Reading: nothing("%")}
	var read, floor, square float64
	n := distortion.Noise{Known: math.Inf(1), Reference: reference.Uncertainty / reference.Value}
	complete := true
	for _, l := range lines {
		r := f.at(l)
		p := Product{M: l.m, N: l.n, Component: r.component(reference, "dB", f.config.MaxFrequency)}
		out.Products = append(out.Products, p)
		complete = complete && p.Reason == ""
		read += cmplx.Abs(r.c)
		floor += r.floor()
		square += r.floor() * r.floor()
		n.Known = min(n.Known, r.known)
	}
	if complete {
		power := square + math.Pi/4*(floor*floor-square)
		n.Degrees = 2 * power / square
		percent := 100 / reference.Value
		out.Reading = distortion.NewReading(percent*read, percent*math.Sqrt(power), "%", n)
	}
	return out
}
