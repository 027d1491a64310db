package response_test

import (
	"math"
	"math/cmplx"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// |H|² = f^m has the mean (r^m − r^−m)/(2 m ln r) times f^m over [f/r, f·r],
// by integration over ln f.
func TestSmoothedPowerLaw(t *testing.T) {
	const m = 2.0 // +6 dB per octave
	tr := transferOf(48000, 96000, audible, func(f float64) complex128 { return complex(f, 0) })
	tr.Rig, tr.Reference = "flat plate", "direct recording"
	grid := response.LogGrid(20, 20000, 12)
	for _, fraction := range []float64{1, 3, 12} {
		c, err := tr.Smoothed(grid, fraction)
		require.NoError(t, err)
		assert.Equal(t, grid, c.Frequency)
		assert.Equal(t, "flat plate", c.Rig)
		assert.Equal(t, "direct recording", c.Reference)
		assert.Equal(t, audible, c.Valid, "the valid band travels")
		log := math.Ln2 / (2 * fraction)
		gain := 10 * math.Log10(math.Sinh(m*log)/(m*log))
		for _, f := range []float64{100, 1000, 8000} { // a whole band away from the ends
			assert.InDelta(t, 20*math.Log10(f)+gain, c.At(f), 0.001, "1/%g octave at %g Hz; bins of half a hertz", fraction, f)
		}
	}
	erb, err := tr.SmoothedERB(grid, 1)
	require.NoError(t, err)
	w := smoothing.ERBWidth(1000) / 2
	log := math.Log((w + math.Hypot(1000, w)) / 1000)
	assert.InDelta(t, 60+10*math.Log10(math.Sinh(m*log)/(m*log)), erb.At(1000), 0.001, "bins of half a hertz")
}

func TestSmoothedOfALevelResponseIsLevel(t *testing.T) {
	tr := transferOf(48000, 96000, audible, func(f float64) complex128 { return complex(0, 2) })
	grid := []float64{10, 20, 100, 20000, 21000}
	for name, smoothed := range map[string]func() (response.Curve, error){
		"octave": func() (response.Curve, error) { return tr.Smoothed(grid, 6) },
		"ERB":    func() (response.Curve, error) { return tr.SmoothedERB(grid, 2) },
	} {
		c, err := smoothed()
		require.NoError(t, err)
		for _, i := range []int{1, 2, 3} {
			assert.InDelta(t, 20*math.Log10(2), c.Level[i], 1e-9, "%s at %g Hz, ends included", name, grid[i])
		}
		isNaN(t, c.Level[0], "below the valid band")
		isNaN(t, c.Level[4], "above the valid band")
	}
}

// The ends of the band may lie between bins.
func TestSmoothedReachesTheEndsOfTheBand(t *testing.T) {
	const points = 33750 // bins of 1.42 Hz
	band := response.Band{Low: 20, High: 19999}
	one := func(float64) complex128 { return 1 }
	tr, err := transferOf(48000, points, band, one).Divide(transferOf(48000, points, response.AllFrequencies, one))
	require.NoError(t, err)
	c, err := tr.Smoothed([]float64{20, 1000, 19999}, 12)
	require.NoError(t, err)
	for i := range c.Level {
		assert.InDelta(t, 0, c.Level[i], 1e-9, "%g Hz", c.Frequency[i])
	}
}

func TestImpossibleSmoothing(t *testing.T) {
	tr := transferOf(48000, 4800, audible, func(float64) complex128 { return 1 })
	_, err := tr.Smoothed([]float64{100, 1000}, 0)
	require.ErrorIs(t, err, smoothing.ErrWidth)
	assert.ErrorContains(t, err, "response: ")
	_, err = tr.SmoothedERB([]float64{100, 1000}, -1)
	require.ErrorIs(t, err, smoothing.ErrWidth)
	_, err = tr.Smoothed([]float64{-100, 1000}, 3)
	require.ErrorIs(t, err, smoothing.ErrGrid)
	_, err = transferOf(48000, 4800, response.Band{}, func(float64) complex128 { return 1 }).Smoothed([]float64{100}, 3)
	assert.ErrorContains(t, err, "response: nothing to smooth: the response is known nowhere")
}

// The mean of exp(jc ln f) over ln f is symmetric about the centre, so its phase is c ln f. The
// mean of the real and imaginary parts alone would not be.
func TestSmoothedPhaseOfASpiral(t *testing.T) {
	const c = 1.5 // radians for each step of e in frequency
	tr := transferOf(48000, 96000, audible, func(f float64) complex128 { return cmplx.Rect(3, c*math.Log(f/1000)) })
	grid := []float64{10, 100, 1000, 8000, 21000}
	phase, err := tr.SmoothedPhase(grid, 3)
	require.NoError(t, err)
	for _, i := range []int{1, 2, 3} {
		assert.InDelta(t, 0, math.Remainder(phase[i]-c*math.Log(grid[i]/1000), 2*math.Pi), 1e-4, "rad; bins of half a hertz")
	}
	isNaN(t, phase[0], "below the valid band")
	isNaN(t, phase[4], "above the valid band")
	_, err = transferOf(48000, 960, response.Band{Low: 60, High: 90}, func(f float64) complex128 { return 1 }).SmoothedPhase(grid, 3)
	assert.ErrorContains(t, err, "nothing to smooth")
	_, err = tr.SmoothedPhase(grid, -1)
	assert.Error(t, err)
}

// The valid band holds bin 1 of 1 Hz, below which there is none.
func TestSmoothedFromOneBinAndTheNext(t *testing.T) {
	tr := transferOf(48, 48, response.Band{Low: 0.9, High: 1.1}, func(float64) complex128 { return 10 })
	c, err := tr.Smoothed([]float64{1}, 3)
	require.NoError(t, err)
	assert.InDelta(t, 20, c.Level[0], 1e-12, "a level response; rounding")
}

func TestSmoothedPhaseOfNothingIsNotKnown(t *testing.T) {
	phase, err := transferOf(48, 48, response.Band{Low: 4, High: 20}, func(float64) complex128 { return 0 }).SmoothedPhase([]float64{10}, 3)
	require.NoError(t, err)
	isNaN(t, phase[0])
}

func BenchmarkSmoothed(b *testing.B) {
	tr := transferOf(48000, 96000, audible, chained(device(48000), 48000))
	grid := response.LogGrid(20, 20000, 48)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := tr.Smoothed(grid, 12); err != nil {
			b.Fatal(err)
		}
	}
}
