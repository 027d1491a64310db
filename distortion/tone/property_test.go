package tone_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"example.com/earnest/distortion/tone"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

// The result for any sine is that sine.
func TestPropertySineThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const fs, n = 8000, 2000
		f := rapid.Float64Range(100, 3000).Draw(t, "f")
		amplitude := rapid.Float64Range(0.01, 0.9).Draw(t, "amplitude")
		phase, offset := rapid.Float64Range(-3.1, 3.1).Draw(t, "phase"), rapid.Float64Range(-0.1, 0.1).Draw(t, "offset")
		x := sum(n, fs, partial{f, amplitude, phase})
		floats.AddConst(offset, x)
		r, err := tone.Analyse(x, fs, tone.Config{Frequency: f, Orders: 2})
		require.NoError(t, err)
		require.InEpsilon(t, f, r.Frequency.Value, 1e-9, "double precision")
		require.InDelta(t, dB(amplitude), r.Level.Value, 1e-7, "double precision")
		require.InDelta(t, 0, math.Remainder(phase-r.Phase.Value, 2*math.Pi), 1e-7, "double precision")
		require.InDelta(t, offset, r.Offset, 1e-9, "double precision")
		require.Less(t, r.THDPlusN.Value, 1e-5, "nothing is left")
	})
}

// The distortion relative to the fundamental depends on neither gain, nor polarity, nor offset, and
// the harmonics add up to the total.
func TestPropertyDistortionIsRelative(t *testing.T) {
	const fs, n = 24000, 2400
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(300, 3500).Draw(t, "f")
		second, third := rapid.Float64Range(1e-4, 0.1).Draw(t, "second"), rapid.Float64Range(1e-4, 0.1).Draw(t, "third")
		x := sum(n, fs, partial{f, 0.4, 1}, partial{2 * f, 0.4 * second, 2}, partial{3 * f, 0.4 * third, 3})
		r, err := tone.Analyse(noisy(x, 1e-7, 1), fs, tone.Config{Orders: 3})
		require.NoError(t, err)
		require.InEpsilon(t, math.Hypot(second, third), r.THD.Value/100, 1e-3, "noise 112 dB below the tone")
		require.InEpsilon(t, r.THD.Value/100/math.Hypot(1, r.THD.Value/100), r.THD.ReTotal().Value/100, 1e-9, "rounding")
		require.GreaterOrEqual(t, r.THDPlusN.Value/100, r.THD.Value/100*(1-1e-6), "noise adds to it")
		gain := rapid.Float64Range(0.1, 2).Draw(t, "gain") * []float64{1, -1}[rapid.IntRange(0, 1).Draw(t, "polarity")]
		floats.Scale(gain, x)
		floats.AddConst(rapid.Float64Range(-0.05, 0.05).Draw(t, "offset"), x)
		s, err := tone.Analyse(x, fs, tone.Config{Orders: 3})
		require.NoError(t, err)
		require.InEpsilon(t, r.THD.Value/100, s.THD.Value/100, 1e-6, "rounding")
		require.InDelta(t, r.Level.Value+20*math.Log10(math.Abs(gain)), s.Level.Value, 1e-6, "rounding")
		for i := range r.Harmonics {
			require.InDelta(t, r.Harmonics[i].Value, s.Harmonics[i].Value, 1e-4, "rounding")
		}
	})
}
