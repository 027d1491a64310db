package tone_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/internal/testing/known"
)

// bent returns tanh(gain x + offset), whose harmonics have no closed form.
func bent(x []float64, gain, offset float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = math.Tanh(gain*v + offset)
	}
	return y
}

// The distortion of the device for one tone and for two, by the fft of GNU Octave:
// testdata/reference/distortion.m.
func TestHyperbolicTangentEqualsOctave(t *testing.T) {
	var reference struct {
		Tones []struct {
			Gain, Offset, ToFundamental, ToTotal float64
			Amplitude                            []float64
		}
	}
	known.Values(t, "distortion.json", &reference)
	require.Len(t, reference.Tones, 3)
	const fs = 96000 // the 189th order, the first to fold back onto the tenth, is far below rounding
	for _, c := range reference.Tones {
		r, err := tone.Analyse(bent(sum(fs/2, fs, partial{503.7, 1, 0}), c.Gain, c.Offset), fs, tone.Config{})
		require.NoError(t, err)
		assert.InDelta(t, dB(c.Amplitude[0]), r.Level.Value, 1e-4, "orders above the tenth are not fitted and leak by 10⁻⁵ of them")
		require.Len(t, r.Harmonics, 9)
		for i, h := range r.Harmonics {
			want := c.Amplitude[i+1]
			if want < 1e-8 {
				assert.False(t, h.Value > -250, "order %d of an odd device is not known, or rounding", h.Order)
				continue
			}
			assert.InDelta(t, dB(want/c.Amplitude[0]), h.Value, 0.01, "order %d; higher ones leak", h.Order)
		}
		assert.InEpsilon(t, c.ToFundamental, r.THD.Value/100, 1e-5, "as the fundamental")
		assert.InEpsilon(t, c.ToTotal, r.THD.ReTotal().Value/100, 1e-5, "as the fundamental")
	}
}

func TestIntermodulationEqualsOctave(t *testing.T) {
	type twoTones struct{ Lower, Upper, Ratio, Gain, Offset, Second, Third float64 }
	var reference struct{ Modulation, Difference twoTones }
	known.Values(t, "distortion.json", &reference)
	const fs = 192000
	recording := func(c twoTones) []float64 {
		upper := 1 / (1 + c.Ratio)
		return bent(sum(fs/2, fs, partial{c.Lower, c.Ratio * upper, 0}, partial{c.Upper, upper, 0}), c.Gain, c.Offset)
	}
	two := reference.Modulation
	m, err := tone.Modulation(recording(two), fs, two.Lower, two.Upper, tone.Config{})
	require.NoError(t, err)
	assert.InEpsilon(t, reference.Modulation.Second, m.Second.Value/100, 1e-4, "products of higher order leak")
	assert.InEpsilon(t, reference.Modulation.Third, m.Third.Value/100, 1e-4, "products of higher order leak")
	two = reference.Difference
	d, err := tone.Difference(recording(two), fs, two.Lower, two.Upper, tone.Config{})
	require.NoError(t, err)
	assert.InEpsilon(t, reference.Difference.Second, d.Second.Value/100, 1e-4, "products of higher order leak")
	assert.InEpsilon(t, reference.Difference.Third, d.Third.Value/100, 1e-4, "products of higher order leak")
}
