package target_test

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFlatHoldsEverywhereOnEveryRig(t *testing.T) {
	flat := target.Flat()
	for _, f := range []float64{1, 20, 1000, 44100, 1e6} {
		assert.Zero(t, flat.Curve.At(f))
		assert.Zero(t, flat.Curve.UncertaintyAt(f))
	}
	assert.True(t, flat.AnyRig)
	assert.Empty(t, flat.Tolerance)
}

// readTarget writes a text to a file of the given name and reads it.
func readTarget(t *testing.T, text, name string) (target.Target, error) {
	t.Helper()
	path := filepath.Join(t.TempDir(), name+".txt")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return target.ReadFile(path)
}

func TestReadTarget(t *testing.T) {
	to, err := readTarget(t, "# rig: ear simulator\nf;level\n20;2,5\n1000;0\n", "house")
	require.NoError(t, err)
	assert.Equal(t, "house", to.Name)
	assert.Equal(t, "ear simulator", to.Curve.Rig)
	assert.Equal(t, 2.5, to.Curve.At(20))
	assert.Equal(t, []float64{0, 0}, to.Curve.Uncertainty, "a definition is exact")

	to, err = readTarget(t, "# columns: f, level, uncertainty\n20 1 0.5\n30 1 0.5\n", "measured")
	require.NoError(t, err)
	assert.Equal(t, []float64{0.5, 0.5}, to.Curve.Uncertainty)

	_, err = readTarget(t, "20 1\n10 1\n", "house")
	assert.ErrorContains(t, err, "line 2: ")

	_, err = readTarget(t, "20 unknown\n100 unknown\n", "house")
	assert.ErrorContains(t, err, `target: "house": the level is known nowhere`)
}

func TestReadTargetFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "warm room.txt")
	require.NoError(t, os.WriteFile(path, []byte("20 1\n1000 0\n"), 0o600))
	to, err := target.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "warm room", to.Name)
	_, err = target.ReadFile(path + ".gone")
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestFromPair(t *testing.T) {
	c := curveOn(t, []float64{20, 20000}, tiltOf(1))
	to, err := target.FromPair("trusted", c)
	require.NoError(t, err)
	assert.Nil(t, to.Curve.Uncertainty, "not known is not zero")
	assert.False(t, to.AnyRig)
	assert.InDelta(t, 0, compare(t, c, to, target.Config{}).RMS.Value, 1e-12, "a pair is true to itself")

	_, err = target.FromPair(" ", c)
	assert.ErrorContains(t, err, "has no name")
	_, err = target.FromPair("trusted", response.Curve{})
	assert.ErrorContains(t, err, `target: pair "trusted": response: a curve needs`)
	c.Rig = ""
	_, err = target.FromPair("trusted", c)
	assert.ErrorContains(t, err, "set Rig")
}

func TestTargetBelongsToItsRig(t *testing.T) {
	for name, row := range map[string]struct {
		response, target string
		any, allow       bool
		refused          bool
		warning          string
	}{
		"same rig":           {response: "plate", target: "plate"},
		"any rig":            {response: "plate", any: true},
		"other rig":          {response: "plate", target: "ear simulator", refused: true},
		"other rig, allowed": {response: "plate", target: "ear simulator", allow: true, warning: `the response was measured on "plate" and the target "t" belongs to "ear simulator": the difference between the rigs is in every figure`},
		"target silent":      {response: "plate", warning: `the target "t" does not state the rig it belongs to; unless that is "plate"`},
		"response silent":    {target: "plate", warning: `the response does not state its rig; unless that is "plate"`},
		"both silent":        {warning: "neither the response nor the target"},
	} {
		t.Run(name, func(t *testing.T) {
			c := curveOn(t, []float64{20, 20000}, tiltOf(1))
			c.Rig = row.response
			tc := curveOn(t, []float64{20, 20000}, tiltOf(2))
			tc.Rig = row.target
			d, err := target.Compare(c, target.Target{Name: "t", Curve: tc, AnyRig: row.any}, target.Config{AllowOtherRig: row.allow})
			if row.refused {
				require.ErrorIs(t, err, response.ErrOtherRig)
				assert.EqualError(t, err, `target: "t": curves were measured on different rigs: the response on "plate", the target on "ear simulator"; measure a trusted pair on the same rig as target, or allow another rig and carry the warning`)
				return
			}
			require.NoError(t, err)
			assert.InDelta(t, -1, d.Tilt.Value, 1e-9) // rounding
			assert.Equal(t, row.response, d.Curve.Rig)
			if row.warning == "" {
				assert.Empty(t, d.Warnings)
				return
			}
			require.Len(t, d.Warnings, 1)
			assert.Contains(t, d.Warnings[0], row.warning)
		})
	}
}

func TestFiguresAsWords(t *testing.T) {
	dB := response.Figure{Value: 1.3749, Uncertainty: math.NaN(), Unit: "dB"}
	for want, f := range map[string]response.Figure{
		"1.375 dB":                     dB,
		"1.37 dB with u = 0.12 dB":     withUncertainty(dB, 0.1234),
		"1.4 dB with u = 1.2 dB":       withUncertainty(dB, 1.234),
		"1 dB with u = 12 dB":          withUncertainty(dB, 12.34),
		"1.3749 dB with u = 0.0034 dB": withUncertainty(dB, 0.00341),

		"0.871":     {Value: 0.871, Uncertainty: math.NaN(), Unit: "1"},
		"not known": {Value: math.NaN(), Uncertainty: math.NaN(), Unit: "dB"},
	} {
		assert.Equal(t, want, f.String())
	}
}

func withUncertainty(f response.Figure, u float64) response.Figure {
	f.Uncertainty = u
	return f
}
