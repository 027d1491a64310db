package level_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// cup is the loss of a simulated cup: 3 dB in the bass, rising by 6 dB per octave above 300 Hz.
func cup(f float64) float64 { return 3 + 10*math.Log10(1+math.Pow(f/300, 2)) }

func covered(x []float64) []float64 {
	return through(x, func(f float64) complex128 { return complex(math.Pow(10, -cup(f)/20), 0) })
}

// The loss of the simulated cup, by its formula at the centre of each third; its slope across a
// third makes 0.1 dB.
func TestInsertionLossOfAKnownCup(t *testing.T) {
	got, err := level.InsertionLoss(level.NoiseRecordings{
		SampleRate: rate,
		Open:       noise(1, 0.1, 20), Covered: covered(noise(2, 0.1, 20)), Background: noise(3, 1e-5, 20),
	})
	require.NoError(t, err)
	require.Len(t, got.Bands, 24, "50 Hz to 10 kHz, IEC 61260-1")
	assert.Empty(t, got.Findings)
	var score float64
	for i, b := range got.Bands {
		require.Empty(t, got.Reason[i], "%v Hz", b.Nominal)
		off, u := got.Curve.Level[i]-cup(b.Centre), got.Curve.Uncertainty[i]
		// Two means of gamma-distributed power: √2 · 4.343/√(B T).
		assert.InEpsilon(t, math.Sqrt2*4.343/math.Sqrt((b.High-b.Low)*20), u, 0.45, "%v Hz; the scatter of 39 segments is known to 12 %% each, and Hann widens", b.Nominal)
		assert.Less(t, math.Abs(off), 4*u+0.1, "%v Hz", b.Nominal)
		freedom := got.Curve.Figure(got.Curve.Frequency[i]).DegreesOfFreedom
		assert.True(t, 38 <= freedom && freedom <= 76+1e-9, "%v Hz: 39 segments of each, by Welch and Satterthwaite; it is %v", b.Nominal, freedom)
		score += off * off / (u*u + 0.1*0.1/3)
	}
	assert.InDelta(t, 1, score/24, 0.87, "χ² of 24 bands per degree of freedom, three of its standard deviations √(2/24)")
	assert.Equal(t, "level under the cup", got.Curve.Reference)
}

func TestInsertionLossBesideBackground(t *testing.T) {
	open, under := noise(1, 0.1, 8), noise(2, 0.1, 8)
	background := func(db float64) []float64 { return noise(3, 0.1*amplitude(db), 8) }
	t.Run("its power is subtracted", func(t *testing.T) { // 12 dB below the noise: 0.27 dB would remain
		got, err := level.InsertionLoss(level.NoiseRecordings{SampleRate: rate, Open: open, Covered: sum(under, noise(9, 0.1*amplitude(-12), 8)), Background: background(-12), OpenBackground: background(-80)})
		require.NoError(t, err)
		assert.InDelta(t, 0, got.Curve.At(10000), 0.1, "three times 0.03 dB")
	})
	t.Run("within 10 dB it is not known and says why", func(t *testing.T) {
		r := level.NoiseRecordings{SampleRate: rate, Open: open, Covered: under, Background: background(-8), OpenBackground: background(-40)}
		got, err := level.InsertionLoss(r)
		require.NoError(t, err)
		assert.True(t, math.IsNaN(got.Curve.At(1000)))
		assert.True(t, math.IsNaN(got.Curve.UncertaintyAt(1000)))
		assert.Contains(t, got.Reason[13], "under the cup: 8.")
		r.Margin = 6
		got, err = level.InsertionLoss(r)
		require.NoError(t, err)
		assert.InDelta(t, 10*math.Log10(1/(1-math.Pow(10, -0.8))), got.Curve.At(10000), 0.1, "8 dB corrected for: the background was not in the recording")
	})
	t.Run("a background that was not recorded is a finding", func(t *testing.T) {
		got, err := level.InsertionLoss(level.NoiseRecordings{SampleRate: rate, Open: open, Covered: under})
		require.NoError(t, err)
		assert.Contains(t, got.Findings[0].What, "lower bound")
	})
}

