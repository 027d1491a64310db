package tone_test

import (
	"cmp"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/response"
)

func TestStepsHaveWholePeriods(t *testing.T) {
	for _, c := range []tone.SteppedConfig{{}, {SampleRate: 44100, Low: 10, High: 1000, PerOctave: 5}, {SampleRate: 96000, Low: 1000, High: 40000, Hold: 100 * time.Millisecond}} {
		s, err := tone.NewStepped(c)
		require.NoError(t, err)
		x := s.Samples()
		require.Len(t, x, len(s.Samples()))
		last := 0
		for _, step := range s.Steps() {
			periods := step.Frequency * float64(step.Len) / float64(cmp.Or(c.SampleRate, 48000))
			assert.InDelta(t, math.Round(periods), periods, 1e-6, "rounding")
			assert.GreaterOrEqual(t, periods, 19.5, "%v Hz", step.Frequency)
			assert.Greater(t, step.Start, last)
			last = step.Start + step.Len
			assert.LessOrEqual(t, peak(x[step.Start:last]), 1.0)
			assert.InDelta(t, math.Sqrt(0.5), rms(x[step.Start:last]), 1e-9, "a sine over whole periods")
		}
		assert.Less(t, last, len(x))
		assert.Zero(t, x[0])
		assert.Zero(t, x[len(x)-1])
	}
	s, err := tone.NewStepped(tone.SteppedConfig{Level: -20})
	require.NoError(t, err)
	assert.Len(t, s.Steps(), 29, "thirds of an octave about 1 kHz, from 2^(−16/3) to 2^(12/3) kHz")
	assert.InDelta(t, 0.1, peak(s.Samples()), 1e-3, "−20 dBFS peak")
}

// A memoryless device distorts every step alike: DLMF 4.21.
func TestSteppedTonesThroughAPolynomial(t *testing.T) {
	s, err := tone.NewStepped(tone.SteppedConfig{Low: 40, High: 7000, PerOctave: 2, Level: -6, Silence: 300 * time.Millisecond, Hold: 200 * time.Millisecond})
	require.NoError(t, err)
	a := math.Pow(10, -0.3)
	played := through(s.Samples(), 0, -0.5, 0.01, 0.001)
	for name, before := range map[string]int{"recorder started first": 12345, "player started first": -9000} {
		t.Run(name, func(t *testing.T) {
			recording := make([]float64, len(played)+30000)
			copy(recording[max(0, before):], played[max(0, -before):])
			r, err := s.Analyse(noisy(recording, 1e-6, 1), tone.Config{Orders: 5})
			require.NoError(t, err)
			assert.InDelta(t, float64(before)/48000, r.Delay, 1e-4, "five samples")
			require.Len(t, r.Steps, len(s.Steps()))
			fundamental := 0.5*a - 0.001*0.75*a*a*a
			for i, f := range r.Harmonic(2).Fundamental {
				require.NoError(t, r.Steps[i].Err)
				assert.Equal(t, s.Steps()[i].Frequency, f)
				assert.InDelta(t, dB(fundamental), r.Curve("full scale", level).Level[i], 1e-4, "noise of −120 dB over 0.2 s")
				assert.InDelta(t, dB(0.01*a*a/2/fundamental), r.Harmonic(2).AsRead[i], 0.01, "−45 dB, 100 dB above the floor")
				assert.InDelta(t, dB(0.001*a*a*a/4/fundamental), r.Harmonic(3).AsRead[i], 0.03, "−78 dB, 70 dB above the floor")
				assert.InDelta(t, dB(math.Hypot(0.01*a*a/2, 0.001*a*a*a/4)/fundamental), dB(r.Steps[i].THD.Value/100), 0.01, "both")
				assert.Less(t, r.Harmonic(4).Floor[i], -130.0, "noise of −120 dB in 24 kHz, in 7.5 Hz, re −12 dB")
			}
			assert.True(t, math.IsNaN(r.Harmonic(6).AsRead[0]), "not asked for")
			assert.Positive(t, r.Harmonic(2).Uncertainty[0])
			assert.Greater(t, r.Steps[3].THDPlusN.Value, r.Steps[3].THD.Value)
		})
	}
}

// A recorder whose clock runs 200 ppm fast is 4 ms off after 20 s.
func TestSteppedTonesByAnotherClock(t *testing.T) {
	s, err := tone.NewStepped(tone.SteppedConfig{PerOctave: 1, Silence: 200 * time.Millisecond})
	require.NoError(t, err)
	const fast = 1 + 200e-6
	recording := make([]float64, int(float64(len(s.Samples()))*fast)+20000)
	for _, step := range s.Steps() {
		from, to := int(float64(step.Start-9600)*fast), int(float64(step.Start+step.Len)*fast)
		for i, v := range sum(to-from, 48000, partial{step.Frequency / fast, 0.3, 0}, partial{2 * step.Frequency / fast, 0.3e-3, 0}) {
			recording[5000+from+i] = v
		}
	}
	r, err := s.Analyse(noisy(recording, 1e-6, 1), tone.Config{Orders: 2, MaxFrequency: 20000})
	require.NoError(t, err)
	for i, step := range r.Steps {
		require.NoError(t, step.Err, "%v Hz", step.Step.Frequency)
		assert.InDelta(t, step.Step.Frequency/fast, step.Result.Frequency.Value, 1e-4*step.Step.Frequency/10, "ten parts in a million")
		if 2*step.Step.Frequency < 20000 {
			assert.InDelta(t, -60, r.Harmonic(2).AsRead[i], 0.05, "any frequency, off the bin")
		} else {
			assert.True(t, math.IsNaN(r.Harmonic(2).AsRead[i]))
		}
	}
}

func TestSteppedRefusals(t *testing.T) {
	for name, c := range map[string]tone.SteppedConfig{
		"sample rate": {SampleRate: 100},
		"level":       {Level: 3},
		"upside down": {Low: 1000, High: 100},
		"above half":  {High: 30000},
		"steps":       {PerOctave: 1000},
		"hold":        {Hold: -1},
		"an hour":     {PerOctave: 100, Hold: 5 * time.Minute},
		"no step":     {Low: 1001, High: 1002},
	} {
		_, err := tone.NewStepped(c)
		assert.ErrorContains(t, err, "tone: ", name)
	}
	s, err := tone.NewStepped(tone.SteppedConfig{Low: 500, High: 1000, PerOctave: 1, Silence: 100 * time.Millisecond})
	require.NoError(t, err)
	_, err = s.Analyse(s.Samples()[1:], tone.Config{})
	assert.ErrorIs(t, err, tone.ErrTooShort)
	_, err = s.Analyse(noisy(make([]float64, len(s.Samples())), 0.1, 1), tone.Config{})
	require.ErrorIs(t, err, tone.ErrAbsent)
	assert.ErrorContains(t, err, "none of the 2 steps")
	half := s.Samples()
	clear(half[s.Steps()[1].Start-12000:])
	r, err := s.Analyse(noisy(half, 1e-5, 1), tone.Config{})
	require.NoError(t, err)
	assert.NoError(t, r.Steps[0].Err)
	assert.ErrorIs(t, r.Steps[1].Err, tone.ErrAbsent, "one step that is missing does not cost the others")
	assert.True(t, math.IsNaN(r.Curve("fundamental", thdPlusN).Level[1]))
	assert.Equal(t, r.Steps[0].Step.Frequency, r.Curve("fundamental", thdPlusN).Valid.High)
}

func level(r tone.Result) response.Figure    { return r.Level }
func thdPlusN(r tone.Result) response.Figure { return r.THDPlusN }
