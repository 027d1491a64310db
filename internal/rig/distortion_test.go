//go:build !race

package rig

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"

	"example.com/earnest/internal/testing/race"
)

// The low-pass on both sides of the polynomial, summed term by term.
func TestOversamplersLowPass(t *testing.T) {
	taps := oversamplersLowPass()
	level := func(f float64) complex128 { // f in units of the lower sample rate
		var h complex128
		for i, v := range taps {
			h += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*f/4*float64(i-len(taps)/2))
		}
		return h
	}
	worst, least := 0.0, math.Inf(1)
	for f := 0.0; f <= passEdge; f += 0.0005 {
		worst = max(worst, math.Abs(dB(level(f))))
	}
	for f := stopEdge; f <= 2; f += 0.0005 {
		least = min(least, -dB(level(f)))
	}
	t.Logf("pass band flat to %.2g dB, stop band %.1f dB down", worst, least)
	assert.Less(t, worst, 1e-4, "dB; stated in the package's documentation")
	assert.Greater(t, least, 118.0, "dB; stated in the package's documentation")
}

// Between the samples are the samples of the sine, without its image.
func TestUpsamplerInterpolates(t *testing.T) {
	o := newOversampler()
	const n = oversampledBlock
	for _, f := range []float64{0.01, 0.1, 0.25, 0.4, 0.45} {
		slow, fast := make([]float64, n), make([]complex128, n)
		for i := range slow {
			slow[i] = math.Sin(2 * math.Pi * f * float64(i))
		}
		var worst float64
		for pair := range o.pairs {
			o.up(fast, o.real.Forward(nil, slow), pair)
			for i := lowPassK; i < n-lowPassK; i++ {
				at := float64(i) + float64(pair)/2
				worst = max(worst, math.Abs(real(fast[i])-math.Sin(2*math.Pi*f*at)),
					math.Abs(imag(fast[i])-math.Sin(2*math.Pi*f*(at+0.25))))
			}
		}
		assert.Less(t, worst, 1e-5, "f = %v Fs; ripple 1e-5 dB, three images at −118 dB", f)
	}
}

// NIST Digital Library of Mathematical Functions, section 4.21: the amplitudes
// of the harmonics of sin^k.
func TestHarmonicsArePowerReduction(t *testing.T) {
	identities := map[int]map[int]float64{
		2: {0: 1. / 2, 2: 1. / 2},
		3: {1: 3. / 4, 3: 1. / 4},
		4: {0: 3. / 8, 2: 1. / 2, 4: 1. / 8},
		5: {1: 5. / 8, 3: 5. / 16, 5: 1. / 16},
	}
	const amplitude, coefficient = 0.5, 0.1
	for power, want := range identities {
		for _, f := range []float64{40, 997, 4001} {
			t.Run(fmt.Sprintf("x^%d at %v Hz", power, f), func(t *testing.T) {
				var p Polynomial
				p[power-2] = coefficient
				x := tones(fs*3/2, amplitude, f)
				before := append([]float64(nil), x...)
				newOversampler().distort(x, p)
				for i := range x {
					x[i] -= before[i]
				}
				scale := coefficient * math.Pow(amplitude, float64(power))
				for order := 0; order <= 5; order++ {
					h := lastSecond(x, fs*5/4, float64(order)*f)
					if want[order] == 0 {
						assert.Less(t, dB(h/amplitude), -200.0, "order %d does not come about; rounding", order)
						continue
					}
					assert.InDelta(t, 20*math.Log10(scale*want[order]), dB(h), 1e-4, "order %d; stated in the package's documentation", order)
					stated := p.Harmonic(order, amplitude)
					if order == 1 {
						stated -= amplitude
					}
					assert.InDelta(t, 0, cmplx.Abs(h/stated-1), 1e-5, "order %d, phase and all", order)
				}
			})
		}
	}
}

// All 24001 bins of one second: only the harmonics have power.
func TestNothingFoldsBack(t *testing.T) {
	p := NewPolynomial(0, -30, -34, -38, -42)
	for _, f := range []float64{997, 5003, 7001, 9001, 12503, 15013, 19997, 21001} {
		t.Run(fmt.Sprint(f), func(t *testing.T) {
			x := tones(fs*3/2, 1, f)
			newOversampler().distort(x, p)
			spectrum := fourier.NewFFT(fs).Coefficients(nil, x[fs/4:fs/4+fs])
			for k, v := range spectrum {
				if math.Mod(float64(k), f) == 0 && float64(k) <= 5*f {
					continue
				}
				require.Less(t, dB(v*2/fs), -100.0, "at %d Hz, re the tone", k)
			}
		})
	}
}

