package tone_test

import (
	"fmt"
	"math"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/response"
)

// Fourier series of the three classic waves: amplitude of harmonic k.
var waves = []struct {
	name     string
	harmonic func(k int) float64
	whole    float64 // THD of the infinite series relative to the fundamental
}{
	{"square", func(k int) float64 { return float64(k%2) * 4 / (math.Pi * float64(k)) }, math.Sqrt(math.Pi*math.Pi/8 - 1)},
	{"triangle", func(k int) float64 {
		return float64(k%2) * 8 / (math.Pi * math.Pi * float64(k*k)) * float64(2-k%4)
	}, math.Sqrt(math.Pow(math.Pi, 4)/96 - 1)},
	{"sawtooth", func(k int) float64 { return 2 / (math.Pi * float64(k)) }, math.Sqrt(math.Pi*math.Pi/6 - 1)},
}

// By closed form the three distort by 48.343 %, 12.115 % and 80.308 %.
func TestTHDOfBandLimitedWaves(t *testing.T) {
	race.Skip(t)
	assert.InDelta(t, 0.48343, waves[0].whole, 5e-6, "rounding of the printed figure")
	assert.InDelta(t, 0.12115, waves[1].whole, 5e-6, "rounding of the printed figure")
	assert.InDelta(t, 0.80308, waves[2].whole, 5e-6, "rounding of the printed figure")
	for _, wave := range waves {
		for _, f := range []float64{1000, 997.31, 201.7} {
			t.Run(fmt.Sprint(wave.name, " ", f), func(t *testing.T) {
				const fs = 48000
				var partials []partial
				var inside, beyond float64
				for k := 1; k < 200_000; k++ {
					square := math.Pow(wave.harmonic(k)/wave.harmonic(1), 2)
					switch {
					case float64(k)*f < fs/2-5:
						if wave.harmonic(k) != 0 {
							partials = append(partials, partial{float64(k) * f, 0.5 * wave.harmonic(k), float64(k) * 0.7})
						}
						if k > 1 {
							inside += square
						}
					default:
						beyond += square
					}
				}
				r, err := tone.Analyse(sum(fs, fs, partials...), fs, tone.Config{Orders: int(fs / 2 / f)})
				require.NoError(t, err)
				got := r.THD.Value / 100
				assert.InDelta(t, math.Sqrt(inside), got, 1e-7, "0.01 percentage point is required; the model fits exactly, so only rounding is left")
				assert.InDelta(t, math.Sqrt(inside/(1+inside)), r.THD.ReTotal().Value/100, 1e-7, "the same")
				assert.InDelta(t, wave.whole, math.Sqrt(got*got+beyond), 1e-5, "the missing harmonics, summed to 200 000")
				if wave.name != "sawtooth" {
					assert.True(t, r.Harmonics[0].Below, "even orders are not there, and nothing is reported as zero")
				}
			})
		}
	}
}

// A few orders of a wave with many: orders that are not fitted must not disturb.
func TestLowOrdersOfASquareWave(t *testing.T) {
	const fs, f = 48000, 997.31
	var partials []partial
	for k := 1; float64(k)*f < fs/2-5; k += 2 {
		partials = append(partials, partial{float64(k) * f, 0.5 / float64(k), 0})
	}
	for _, seconds := range []float64{0.05, 0.2, 1} {
		r, err := tone.Analyse(sum(int(seconds*fs), fs, partials...), fs, tone.Config{Orders: 5})
		require.NoError(t, err)
		assert.InDelta(t, dB(1./3), r.Harmonics[1].Value, 0.001, "Hann leakage of order 9, 100 bins from order 7, is −120 dB")
		assert.InDelta(t, dB(1./5), r.Harmonics[3].Value, 0.001, "the same")
		assert.InDelta(t, 997.31, r.Frequency.Value, 1e-3, "the same")
	}
}

// Eleven and a half periods of a sawtooth, with one harmonic asked for: the third is eleven bins
// away and 3.5 dB softer.
func TestFewPeriodsOfASawtooth(t *testing.T) {
	const fs, f = 48000, 997.31
	var partials []partial
	for k := 1; float64(k)*f < fs/2-5; k++ {
		partials = append(partials, partial{float64(k) * f, 0.5 / float64(k), 0.3 * float64(k*k)})
	}
	r, err := tone.Analyse(sum(550, fs, partials...), fs, tone.Config{Orders: 2})
	require.NoError(t, err)
	assert.InDelta(t, dB(0.5), r.Harmonics[0].Value, 0.0003, "order 5, the first that is not fitted, is 33 bins away: 1/(π 33³) of 0.4")
}

