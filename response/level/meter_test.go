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

// fullScale is a sensitivity in which samples of rms 1 are 120 dB SPL.
var fullScale = level.Sensitivity{FullScale: response.Figure{Value: 120, Uncertainty: 0.3, Unit: level.SoundPressure}, Frequency: 1000}

func newMeter(correction *response.Curve) level.Meter {
	return level.Meter{SampleRate: rate, Sensitivity: fullScale, Correction: correction}
}

// IEC 61672-1, the table of the A-weighting at exact octaves.
func TestAWeightedLevelOfTonesIEC61672(t *testing.T) {
	m := newMeter(nil)
	for _, c := range []struct{ exponent, weight float64 }{
		{-15, -39.4}, {-12, -26.2}, {-9, -16.1}, {-6, -8.6}, {-3, -3.2}, {0, 0}, {3, 1.2}, {6, 1.0}, {9, -1.1}, {12, -6.6},
	} {
		f := 1000 * math.Pow(10, c.exponent/10)
		s, err := m.Measure(faded(sine(f, amplitude(-26), 2)))
		require.NoError(t, err)
		assert.InDelta(t, c.weight, s.A.Value-s.Plain.Value, 0.06, "%.1f Hz; the table has one decimal", f)
		assert.InDelta(t, 94-0.280, s.Plain.Value, 0.01, "%.1f Hz; two fades of 0.1 s, each with 3/8 of its energy, in 2 s", f)
		assert.InDelta(t, 97.01, s.Peak.Value, 0.02, "crest of a sine")
		assert.InDelta(t, s.Peak.Value-s.Plain.Value, s.Crest.Value, 1e-9, "rounding")
		assert.Equal(t, 0.3, s.A.Uncertainty)
		assert.Equal(t, level.AWeighted, s.A.Unit)
		assert.Empty(t, s.Findings)
	}
}

// faded begins and ends with raised cosines of 0.1 s, so that no click is measured with it.
func faded(x []float64) []float64 {
	const n = rate / 10
	for i := range n {
		w := 0.5 - 0.5*math.Cos(math.Pi*float64(i)/n)
		x[i] *= w
		x[len(x)-1-i] *= w
	}
	return x
}

// Energies of sounds that do not overlap in time or frequency add: a burst of a tenth of the time
// is 10 dB down, at any place, the very ends included; two tones of one level are 3.01 dB up.
func TestEquivalentLevelAddsEnergy(t *testing.T) {
	m := newMeter(nil)
	for _, start := range []float64{0, 0.1, 3.3333, 9} {
		x := make([]float64, 10*rate)
		copy(x[int(start*rate):], sine(1000, amplitude(-26), 1))
		s, err := m.Measure(x)
		require.NoError(t, err)
		assert.InDelta(t, 84, s.A.Value, 0.01, "from %v s; the switching spreads the spectrum", start)
		assert.InDelta(t, 13.01, s.Crest.Value, 0.001, "crest of a sine over a tenth")
	}
	s, err := m.Measure(sum(sine(1000, amplitude(-26), 2), sine(100, amplitude(-26), 2)))
	require.NoError(t, err)
	assert.InDelta(t, 97.01, s.Plain.Value, 0.001, "whole periods")
	assert.InDelta(t, 94+10*math.Log10(1+math.Pow(10, -1.91)), s.A.Value, 0.002, "−19.1 dB at 100 Hz, IEC 61672-1; one decimal of 1 % of the power")
}

// The lowest bass, weighted by −70.4 dB at 10 Hz (IEC 61672-1), must not leak into the middle of
// the band, where the weighting is 0 dB.
func TestBassDoesNotLeakIntoTreble(t *testing.T) {
	s, err := newMeter(nil).Measure(faded(sine(10, amplitude(-6), 5)))
	require.NoError(t, err)
	assert.InDelta(t, -70.4, s.A.Value-s.Plain.Value, 0.4, "the window spreads it by 1 Hz, over which the weighting changes by 4 dB")
}

