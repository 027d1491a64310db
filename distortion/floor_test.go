package distortion_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/sweep"
)

// quick is a sweep that is deconvolved in milliseconds, for many draws.
var quick = sweep.Config{Start: 50, Stop: 3000, SampleRate: 8000, Duration: time.Second, Level: -6}

func TestFloorPredictsTheMeanOfManyDraws(t *testing.T) {
	race.Skip(t)
	t.Parallel()
	pink := biquad.New(biquad.LowShelf, 300, 0.7, 15, 8000)
	for _, row := range []struct {
		name  string
		shape func(x []float64)
	}{
		{"white noise", func([]float64) {}},
		{"noise that falls with frequency", pink.Apply},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			s := newSweep(t, quick)
			d := deconvolver(t, s, 5)
			noise := func(seed uint64, n int) []float64 {
				x := make([]float64, n+2000)
				addNoise(x, seed, -70)
				row.shape(x)
				return x[2000:]
			}
			const draws = 100
			measured, predicted, readings := map[int]float64{}, map[int]float64{}, map[int]int{}
			for draw := range uint64(draws) {
				recording := withHarmonics(s)
				for i, v := range noise(draw, len(recording)) {
					recording[i] += v
				}
				sep, err := d.Separate(recording)
				require.NoError(t, err)
				hs, err := distortion.Harmonics(sep, distortion.Config{Silence: noise(1000+draw, 16000), PerOctave: 8})
				require.NoError(t, err)
				for _, o := range hs.Orders {
					for i, f := range hs.Fundamental {
						if octave := int(math.Floor(math.Log2(f / 100))); !math.IsNaN(o.AsRead[i]) {
							key := 100*o.N + octave + 10 // the lowest octave is −1
							readings[key]++
							measured[key] += math.Pow(10, o.AsRead[i]/10)
							predicted[key] += math.Pow(10, o.Floor[i]/10)
						}
					}
				}
			}
			require.Greater(t, len(measured), 12)
			for key := range measured {
				if readings[key] < 4*draws {
					continue // the rest of an octave at an end
				}
				ratio := 10 * math.Log10(measured[key]/predicted[key])
				// 400 independent readings know their mean to 0.2 dB, the silences theirs.
				assert.InDelta(t, 0, ratio, 0.5, "order %d, octave %d", key/100, key%100-10)
			}
		})
	}
}

func TestAveragedSweepsHaveALowerFloor(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	silence := make([]float64, 32000)
	addNoise(silence, 1, -70)
	sep := separate(t, s, 5, withHarmonics(s))
	once, err := distortion.Harmonics(sep, distortion.Config{Silence: silence})
	require.NoError(t, err)
	four, err := distortion.Harmonics(sep, distortion.Config{Silence: silence, Averages: 4})
	require.NoError(t, err)
	i := len(once.Fundamental) / 2
	assert.InDelta(t, 20*math.Log10(2), once.Orders[0].Floor[i]-four.Orders[0].Floor[i], 1e-9) // noise powers add
}

func TestDigitalSilenceIsNoFloor(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	hs, err := distortion.Harmonics(separate(t, s, 5, withHarmonics(s, harmonic{2, -60, 0})), distortion.Config{Silence: make([]float64, 16000)})
	require.NoError(t, err)
	fig := hs.Harmonic(2, 1000)
	assert.InDelta(t, -60, fig.AsRead, 0.1)
	assert.True(t, math.IsNaN(fig.Floor))
	assert.False(t, fig.Below)
	assert.False(t, fig.Known(), "the device's part is not known")
	assert.Equal(t, "not known, for the floor is not: −60.0 dB was read", fig.String())
	assert.True(t, math.IsInf(hs.THD(1000).AtMost(), 1), "nothing is ruled out")
}

