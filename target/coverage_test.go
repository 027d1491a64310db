package target_test

import (
	"math"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func tiltOf(slope float64) func(float64) float64 {
	return func(x float64) float64 { return slope * x }
}

func TestTargetThatCoversLess(t *testing.T) {
	c := curveOn(t, []float64{10, 24000}, tiltOf(-1))
	to, err := target.FromPair("trusted", curveOn(t, []float64{100, 10000}, tiltOf(0)))
	require.NoError(t, err)
	d := compare(t, c, to, target.Config{})
	assert.InDelta(t, 100, d.Band.Low, 1e-9)
	assert.InDelta(t, 10000, d.Band.High, 1e-9)
	assert.Equal(t, target.Audible, d.Asked)
	assert.InDelta(t, 2./3, d.Coverage, 1e-9, "two of three decades")
	assert.InDelta(t, math.Log2(100)/math.Sqrt(12), d.RMS.Value, 1e-9, "the rms of a line over two decades")
	assert.Equal(t, []string{`asked to judge 20 Hz–20 kHz, judged 100 Hz–10 kHz: the response is known over 10 Hz–24 kHz and the target "trusted" over 100 Hz–10 kHz`}, d.Warnings)
	assert.True(t, math.IsNaN(d.Curve.At(99)))

	require.Len(t, d.Octaves, 11)
	assert.Equal(t, "31.5 Hz (22.4 Hz–44.7 Hz): not known", d.Octaves[1].String())
	assert.Zero(t, d.Octaves[1].Coverage)
	assert.False(t, d.Octaves[1].Mean.Known() || d.Octaves[1].RMS.Known())
	assert.True(t, partial(d.Octaves[3]), "125 Hz: from 100 Hz on")
}

func TestValidBandNarrowsWhatIsJudged(t *testing.T) {
	c := curveOn(t, []float64{10, 24000}, tiltOf(-1))
	c.Valid = response.Band{Low: 50, High: 5000} // no point inside
	d := compare(t, c, target.Flat(), target.Config{})
	assert.InDelta(t, 50, d.Band.Low, 1e-9)
	assert.InDelta(t, 5000, d.Band.High, 1e-9)
	assert.InDelta(t, -1, d.Tilt.Value, 1e-9)
	assert.Len(t, d.Warnings, 1)
}

func TestEdgeOfAGridIsNoLoss(t *testing.T) {
	c := curveOn(t, response.LogGrid(20, 20000, 12), tiltOf(1)) // from 20.9 Hz
	d := compare(t, c, target.Flat(), target.Config{})
	assert.Empty(t, d.Warnings)
	assert.Greater(t, d.Band.Low, 20.5)
	assert.InDelta(t, 1, d.Tilt.Value, 1e-9)
}

func TestOpenBandIsLimitedToTheData(t *testing.T) {
	c := curveOn(t, []float64{10, 24000}, tiltOf(1))
	d := compare(t, c, target.Flat(), target.Config{Band: response.AllFrequencies})
	assert.Equal(t, response.Band{Low: 10, High: 24000}, d.Asked)
	assert.InDelta(t, math.Log2(2400)/math.Sqrt(12), d.RMS.Value, 1e-9)
	assert.Empty(t, d.Warnings)
}

func TestBandFarBeyondSound(t *testing.T) {
	c := curveOn(t, []float64{10, 24000}, tiltOf(1))
	d := compare(t, c, target.Flat(), target.Config{Band: response.Band{Low: 1e-300, High: 1e300}})
	assert.Equal(t, response.Band{Low: 10, High: 24000}, d.Band)
	assert.InDelta(t, 1, d.Tilt.Value, 1e-9)
	assert.Len(t, d.Warnings, 1)
}

func TestGapInTheResponse(t *testing.T) {
	grid := []float64{20, 250, 500, 1000, 2000, 4000, 20000}
	c := curveOn(t, grid, tiltOf(-1.5))
	c.Level[3] = math.NaN() // nothing is known between 500 Hz and 2 kHz
	d := compare(t, c, target.Flat(), target.Config{})
	assert.InDelta(t, -1.5, d.Tilt.Value, 1e-9, "the tilt of a straight line is the same without a piece of it")
	assert.InDelta(t, 0, d.Ripple.Value, 1e-9)
	assert.InDelta(t, 1-2/math.Log2(1000), d.Coverage, 1e-9)
	assert.InDelta(t, 20, d.Band.Low, 1e-9)
	assert.Equal(t, []string{"2 of the 10 octaves of 20 Hz–20 kHz are not known and were not judged"}, d.Warnings)
	octave := map[float64]target.OctaveDeviation{}
	for _, o := range d.Octaves {
		octave[o.Nominal] = o
	}
	assert.False(t, octave[1000].Mean.Known())
	assert.False(t, partial(octave[1000]))
	assert.True(t, partial(octave[500]))
	assert.True(t, partial(octave[2000]))
	assert.InDelta(t, 1, octave[4000].Coverage, 1e-9)

	_, err := target.Compare(c, target.Flat(), target.Config{Align: target.Alignment{At: 1000}})
	assert.ErrorContains(t, err, "cannot align at 1 kHz")
}

func TestLargestDeviationEndsWhereTheGapBegins(t *testing.T) {
	c := curveOn(t, []float64{20, 250, 500, 1000, 2000, 20000}, tiltOf(0))
	c.Level = []float64{0, 0, 5, 5, math.NaN(), 0}
	d := compare(t, c, target.Flat(), target.Config{Align: target.Alignment{None: true}})
	assert.InDelta(t, 5, d.Max.Level.Value, 1e-9)
	assert.InDelta(t, 250*math.Sqrt2, d.Max.Band.Low, 1e-6)
	assert.InDelta(t, 1000, d.Max.Band.High, 1e-6)
}

func TestNothingToJudge(t *testing.T) {
	low := curveOn(t, []float64{20, 200}, tiltOf(1))
	lonely := curveOn(t, []float64{20, 200, 2000}, tiltOf(1))
	lonely.Level = []float64{math.NaN(), 1, math.NaN()}
	high, err := target.FromPair("high", curveOn(t, []float64{300, 3000}, tiltOf(1)))
	require.NoError(t, err)
	for name, row := range map[string]struct {
		c  response.Curve
		to target.Target
		o  target.Config
	}{
		"curves apart":        {low, high, target.Config{}},
		"open band, apart":    {low, high, target.Config{Band: response.AllFrequencies}},
		"band apart":          {low, target.Flat(), target.Config{Band: response.Band{Low: 300, High: 3000}}},
		"one point by itself": {lonely, target.Flat(), target.Config{}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := target.Compare(row.c, row.to, row.o)
			assert.ErrorIs(t, err, target.ErrNoOverlap)
		})
	}
	_, err = target.Compare(low, high, target.Config{})
	assert.EqualError(t, err, `target: "high": nothing to judge in 20 Hz–20 kHz: the response is known over 20 Hz–200 Hz and the target over 300 Hz–3 kHz; ask for a band inside both`)
}

