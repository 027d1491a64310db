package target_test

import (
	"math"
	"testing"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A rough response against a rough target, by interp1, trapz and polyfit of GNU Octave:
// testdata/reference/deviation.m.
func TestDeviationEqualsOctave(t *testing.T) {
	var reference struct {
		Frequency, Response, TargetFrequency, Target []float64
		Bands                                        []struct {
			Low, High, Offset, RMS, MeanAbsolute, Tilt, Ripple, Within2dB, Widest, WidestAt float64
		}
	}
	known.Values(t, "deviation.json", &reference)
	require.Len(t, reference.Bands, 3)
	c, err := response.NewCurve(reference.Frequency, reference.Response)
	require.NoError(t, err)
	tc, err := response.NewCurve(reference.TargetFrequency, reference.Target)
	require.NoError(t, err)
	c.Rig, tc.Rig = "flat plate", "flat plate"
	to, err := target.FromPair("another", tc)
	require.NoError(t, err)
	for _, b := range reference.Bands {
		d := compare(t, c, to, target.Config{Band: response.Band{Low: b.Low, High: b.High}, Tolerance: target.PlusMinus(2)})
		assert.InDelta(t, b.Offset, d.Offset.Value, 1e-6, "corners between readings 1/20 000 octave apart")
		assert.InDelta(t, b.RMS, d.RMS.Value, 1e-6, "the same")
		assert.InDelta(t, b.MeanAbsolute, d.MeanAbsolute.Value, 1e-6, "the same")
		assert.InDelta(t, b.Tilt, d.Tilt.Value, 2e-5, "points weighed alike, the two at the ends too")
		assert.InDelta(t, b.Ripple, d.Ripple.Value, 2e-5, "the same")
		assert.InDelta(t, b.Within2dB, d.Share.Value, 2e-4, "some ten crossings between readings")
		assert.InDelta(t, b.Widest, d.Max.Level.Value, 1e-3, "a reading beside the corner")
		assert.InEpsilon(t, b.WidestAt, d.Max.Frequency, 1e-4, "a reading beside the corner")
		assert.InDelta(t, b.Widest, d.Curve.Figure(b.WidestAt).Value, 1e-6, "the same place; rounding of its frequency")
	}
}

// Welch's t-test by scipy.stats.ttest_ind: testdata/reference/statistics.py. The seatings are
// straight lines, so the mean of a region is the middle of its line, and every region has the P of
// the test.
func TestRegionsDifferByWelchsTestAsSciPyHasIt(t *testing.T) {
	var reference struct {
		Tilts struct {
			A, B []float64
			P    float64
		}
	}
	known.Values(t, "statistics.json", &reference)
	seatings := func(tilts []float64) (out []response.Curve) {
		for _, tilt := range tilts {
			out = append(out, curveOn(t, response.LogGrid(20, 20000, 24), func(x float64) float64 { return tilt * x }))
		}
		return out
	}
	r, err := target.Rank([]target.Pair{{Name: "a", Seatings: seatings(reference.Tilts.A)}, {Name: "b", Seatings: seatings(reference.Tilts.B)}}, target.Flat(), target.Config{})
	require.NoError(t, err)
	d := between(t, r, "a", "b")
	require.NotEmpty(t, d.Regions)
	for _, region := range d.Regions {
		assert.InEpsilon(t, reference.Tilts.P, region.P, 1e-6, "%v; linear in the curve, so nothing but rounding", region.Region)
	}
	assert.InEpsilon(t, reference.Tilts.P, d.P, 0.05, "an rms is linear only as far as all tilts have one sign")
	assert.False(t, math.IsNaN(d.Adjusted))
}