func TestIsolationThatCannotBeMeasured(t *testing.T) {
	x := noise(1, 0.1, 5)
	for _, c := range []struct {
		name string
		r    level.NoiseRecordings
		want error
		says string
	}{
		{"no sound under the cup", level.NoiseRecordings{SampleRate: rate, Open: x}, level.ErrNoSignal, "under the cup"},
		{"silence", level.NoiseRecordings{SampleRate: rate, Open: x, Covered: make([]float64, 5*rate)}, level.ErrNoSignal, "under the cup: no signal: the recording is silent"},
		{"too short", level.NoiseRecordings{SampleRate: rate, Open: x[:rate], Covered: x}, level.ErrNoSignal, "1.0 s recorded"},
		{"margin of 3 dB", level.NoiseRecordings{SampleRate: rate, Open: x, Covered: x, Margin: 3}, level.ErrInput, "less than 6 dB"},
		{"bands beyond the recording", level.NoiseRecordings{SampleRate: rate, Open: x, Covered: x, Band: response.Band{High: 23000}}, level.ErrInput, "21600 Hz"},
		{"bands the wrong way round", level.NoiseRecordings{SampleRate: rate, Open: x, Covered: x, Band: response.Band{Low: 3000, High: 200}}, level.ErrInput, "low before high"},
		{"no sample rate", level.NoiseRecordings{Open: x, Covered: x}, level.ErrInput, "sample rate"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := level.InsertionLoss(c.r)
			require.ErrorIs(t, err, c.want)
			assert.ErrorContains(t, err, c.says)
		})
	}
}

// White noise of rms 1e-4 is 40 dB SPL here; a third round 1 kHz has 230.8 of its 24000 Hz, 20.2 dB
// less.
func TestSoundLeakage(t *testing.T) {
	r := level.SoundLeakageRecordings{
		SampleRate: rate, Sensitivity: fullScale, Distance: response.Figure{Value: 0.3, Uncertainty: 0.01, Unit: level.Metre},
		Beside: noise(1, 1e-4, 10), Background: noise(2, 1e-6, 10),
	}
	s, err := level.MeasureSoundLeakage(r)
	require.NoError(t, err)
	assert.InDelta(t, 40+10*math.Log10(230.77/24000), s.Curve.At(1000), 0.35, "three times the scatter of a band")
	assert.InDelta(t, math.Hypot(0.3, 4.343/math.Sqrt(230.8*10)), s.Curve.UncertaintyAt(1000), 0.02, "calibrator and scatter")
	assert.Equal(t, "20 µPa", s.Curve.Reference)
	assert.Zero(t, s.Unknown, "every band is known")
	t.Run("A-weighted", func(t *testing.T) { // the mean square of white noise by band, weighted by the table of IEC 61672-1 at thirds, 50 Hz … 10 kHz
		weights := []float64{-30.2, -26.2, -22.5, -19.1, -16.1, -13.4, -10.9, -8.6, -6.6, -4.8, -3.2, -1.9, -0.8, 0, 0.6, 1.0, 1.2, 1.3, 1.2, 1.0, 0.5, -0.1, -1.1, -2.5}
		var power float64
		for i, b := range s.Bands {
			power += (b.High - b.Low) / 24000 * math.Pow(10, weights[i]/10)
		}
		assert.InDelta(t, 40+10*math.Log10(power), s.A.Value, 0.06, "one decimal of the table")
		assert.InDelta(t, 0.3, s.A.Uncertainty, 0.01, "the calibrator's")
	})
	t.Run("in a noisy room it is not known", func(t *testing.T) {
		r := r
		r.Background = noise(2, 5e-5, 10)
		s, err := level.MeasureSoundLeakage(r)
		require.NoError(t, err)
		assert.False(t, s.A.Known())
		assert.True(t, strings.HasPrefix(s.Reason[13], "beside the headphones: 6."), s.Reason[13])
	})
	t.Run("without a background", func(t *testing.T) {
		r := r
		r.Background = nil
		_, err := level.MeasureSoundLeakage(r)
		assert.ErrorIs(t, err, level.ErrNoSignal)
		r = level.SoundLeakageRecordings{SampleRate: rate, Sensitivity: fullScale, Beside: r.Beside, Background: r.Beside}
		_, err = level.MeasureSoundLeakage(r)
		assert.ErrorContains(t, err, "distance")
	})
}

func BenchmarkInsertionLoss(b *testing.B) {
	r := level.NoiseRecordings{SampleRate: rate, Open: noise(1, 0.1, 30), Covered: noise(2, 0.01, 30), Background: noise(3, 1e-4, 30)}
	b.SetBytes(int64(8 * 3 * len(r.Open)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := level.InsertionLoss(r); err != nil {
			b.Fatal(err)
		}
	}
}