func TestPolynomialFromLevels(t *testing.T) {
	p := NewPolynomial(-12, -60, -70, -90, -100)
	u := math.Pow(10, -12./20)
	for order, want := range map[int]float64{2: -60, 3: -70, 4: -90, 5: -100} {
		assert.InDelta(t, want, dB(p.Harmonic(order, u)/complex(u, 0)), 1e-9, "rounding")
	}
	none := math.Inf(-1)
	assert.Equal(t, Polynomial{}, NewPolynomial(-12, none, none, none, none))
	assert.Equal(t, complex128(0), p.Harmonic(6, u))
	assert.Panics(t, func() { p.Harmonic(-1, u) })
}

// The distortion between two filters, in a steady tone: the harmonics of the
// whole chain are the stated ones.
func TestHarmonicsThroughTheChain(t *testing.T) {
	race.Skip(t)
	h, _, r := Demonstration()
	r.Noise, r.Room, r.Hum, r.DC, r.Spill = Noise{}, Noise{}, Hum{}, 0, Spill{}
	amplitude := math.Pow(10, -12./20)
	for _, f := range []float64{40, 1000, 4300} {
		x := tones(3*fs, amplitude, f)
		through, direct := r.Through(h, 1, [][]float64{x, x}), r.Direct([][]float64{x, x})
		for _, side := range []Side{Left, Right} {
			for order := 1; order <= 5; order++ {
				at := float64(order) * f
				assert.InDelta(t, 0, dB(lastSecond(through[side], len(x), at)/r.Harmonic(h, side, 1, order, f, amplitude)),
					0.05, "%v Hz, order %d; the driver's products of the interface's harmonics", f, order)
			}
			for order := 1; order <= 3; order++ {
				at := float64(order) * f
				assert.InDelta(t, 0, dB(lastSecond(direct[side], len(x), at)/r.DirectHarmonic(order, f, amplitude)),
					0.002, "%v Hz, order %d; the windowed sinc", f, order)
			}
		}
		ratio := lastSecond(through[Left], len(x), f) / lastSecond(direct[Left], len(x), f)
		assert.InDelta(t, 0, dB(ratio/r.TruthAt(h, Left, 1, f, amplitude)), 0.005, "the high-pass settles")
		d, u := h.Left.Distortion, amplitude*cmplx.Abs(chain(fs, h.Left.Before).Response(f, fs))
		bound := (3*cmplx.Abs(d.Harmonic(3, u)) + 10*cmplx.Abs(d.Harmonic(5, u))) / u
		assert.LessOrEqual(t, cmplx.Abs(ratio/r.Truth(h, Left, 1, f)-1), 1.1*bound+5e-4, "the bound of Response, and the interface's share")
	}
	assert.True(t, cmplx.IsNaN(h.Harmonic(Left, 5, 4400, 0.1, fs)), "22 kHz is not known")
	assert.True(t, cmplx.IsNaN(r.DirectHarmonic(2, 11000, 0.1)), "22 kHz is not known")
	assert.True(t, cmplx.IsNaN(r.Harmonic(h, Left, 0, 2, 11000, 0.1)), "22 kHz is not known")
}

func TestResponseAtLevel(t *testing.T) {
	// 1 + 3 a3 u²/4 with a3 = 0.1 and u = 0.5.
	h := Headphones{Left: Driver{Distortion: Polynomial{0, 0.1}}}
	assert.InDelta(t, 1.01875, real(h.ResponseAt(Left, 1000, 0.5, fs)), 1e-12, "closed form")
	assert.InDelta(t, 1, cmplx.Abs(h.Response(Left, 1000, fs)), 1e-12, "small signals")
}

// Blocks of the oversampler join without a seam, for any length.
func TestDistortionHasNoSeams(t *testing.T) {
	p := Polynomial{0.2, 0.1, 0.05, 0.02}
	for _, n := range []int{1, 100, oversampledBlock - 4*lowPassK, 3*oversampledBlock + 17} {
		x := tones(n+4*fs/10, 0.5, 1500)[:n]
		clean := append([]float64(nil), x...)
		newOversampler().distort(x, p)
		for i := range x {
			// Away from the ends, where the tone is cut off, each harmonic lies
			// in the pass band and the polynomial holds sample by sample.
			if i > 3*lowPassK && i < n-3*lowPassK {
				require.InDelta(t, clean[i]+p.At(clean[i]), x[i], 1e-5, "sample %d of %d; the ringing at the ends of the cut signal", i, n)
			}
		}
	}
}

func TestSilenceStaysSilent(t *testing.T) {
	_, _, r := Demonstration()
	r.Noise, r.Room, r.Hum, r.DC = Noise{}, Noise{}, Hum{}, 0
	h, _, _ := Demonstration()
	silence := [][]float64{make([]float64, fs), make([]float64, fs)}
	for _, x := range r.Through(h, 0, silence) {
		assert.Zero(t, loudest(x))
	}
}