// Amplitudes and phases of the powers of a sine: NIST DLMF section 4.21. Phases
// are those of sines.
func TestPowersOfASineDLMF421(t *testing.T) {
	rows := []struct {
		name       string
		power      int
		first      float64
		amplitudes map[int]float64 // signed: negative is phase π
		phase      float64
	}{
		{"square", 2, 0, map[int]float64{2: -1. / 2}, math.Pi / 2},
		{"cube", 3, 3. / 4, map[int]float64{3: -1. / 4}, 0},
		{"fourth power", 4, 0, map[int]float64{2: -1. / 2, 4: 1. / 8}, math.Pi / 2},
		{"fifth power", 5, 5. / 8, map[int]float64{3: -5. / 16, 5: 1. / 16}, 0},
	}
	for _, row := range rows {
		for _, c := range []float64{0.3, 1e-3, 1e-5} {
			t.Run(fmt.Sprint(row.name, " ", c), func(t *testing.T) {
				polynomial := make([]float64, row.power+1)
				polynomial[1], polynomial[row.power] = 1, c
				x := through(sum(30011, 48000, partial{1001.7, 1, 0.4}), polynomial...)
				r, err := tone.Analyse(x, 48000, tone.Config{Orders: 6})
				require.NoError(t, err)
				fundamental := 1 + c*row.first
				assert.InDelta(t, dB(fundamental), r.Level.Value, 1e-9, "double precision")
				var power float64
				for _, h := range r.Harmonics {
					want, there := row.amplitudes[h.Order]
					if !there {
						assert.True(t, h.Below, "order %d", h.Order)
						assert.Less(t, h.Bound, -200.0, "order %d; rounding", h.Order)
						continue
					}
					power += math.Pow(c*want/fundamental, 2)
					assert.InDelta(t, dB(c*math.Abs(want)/fundamental), h.Value, 1e-6, "0.1 dB down to −100 dB is required; only rounding is left")
					phase := row.phase
					if want < 0 {
						phase -= math.Pi
					}
					assert.InDelta(t, 0, math.Sin((phase-h.Phase.Value)/2), 1e-6, "order %d: %v, not %v", h.Order, h.Phase.Value, phase)
				}
				assert.InDelta(t, 1, r.THD.Value/100/math.Sqrt(power), 1e-6, "the root sum of squares of the above")
			})
		}
	}
}

// 6.02 N + 1.76 dB for a full-scale sine, 4.77 dB less with triangular dither:
// Lipshitz, Wannamaker, Vanderkooy, J. Audio Eng. Soc. 40(5), 1992 (from memory).
func TestNoiseOfAQuantisedSine(t *testing.T) {
	const fs, n = 48000, 96000
	for _, bits := range []int{16, 24} {
		for _, f := range []float64{1000, 997.3, 61.7, 7123.4} {
			for _, dither := range []bool{true, false} {
				t.Run(fmt.Sprint(bits, " bits ", f, " Hz dither ", dither), func(t *testing.T) {
					if !dither && (f == 1000 || bits == 24 && f < 100) {
						t.Skip("the error repeats with the tone, or dwells on few steps: it is no noise")
					}
					amplitude := 1 - 3*math.Ldexp(1, 1-bits)
					x := quantised(sum(n, fs, partial{f, amplitude, 0.1}), bits, dither, 1)
					r, err := tone.Analyse(x, fs, tone.Config{Band: response.Band{High: fs / 2}})
					require.NoError(t, err)
					want := 20*math.Log10(2)*float64(bits) + 10*math.Log10(1.5)
					if dither {
						want -= 10 * math.Log10(3)
					}
					assert.InDelta(t, -want, dB(r.THDPlusN.Value/100), 0.1, "2√(2/N) of the power is 0.02 dB; the sine is 3 steps below full scale")
					assert.Empty(t, r.Findings)
				})
			}
		}
	}
}
