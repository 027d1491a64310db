package distortion_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/sweep"
)

func TestTotalHarmonicDistortion(t *testing.T) {
	t.Parallel()
	s := newSweep(t, sweep.Config{Duration: 3 * time.Second})
	// 3 % and 4 % make 5 %, relative to the total 5/√(100² + 5²) %.
	hs, err := distortion.Harmonics(separate(t, s, 3, withHarmonics(s,
		harmonic{2, 20 * math.Log10(0.03), 0}, harmonic{3, 20 * math.Log10(0.04), 0})), distortion.Config{Silence: quiet(48000)})
	require.NoError(t, err)
	for _, f := range []float64{100, 440, 1000, 5000} {
		assert.InDelta(t, 5, hs.THD(f).Value, 0.01, "at %g Hz", f) // 0.02 dB
		assert.InDelta(t, 100*0.05/math.Hypot(1, 0.05), hs.THD(f).ReTotal().Value, 0.01, "at %g Hz", f)
	}
	assert.InDelta(t, 3, hs.THD(9000).Value, 0.01, "the third is above the maximum frequency")
	assert.True(t, math.IsNaN(hs.THD(15000).Value), "both are")
	thd := hs.THD(1000)
	assert.Equal(t, "relative to the fundamental", thd.Relative.String())
	assert.Equal(t, "relative to the total", thd.ReTotal().Relative.String())
	assert.Equal(t, thd.ReTotal().Value, thd.ReTotal().ReTotal().Value)
}

// TestSquareWaveToTheEighthOrder uses a device that makes a square wave of a sine. It has 1/n of
// each odd harmonic (Fourier), and THD over the measured orders is the root of the sum of their
// squares.
func TestSquareWaveToTheEighthOrder(t *testing.T) {
	race.Skip(t)
	t.Parallel()
	s := newSweep(t, sweep.Config{Stop: 5000, Duration: 5 * time.Second, Level: -12})
	var square []harmonic
	for n := 3; n < 40; n += 2 {
		square = append(square, harmonic{n, -20 * math.Log10(float64(n)), 0})
	}
	hs, err := distortion.Harmonics(separate(t, s, 8, withHarmonics(s, square...)), distortion.Config{Silence: quiet(48000)})
	require.NoError(t, err)
	want := 100 * math.Sqrt(1./9+1./25+1./49)
	for _, f := range []float64{100, 1000, 2800} {
		assert.InDelta(t, want, hs.THD(f).Value, 0.05, "at %g Hz", f) // 0.01 dB of 39 %
	}
	assert.InDelta(t, 100*math.Sqrt(1./9+1./25), hs.THD(3500).Value, 0.05, "the seventh is above the maximum frequency")
}

func TestUncertaintyOfTHD(t *testing.T) {
	long.Skip(t)
	t.Parallel()
	s := newSweep(t, quick)
	d := deconvolver(t, s, 3)
	clean := withHarmonics(s, harmonic{2, -60, 1}, harmonic{3, -66, 2})
	truth := 20 * math.Log10(math.Hypot(1e-3, math.Pow(10, -66./20)))
	silence := make([]float64, 16000)
	addNoise(silence, 77, -75)
	var inside, total float64
	for r := range uint64(150) {
		recording := append([]float64{}, clean...)
		addNoise(recording, r, -75)
		sep, err := d.Separate(recording)
		require.NoError(t, err)
		hs, err := distortion.Harmonics(sep, distortion.Config{Silence: silence, PerOctave: 1})
		require.NoError(t, err)
		for _, f := range []float64{125, 250, 500, 1000} {
			fig := hs.THD(f)
			require.False(t, fig.Below)
			total++
			if math.Abs(20*math.Log10(fig.AsRead/100)-truth) <= 20/math.Ln10*fig.Uncertainty/fig.Value {
				inside++
			}
		}
	}
	assert.InDelta(t, 0.683, inside/total, 0.057) // three standard deviations of the share of 600
}

