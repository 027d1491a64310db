package response_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

func TestImpossibleWindows(t *testing.T) {
	h := &response.Impulse{Samples: []float64{0, 1, 0, 0}, SampleRate: 1000, Valid: response.AllFrequencies}
	for _, c := range []struct {
		name          string
		rate          int
		before, after time.Duration
		says          string
	}{
		{"hours", 1000, 10 * time.Hour, 10 * time.Hour, "each part lasts at most 1m0s"},
		{"a unit too large", 1000, 0, 61 * time.Second, "each part lasts at most 1m0s"},
		{"below zero", 1000, -1, 0, "give two lengths above zero"},
		{"no rate", 0, 0, 0, "at 0 Hz cannot be cut; set its sample rate"},
	} {
		h.SampleRate = c.rate
		_, err := h.Window(c.before, c.after)
		assert.ErrorContains(t, err, c.says, c.name)
		assert.Panics(t, func() { h.WindowAt(0, c.before, c.after) }, c.name)
	}
	h.SampleRate = 1000
	for _, at := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		assert.Panics(t, func() { h.WindowAt(at, 0, 0) }, at)
	}
}

// Lengths of 0 have the same meaning in every function with a window.
func TestWindowOfZeroIsTheDefaultEverywhere(t *testing.T) {
	s := mustSweep(t, sweep.Config{Duration: time.Second})
	h, err := mustDeconvolver(t, s, response.DeconvolverConfig{}).Impulse(played(s, 0))
	require.NoError(t, err)
	before, after := response.DefaultWindow(s)
	assert.Equal(t, h.WindowAt(0, before, after).Samples, h.WindowAt(0, 0, 0).Samples)
	w, err := h.Window(0, 0)
	require.NoError(t, err)
	assert.Equal(t, w.Samples, h.WindowAt(0, 0, 0).Samples)

	n, err := response.NewNoise(hiss(8192), 48000)
	require.NoError(t, err)
	floor, err := w.Floor(n, []float64{1000})
	require.NoError(t, err)
	assert.False(t, math.IsNaN(floor.Level[0]))
	assert.Equal(t, 20*math.Log10(h.WindowAt(0, before, after).NoiseAt(n, 1000)), floor.Level[0])
}

// White noise of one density through windows: its power goes with the sum of the squared weights,
// 0.7 s less 5/8 of the tapers by default, all samples without a window.
func TestFloorFollowsFromTheWindow(t *testing.T) {
	s := mustSweep(t, sweep.Config{Duration: 6 * time.Second}) // long enough for the default window
	h, err := mustDeconvolver(t, s, response.DeconvolverConfig{}).Impulse(played(s, 0))
	require.NoError(t, err)
	n, err := response.NewNoise(hiss(8192), 48000)
	require.NoError(t, err)
	at := func(h *response.Impulse) float64 { return math.Pow(h.NoiseAt(n, 1000), 2) }
	w, err := h.Window(0, 0)
	require.NoError(t, err)
	seconds := 0.7 - 5.0/8*(0.1+0.125)
	assert.InEpsilon(t, seconds*48000/float64(len(h.Samples)), at(w)/at(h), 1e-12, "rounding")
	narrow := h.WindowAt(0, 10*time.Millisecond, 20*time.Millisecond)
	assert.InEpsilon(t, (0.03-5.0/8*(0.005+0.005))/seconds, at(narrow)/at(w), 1e-12, "rounding")
	assert.Equal(t, at(narrow), at(narrow.WindowAt(0, 0, 0)), "a wider window later lets in no more")
}

func TestUnknownFloor(t *testing.T) {
	n, err := response.NewNoise(hiss(8192), 48000)
	require.NoError(t, err)
	made := &response.Impulse{Samples: make([]float64, 480), SampleRate: 48000}
	_, err = made.Floor(n, []float64{1000})
	assert.ErrorContains(t, err, "has no sweep, so its floor is not known; take it from a Deconvolver")
	isNaN(t, made.NoiseAt(n, 1000), "without a sweep")
	s := mustSweep(t, sweep.Config{Duration: time.Second, SampleRate: 44100})
	h, err := mustDeconvolver(t, s, response.DeconvolverConfig{}).Impulse(played(s, 0))
	require.NoError(t, err)
	_, err = h.Floor(n, []float64{1000})
	assert.ErrorContains(t, err, "noise at 48000 Hz in a response at 44100 Hz; record both at one rate")
	isNaN(t, h.NoiseAt(n, 1000), "at another rate")
	_, err = response.NewNoise(hiss(8192), 0)
	assert.ErrorIs(t, err, response.ErrSilence)
	assert.ErrorContains(t, err, "sample rate is 0 Hz")
}

// hiss returns n samples of a fixed sequence that resembles noise.
func hiss(n int) []float64 {
	x, state := make([]float64, n), uint32(1)
	for i := range x {
		state = 1664525*state + 1013904223
		x[i] = 1e-4 * (float64(state)/math.MaxUint32 - 0.5)
	}
	return x
}

// The caller may write into the results of methods.
func TestCurvesShareNothing(t *testing.T) {
	c, err := response.NewCurve([]float64{100, 200, 400}, []float64{1, 2, 3})
	require.NoError(t, err)
	c.Uncertainty = []float64{0.1, 0.2, 0.3}
	grid := []float64{100, 400}
	for name, made := range map[string]response.Curve{
		"Resample": c.Resample(grid), "Within": c.Within(response.AllFrequencies), "Offset": c.Offset(0), "MaskBelow": c.MaskBelow(response.Curve{}, 0),
		"Add": must(c.Add(c)), "MeanLevel": must(response.MeanLevel(c)),
		"AverageOf": must(response.AverageOf([]response.Curve{c})).Level, "Power": must(response.AverageOf([]response.Curve{c, c})).Power,
	} {
		for _, slice := range [][]float64{made.Frequency, made.Level, made.Uncertainty} {
			for i := range slice {
				slice[i] = -1
			}
		}
		assert.Equal(t, []float64{100, 200, 400}, c.Frequency, name)
		assert.Equal(t, []float64{1, 2, 3}, c.Level, name)
		assert.Equal(t, []float64{0.1, 0.2, 0.3}, c.Uncertainty, name)
		assert.Equal(t, []float64{100, 400}, grid, name)
	}
	a := must(response.AverageOf([]response.Curve{c}))
	a.Level.Frequency[0] = -1
	assert.Equal(t, 100.0, a.Power.Frequency[0], "nor do two curves of one average")
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func TestLogGridIsAnchoredAtOneKilohertz(t *testing.T) {
	assert.Equal(t, []float64{125, 250, 500, 1000, 2000, 4000, 8000}, response.LogGrid(125, 8000, 1), "ends that stand on the grid")
	assert.Equal(t, []float64{31.25, 62.5}, response.LogGrid(20, 100, 1), "ends that do not are not in it")
	assert.Panics(t, func() { response.LogGrid(1e-300, 1e300, 1000) })
}
