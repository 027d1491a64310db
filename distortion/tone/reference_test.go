package tone_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/internal/testing/known"
)

// bent is tanh(gain x + offset), whose harmonics have no closed form.
func bent(x []float64, gain, offset float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = math.Tanh(gain*v + offset)
	}
	return y
}

// What the device adds to one tone and to two, by the fft of GNU Octave:
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
	recording := func(c twoTones) (tone.TwoTones, []float64) {
		pair := tone.TwoTones{Lower: c.Lower, Upper: c.Upper, Ratio: c.Ratio, SampleRate: 192000, Duration: 700 * time.Millisecond, Silence: 200 * time.Millisecond}
		x, err := pair.Samples()
		require.NoError(t, err)
		steady, err := tone.Steady(x, pair.SampleRate)
		require.NoError(t, err)
		return pair, bent(steady, c.Gain, c.Offset)
	}
	pair, x := recording(reference.Modulation)
	m, err := pair.Modulation(x, tone.Config{})
	require.NoError(t, err)
	assert.InEpsilon(t, reference.Modulation.Second, m.Second.Value/100, 1e-4, "products of higher order leak")
	assert.InEpsilon(t, reference.Modulation.Third, m.Third.Value/100, 1e-4, "products of higher order leak")
	pair, x = recording(reference.Difference)
	d, err := pair.Difference(x, tone.Config{})
	require.NoError(t, err)
	assert.InEpsilon(t, reference.Difference.Second, d.Second.Value/100, 1e-4, "products of higher order leak")
	assert.InEpsilon(t, reference.Difference.Third, d.Third.Value/100, 1e-4, "products of higher order leak")
}

// Two tones of 20 periods at least, each with its settling time and gap, and silence at
// both ends.
func TestSteppedTonesLastAsLongAsTheyAreLaidOut(t *testing.T) {
	s, err := tone.NewStepped(tone.SteppedConfig{Low: 1000, High: 2000, PerOctave: 1, Silence: 500 * time.Millisecond})
	require.NoError(t, err)
	require.Len(t, s.Steps(), 2)
	assert.InDelta(t, 0.5+2*(0.2+0.5+0.1)+0.5, float64(len(s.Samples()))/48000, 0.06, "fades, and holds rounded to whole periods")
}