// Two seatings of 0.10 and 0.12 %: their mean, and s/√n = 0.02/√2/√2 %.
func TestMeanOfSeatings(t *testing.T) {
	t.Parallel()
	at := func(percent, floor float64) distortion.THD {
		hs := &distortion.HarmonicSet{Fundamental: []float64{1000}}
		level := func(percent float64) []float64 { return []float64{20 * math.Log10(percent/100)} }
		hs.Orders = []distortion.Order{{N: 2, Readings: distortion.Readings{
			Fundamental: hs.Fundamental, AsRead: level(percent), Floor: level(floor), Uncertainty: []float64{0.1},
		}}}
		return hs.THD(1000)
	}
	nothing := distortion.MeanTHD()
	assert.False(t, nothing.Known())
	assert.True(t, math.IsNaN(nothing.AsRead) && math.IsNaN(nothing.Bound) && math.IsNaN(nothing.Level))
	one := at(0.1, 0.001)
	assert.Equal(t, fmt.Sprint(one), fmt.Sprint(distortion.MeanTHD(nothing, one)), "a seating in which nothing was read is left out")

	two := distortion.MeanTHD(one, at(0.12, 0.001))
	assert.InDelta(t, 0.11, two.Value, 1e-5, "%; the floor's power is subtracted")
	assert.InDelta(t, 0.01, two.Uncertainty, 1e-6, "%; the floor's power is subtracted")
	assert.Equal(t, 1.0, two.DegreesOfFreedom)
	assert.InDelta(t, 0.11+6.3138*0.01, two.Bound, 1e-5, "the one-sided 95 % point of Student's t with one degree, of any table")

	level := func(percent float64) distortion.Reading {
		return distortion.NewReading(20*math.Log10(percent/100), -120, "dB", distortion.Noise{Degrees: 2})
	}
	inDecibels := distortion.Mean(level(0.1), level(0.12))
	assert.InDelta(t, 20*math.Log10(0.0011), inDecibels.Value, 1e-4, "dB; of the mean amplitude")
	assert.InDelta(t, 20/math.Ln10*0.01/0.11, inDecibels.Uncertainty, 1e-3, "dB; to first order (JCGM 100:2008, 5.1.2)")
	assert.Equal(t, 1.0, inDecibels.Percent().DegreesOfFreedom)
	assert.InDelta(t, 0.01, inDecibels.Percent().Uncertainty, 1e-4)

	hidden := distortion.MeanTHD(one, at(0.12, 0.09))
	assert.True(t, hidden.Below, "one seating is not above its floor")
	assert.False(t, hidden.Known())
	assert.InDelta(t, math.Sqrt((0.01+0.0144)/2), hidden.AsRead, 1e-12, "%; rounding")
	assert.InDelta(t, math.Sqrt((1e-6+0.0081)/2), hidden.Floor, 1e-12)
	assert.Greater(t, hidden.Bound, hidden.AsRead)
	unknown := at(0.12, 0.001)
	unknown.Reading = distortion.NewReading(0.12, math.NaN(), "%", distortion.Noise{Degrees: 2})
	assert.False(t, distortion.MeanTHD(one, unknown).Known(), "the floor of one seating is not known")
}

func TestTHDInWords(t *testing.T) {
	t.Parallel()
	assert.Equal(t, "not known at 0 Hz and 0 dB SPL", distortion.THD{}.String(), "the zero value is not known")
	assert.Equal(t, "at most 0.3 % at 1 kHz and 94 dB SPL", distortion.THD{Frequency: 1000, Level: 94, Reading: distortion.Reading{Below: true, Bound: 0.3}}.String())
	assert.Equal(t, "below the floor of this measurement at 1 kHz and a level that is not known",
		distortion.THD{Frequency: 1000, Level: math.NaN(), Reading: distortion.Reading{Below: true, Bound: math.NaN()}}.String())
}
