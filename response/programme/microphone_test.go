package programme_test

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

// A microphone with a response of its own is all that lies between the recordings: less that
// response, which the cookbook's formula gives, nothing is left. Beyond the band of the
// calibration nothing is known.
func TestCorrectionTakesTheMicrophoneOff(t *testing.T) {
	t.Parallel()
	const fs = 48000
	microphone := biquad.Chain{biquad.New(biquad.LowShelf, 80, 0.7, -5, fs), biquad.New(biquad.HighShelf, 5000, 0.7, 8, fs)}
	x := rig.Music(fs, 9, 1)[0]
	direct := programme.Channel{Name: "direct.wav", Samples: x, SampleRate: fs}
	through := programme.Channel{Name: "through.wav", Samples: device{filter: microphone, gain: 0.5, start: 900, snr: 70}.through(x), SampleRate: fs}
	known := response.Band{Low: 30, High: 15000}
	correction := response.Curve{Frequency: append(response.LogGrid(known.Low*1.001, known.High/1.001, 24), known.High), Valid: known}
	correction.Frequency = slices.Insert(correction.Frequency, 0, known.Low)
	for _, f := range correction.Frequency {
		correction.Level = append(correction.Level, -20*math.Log10(cmplx.Abs(microphone.Response(f, fs))))
	}
	raw, err := programme.Compare(direct, through, programme.Config{})
	require.NoError(t, err)
	c, err := programme.Compare(direct, through, programme.Config{Correction: &correction})
	require.NoError(t, err)
	assert.Equal(t, known, c.Valid)
	assert.Equal(t, raw.Through, c.Through, "the levels are those of the recording")
	before, count := raw.Bands(3), 0
	for i, b := range c.Bands(3) {
		if !known.Contains(b.Centre) {
			assert.False(t, b.Known, "%v Hz", b.Nominal)
			continue
		}
		if !b.Known {
			continue
		}
		count++
		assert.InDelta(t, 20*math.Log10(0.5), b.Difference, 0.05, "%v Hz; dB, noise 70 dB down and the slope within a band", b.Nominal)
		if math.IsNaN(b.Residual) { // nothing is left
			continue
		}
		assert.InDelta(t, before[i].Residual, b.Residual, 1, "%v Hz; dB, relative to the same band; a slope within it weighs the noise otherwise", b.Nominal)
		assert.LessOrEqual(t, b.HalfWidth95, before[i].HalfWidth95+0.002, "%v Hz; dB, without slopes less is unresolved", b.Nominal)
	}
	assert.Greater(t, count, 24, "third octaves of 28")
	curve := c.Smoothed([]float64{100, 1000, 10000}, 12)
	for i, f := range curve.Frequency {
		assert.InDelta(t, 20*math.Log10(0.5), curve.Level[i], 0.05, "%v Hz; dB", f)
		assert.InDelta(t, 20*math.Log10(0.5), c.Response().At(f), 0.1, "%v Hz; dB", f)
	}
	none, err := programme.Compare(direct, through, programme.Config{Correction: &response.Curve{Valid: response.AllFrequencies}})
	require.NoError(t, err)
	for _, b := range none.Bands(3) {
		assert.False(t, b.Known, "a calibration without a point")
	}
}
