package review

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
)

// The phase of (1 + jf/a)/(1 + jf/b), level at both ends, is atan(f/a) − atan(f/b), and the mean
// slope of a phase over a band is the difference at its ends over its width.
func TestDelayFromAnErrorOfTheLevel(t *testing.T) {
	const a, b = 500, 2000
	grid := response.LogGrid(20, 20000, PerOctave)
	level, phase := make([]float64, len(grid)), func(f float64) float64 { return math.Atan(f/a) - math.Atan(f/b) }
	for i, f := range grid {
		level[i] = 10 * math.Log10((1+f*f/a/a)/(1+f*f/b/b))
	}
	for i, v := range minimumPhaseOf(grid, level) {
		if f := grid[i]; f > 100 && f < 8000 {
			assert.InDelta(t, phase(f), v, 0.005, "%.0f Hz; the rest of the shelf's rise, beyond the ends of the grid", f)
		}
	}
	flat := make([]float64, len(grid))
	r := &Reading{Phase: flat, Response: response.Curve{Frequency: grid, Level: flat, Valid: response.AllFrequencies}}
	error := response.Cause{Name: "microphone", CommonTo: response.OneMicrophone}
	r.Response.Components = []response.CurveComponent{{Cause: error, Effects: [][]float64{nil, level}},
		{Cause: response.Cause{Name: response.NoiseOfRecording}, Effects: [][]float64{level}}}
	all := r.delayErrors()
	require.Len(t, all, 1, "the noise shows in the scatter of the seatings")
	assert.Nil(t, all[0].Effects[0])
	delay := response.Curve{Frequency: grid, Level: all[0].Effects[1], Valid: response.AllFrequencies}
	of := func(f float64) float64 {
		low, high := delayEdges(f)
		return -1e3 * (phase(high) - phase(low)) / (2 * math.Pi * (high - low))
	}
	for _, f := range []float64{150, 300, 600, 1200, 2400} { // re 5 kHz, since the peak moves too
		assert.InDelta(t, of(f)-of(5000), delay.At(f)-delay.At(5000), 0.006, "%v Hz, ms; 3 %% of the largest: the kernel is taken in steps of 1/48 octave", f)
	}
}
