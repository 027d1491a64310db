package tone_test

import (
	"fmt"
	"math"
	"testing"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
)

// For x = a sin α + b sin β the product a b (cos(β−α) − cos(β+α)) of x² and the
// product ¾ a² b of x³ at β ± 2α are identities; so are the fundamentals of x³,
// ¾ a³ + 3/2 a b² and ¾ b³ + 3/2 a² b.
func TestModulationDistortionByClosedForm(t *testing.T) {
	race.Skip(t)
	// The pairs of SMPTE RP 120 and IEC 60268-3 (from memory), at 4:1.
	for _, pair := range [][2]float64{{60, 7000}, {250, 8000}} {
		for _, ppm := range []float64{0, 80} {
			for _, c := range [][2]float64{{0.02, 0.01}, {1e-4, 3e-5}} {
				t.Run(fmt.Sprint(pair, " ", ppm, " ppm ", c), func(t *testing.T) {
					const fs, a, b = 48000, 0.6, 0.15
					clock := 1 + ppm*1e-6
					x := sum(2*fs, fs, partial{pair[0] * clock, a, 0.3}, partial{pair[1] * clock, b, 1})
					r, err := tone.Modulation(through(x, 0, 1, c[0], c[1]), fs, pair[0], pair[1], tone.Config{})
					require.NoError(t, err)
					upper := b + c[1]*(0.75*b*b*b+1.5*a*a*b)
					second, third := 2*c[0]*a*b/upper, 2*0.75*c[1]*a*a*b/upper
					assert.InDelta(t, pair[0]*clock, r.Lower.Frequency, 1e-6, "double precision")
					assert.InDelta(t, dB(a+c[1]*(0.75*a*a*a+1.5*a*b*b)), r.Lower.Value, 1e-7, "double precision")
					assert.InDelta(t, dB(upper), r.Upper.Value, 1e-7, "double precision")
					assert.InDelta(t, 1, r.Second.Value/100/second, 1e-6, "double precision")
					assert.InDelta(t, 1, r.Third.Value/100/third, 1e-6, "double precision")
					assert.InDelta(t, 1, r.Total.Value/100/math.Hypot(second, third), 1e-6, "double precision")
					require.Len(t, r.Second.Products, 2)
					assert.Equal(t, "f2 − f1", r.Second.Products[0].String())
					assert.Equal(t, "f2 + 2 f1", r.Third.Products[1].String())
					assert.InDelta(t, dB(c[0]*a*b/upper), r.Second.Products[0].Value, 1e-5, "half of it on each side")
					assert.Len(t, r.Total.Products, 4)
				})
			}
		}
	}
}

func TestDifferenceFrequencyDistortionByClosedForm(t *testing.T) {
	race.Skip(t)
	// At 192 kHz no product of the second and third order folds back.
	const fs, a, b = 192000, 0.45, 0.4
	for _, ppm := range []float64{0, -60} {
		for _, c := range [][2]float64{{0.05, 0.03}, {1e-4, 1e-5}} {
			clock := 1 + ppm*1e-6
			x := through(sum(fs/4, fs, partial{19000 * clock, a, 0.3}, partial{20000 * clock, b, 1}), 0, 1, c[0], c[1])
			r, err := tone.Difference(x, fs, 19000, 20000, tone.Config{})
			require.NoError(t, err)
			lower, upper := a+c[1]*(0.75*a*a*a+1.5*a*b*b), b+c[1]*(0.75*b*b*b+1.5*a*a*b)
			second, below, above := c[0]*a*b/(lower+upper), 0.75*c[1]*a*a*b/(lower+upper), 0.75*c[1]*a*b*b/(lower+upper)
			assert.InDelta(t, 1, r.Second.Value/100/second, 1e-6, "double precision")
			assert.InDelta(t, 1, r.Third.Value/100/(below+above), 1e-6, "double precision")
			assert.InDelta(t, 1, r.Total.Value/100/math.Sqrt(second*second+below*below+above*above), 1e-6, "double precision")
			assert.Equal(t, "2 f1 − f2", r.Third.Products[0].String())
			assert.InDelta(t, 18000*clock, r.Third.Products[0].Frequency, 1e-5, "double precision")

			r, err = tone.Difference(x, fs, 19000, 20000, tone.Config{MaxFrequency: 20500})
			require.NoError(t, err)
			assert.True(t, r.Second.Known())
			assert.False(t, r.Third.Known(), "the definition needs 21 kHz, which is above the range of this microphone")
			assert.True(t, math.IsNaN(r.Third.Bound))
			assert.True(t, r.Third.Products[0].Known())
			assert.Equal(t, "above the maximum frequency", r.Third.Products[1].Reason)
		}
	}
}