func TestWhatCannotBeCompared(t *testing.T) {
	good := curveOn(t, []float64{20, 20000}, tiltOf(1))
	unsorted := good
	unsorted.Frequency = []float64{20000, 20}
	nowhere := good
	nowhere.Valid = response.Band{}
	odd := good
	odd.Uncertainty = []float64{1}
	bare := good
	bare.Level = []float64{math.NaN(), math.NaN()}
	for name, row := range map[string]struct {
		c    response.Curve
		to   target.Target
		o    target.Config
		want string
	}{
		"no response":          {response.Curve{}, target.Flat(), target.Config{}, `target: "flat": the response: response: a curve needs at least two points`},
		"no target":            {good, target.Target{}, target.Config{}, "the target's curve: response: a curve needs at least two points"},
		"unsorted":             {unsorted, target.Flat(), target.Config{}, "sort the points"},
		"valid nowhere":        {nowhere, target.Flat(), target.Config{}, "the level is known nowhere; the valid band is nowhere"},
		"no level known":       {bare, target.Flat(), target.Config{}, "the level is known nowhere"},
		"uncertainties amiss":  {odd, target.Flat(), target.Config{}, "1 uncertainties for 2 levels"},
		"tolerance below zero": {good, target.Flat(), target.Config{Tolerance: target.PlusMinus(-3)}, "the tolerance: -3 dB at 1 Hz is below zero; state the allowed deviation to either side as a positive number, such as 3 dB"},
		"tolerance unsorted":   {good, target.Flat(), target.Config{Tolerance: target.Tolerance{Above: unsorted, Below: unsorted}}, "the tolerance: response: 20 Hz"},
		"band upside down":     {good, target.Flat(), target.Config{Band: response.Band{Low: 200, High: 20}}, "give its low end first"},
		"band not a number":    {good, target.Flat(), target.Config{Band: response.Band{Low: math.NaN(), High: 20}}, "give its low end first"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := target.Compare(row.c, row.to, row.o)
			assert.ErrorContains(t, err, row.want)
		})
	}
}