func TestShortAndEmptyProgramme(t *testing.T) {
	m := newMeter(nil)
	s, err := m.Measure([]float64{0.5})
	require.NoError(t, err)
	assert.InDelta(t, 120-6.02, s.Plain.Value, 0.01, "one sample of a half")
	_, err = m.Measure(nil)
	assert.ErrorIs(t, err, level.ErrNoSignal)
	_, err = m.Measure(make([]float64, 1000))
	assert.ErrorIs(t, err, level.ErrNoSignal)
	_, err = level.Meter{SampleRate: 4000, Sensitivity: fullScale}.Measure([]float64{0.5})
	assert.ErrorIs(t, err, level.ErrInput)
	_, err = level.Meter{SampleRate: rate, Sensitivity: level.Sensitivity{FullScale: exact(math.NaN(), "")}}.Measure([]float64{0.5})
	assert.ErrorIs(t, err, level.ErrInput)
}

// A microphone that reads 2 dB too high at 4 kHz and up.
func TestMeterWithAMicrophone(t *testing.T) {
	c, err := level.ReadCalibration(strings.NewReader("# columns: Hz, dB, uncertainty\n200, 0, 0.2\n2000, 0, 0.2\n4000, 2, 0.4\n8000, 2, 0.4\n"), "mic")
	require.NoError(t, err)
	m := newMeter(c.Correction())
	t.Run("its error is subtracted", func(t *testing.T) {
		s, err := m.Measure(sine(1000*math.Pow(10, 0.6), amplitude(-26), 2))
		require.NoError(t, err)
		assert.InDelta(t, 94+1.0-2, s.A.Value, 0.06, "one decimal of IEC 61672-1; interpolated at 3981 Hz")
		assert.InDelta(t, 0.5, s.A.Uncertainty, 0.002, "0.3 and 0.4 dB at right angles")
	})
	t.Run("what lies outside its range is named", func(t *testing.T) {
		s, err := m.Measure(sum(sine(1000, amplitude(-26), 2), sine(125.893, amplitude(-20), 2)))
		require.NoError(t, err)
		part := math.Pow(10, (6-16.1)/10)
		assert.InDelta(t, part/(1+part), s.Outside, 0.001, "6 dB more at −16.1 dB")
		assert.InDelta(t, 94, s.A.Value, 0.01, "the known tone")
		assert.Contains(t, s.Findings[0].What, "200 Hz–8 kHz")
	})
	t.Run("not known when most lies outside", func(t *testing.T) {
		s, err := m.Measure(sine(125.893, amplitude(-20), 2))
		require.NoError(t, err)
		assert.False(t, s.A.Known())
		assert.Len(t, s.Findings, 1)
		assert.InDelta(t, 100, s.Plain.Value, 0.01, "the plain level needs no correction")
	})
	t.Run("errors that are independent in two octaves", func(t *testing.T) {
		flat := response.Curve{Frequency: response.LogGrid(20, 20000, 12), Valid: response.Band{Low: 20, High: 20000}}
		flat.Level, flat.Uncertainty = make([]float64, len(flat.Frequency)), make([]float64, len(flat.Frequency))
		flat.Components = []response.CurveComponent{}
		both := sum(sine(1000, amplitude(-20), 2), sine(4000, amplitude(-20-0.964), 2))
		for _, c := range []struct{ octaves, u float64 }{
			{1, 0.8 / math.Sqrt2}, // half of the power has one error, half another
			{math.Inf(1), 0.8},    // one error moves both
		} {
			correction := flat.With(response.Cause{Name: "microphone"}, func(float64) float64 { return 0.8 }, c.octaves)
			s, err := newMeter(&correction).Measure(both)
			require.NoError(t, err)
			assert.InDelta(t, math.Hypot(0.3, c.u), s.A.Uncertainty, 0.002, "the A-weighting of IEC 61672-1 at 4 kHz, 0.964 dB by its formula")
		}
	})
	t.Run("no uncertainty without that of the microphone", func(t *testing.T) {
		c, err := level.ReadCalibration(strings.NewReader("20 0\n20000 0\n"), "mic")
		require.NoError(t, err)
		s, err := newMeter(c.Correction()).Measure(sine(1000, 0.1, 1))
		require.NoError(t, err)
		assert.True(t, s.A.Known())
		assert.True(t, math.IsNaN(s.A.Uncertainty))
	})
}

func amplitude(db float64) float64 { return math.Pow(10, db/20) }

func BenchmarkMeter(b *testing.B) {
	m, x := newMeter(nil), noise(1, 0.1, 60)
	b.SetBytes(int64(8 * len(x)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.Measure(x); err != nil {
			b.Fatal(err)
		}
	}
}