// TestCoverageOfTheStatedUncertainty repeats a measurement 200 times with noise whose rms is 90 dB
// below the fundamental's. It counts how often the true level lies within the stated uncertainty.
func TestCoverageOfTheStatedUncertainty(t *testing.T) {
	long.Skip(t)
	t.Parallel()
	s := newSweep(t, quick)
	d := deconvolver(t, s, 3)
	truth := []harmonic{{2, -76, 1}, {3, -78, 2}}
	clean := withHarmonics(s, truth...)
	noise := rmsOfSine(s.Level()) - 90
	const repeats = 200
	inside, expanded, total := map[int]float64{}, map[int]float64{}, map[int]float64{}
	for r := range uint64(repeats) {
		recording := append([]float64{}, clean...)
		addNoise(recording, r, noise)
		silence := make([]float64, 16000)
		addNoise(silence, 5000+r, noise)
		sep, err := d.Separate(recording)
		require.NoError(t, err)
		hs, err := distortion.Harmonics(sep, distortion.Config{Silence: silence, PerOctave: 1})
		require.NoError(t, err)
		for k, o := range hs.Orders {
			for i, f := range hs.Fundamental {
				if f < 120 || f > 1500 {
					continue
				}
				require.Less(t, o.Uncertainty[i], 1.5, "order %d at %g Hz", o.N, f)
				off := math.Abs(o.AsRead[i] - truth[k].level)
				total[o.N]++
				if off <= o.Uncertainty[i] {
					inside[o.N]++
				}
				if off <= 2*o.Uncertainty[i] {
					expanded[o.N]++
				}
			}
		}
	}
	for n := range total {
		require.GreaterOrEqual(t, total[n], 3.0*repeats)
		// 68.3 % and 95.4 % of a normal distribution; three standard deviations
		// of the share of 600 are 5.7 % and 2.6 %.
		assert.InDelta(t, 0.683, inside[n]/total[n], 0.057, "order %d, k = 1", n)
		assert.InDelta(t, 0.954, expanded[n]/total[n], 0.03, "order %d, k = 2", n)
	}
}

func TestBoundHolds(t *testing.T) {
	race.Skip(t)
	t.Parallel()
	// Harmonics about as strong as the floor: the reading is below it, and the true level exceeds
	// its bound in fewer than 5 % of cases.
	s := newSweep(t, quick)
	d := deconvolver(t, s, 3)
	const level, noise = -75, -60
	clean := withHarmonics(s, harmonic{2, level, 1}, harmonic{3, level, 2})
	silence := make([]float64, 24000)
	addNoise(silence, 77, noise)
	var below, broken int
	for r := range uint64(100) {
		recording := append([]float64{}, clean...)
		addNoise(recording, r, noise)
		sep, err := d.Separate(recording)
		require.NoError(t, err)
		hs, err := distortion.Harmonics(sep, distortion.Config{Silence: silence, PerOctave: 1})
		require.NoError(t, err)
		for n := 2; n <= 3; n++ {
			for _, f := range []float64{125, 250, 500, 1000} {
				if fig := hs.Harmonic(n, f); fig.Below {
					below++
					if fig.Bound < level {
						broken++
					}
				}
			}
		}
	}
	require.Greater(t, below, 300)
	assert.Less(t, float64(broken)/float64(below), 0.05)
}

func TestFigureInWords(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	silence := make([]float64, 64000)
	addNoise(silence, 7, -70)
	hs, err := distortion.Harmonics(separate(t, s, 3, withHarmonics(s, harmonic{2, -40, 0})), distortion.Config{Silence: silence})
	require.NoError(t, err)
	second, third := hs.Harmonic(2, 500), hs.Harmonic(3, 500)
	assert.Equal(t, fmt.Sprintf("−40.0 dB with u = %.1f dB", second.Uncertainty), second.String())
	assert.True(t, second.Known())
	assert.True(t, third.Below, "the reading is below the floor, and so is the true value")
	assert.False(t, third.Known())
	// The recorded level is close to zero, so the bound is half the floor.
	assert.InDelta(t, third.Floor-20*math.Log10(2), third.Bound, 1e-9)
	assert.Equal(t, fmt.Sprintf("below the floor of this measurement, −%.1f dB (at most −%.1f dB)", -third.Floor, -third.Bound), third.String())
	assert.Equal(t, "not known", hs.Harmonic(3, 55).String(), "at the very start of the sweep")
	assert.PanicsWithValue(t, "distortion: harmonic 4 of a set that has the orders 2 to 3", func() { hs.Harmonic(4, 500) }, "an order that was not taken")
	assert.Panics(t, func() { hs.Harmonic(1, 500) })
	for _, f := range hs.Fundamental {
		assert.Equal(t, hs.Orders[1].Valid.Contains(f), hs.Harmonic(3, f).Below)
	}
}