// The uncertainty and the bound, by 100 repeats.
func TestTwoToneUncertaintiesCover(t *testing.T) {
	long.Skip(t)
	const fs, repeats = 48000, 100
	one, two, bounded := 0, 0, 0
	for seed := range uint64(repeats) {
		x := sum(fs/8, fs, partial{250.01, 0.6, 0}, partial{8000.3, 0.15, 1}, partial{8250.31, 1.5e-4, 0.01 * float64(seed)}, partial{7750.29, 1.5e-4, 2})
		r, err := tone.Modulation(noisy(x, 3e-4, seed), fs, 250, 8000, tone.Config{})
		require.NoError(t, err)
		e := math.Abs(r.Second.Value/100-2e-3) / (r.Second.Uncertainty / 100)
		if e <= 1 {
			one++
		}
		if e <= 2 {
			two++
		}
		if r.Third.Bound/100 > 0 {
			bounded++
		}
	}
	assert.InDelta(t, 0.683, float64(one)/repeats, 0.19, "four standard deviations of 100 trials")
	assert.InDelta(t, 0.954, float64(two)/repeats, 0.085, "the same")
	assert.Equal(t, repeats, bounded, "what is below the floor has a bound, never zero")
}

func TestTwoToneRefusals(t *testing.T) {
	const fs = 48000
	upper, lower := partial{7000, 0.1, 0}, partial{60, 0.4, 0}
	rows := []struct {
		name  string
		x     []float64
		is    error
		words string
	}{
		{"no upper tone", sum(fs, fs, lower), tone.ErrAbsent, "no tone stands out at 7 kHz; the strongest thing there is 60 Hz"},
		{"no lower tone", sum(fs, fs, upper), tone.ErrAbsent, "no tone stands out at 60 Hz; the strongest thing there is 7 kHz"},
		{"three tones", sum(fs, fs, lower, upper, partial{1234, 0.1, 0}), tone.ErrTwoTones, "1.23 kHz at -12.0 dB"},
		{"nine periods", sum(fs*9/60, fs, lower, upper), tone.ErrTooShort, "at least 0.167 s"},
		{"silence", make([]float64, fs), tone.ErrAbsent, "60 Hz"},
	}
	for _, row := range rows {
		_, err := tone.Modulation(noisy(row.x, 1e-5, 1), fs, 60, 7000, tone.Config{})
		require.ErrorIs(t, err, row.is, row.name)
		assert.ErrorContains(t, err, row.words, row.name)
	}
	x := sum(fs, fs, lower, upper)
	_, err := tone.Difference(x, fs, 60, 7000, tone.Config{})
	assert.ErrorContains(t, err, "at most a third higher")
	_, err = tone.Modulation(x, fs, 19000, 20000, tone.Config{})
	assert.ErrorContains(t, err, "at least eight times")
	for _, pair := range [][2]float64{{0, 0}, {-1, 60}, {100, 30000}, {math.NaN(), 100}, {100, math.Inf(1)}} {
		_, err := tone.Modulation(x, fs, pair[0], pair[1], tone.Config{})
		assert.ErrorContains(t, err, "tone: ", "%v", pair)
	}
}
