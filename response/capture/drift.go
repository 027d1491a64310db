package capture

import (
	"runtime"
	"sync"

	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/parallel"
)

// Clock is how a recorder's clock runs against the player's.
type Clock struct {
	// Drift in parts per million: above zero the recorder's clock is the faster, and the recording the
	// longer.
	Drift float64
	// Uncertainty is the standard uncertainty of Drift from noise, in parts per million.
	Uncertainty float64
}

// MaxDrift is the largest drift, in parts per million, that is taken for one: crystals of separate
// devices differ by less than 100 (common practice). A larger one is another sample rate, or another
// stimulus.
const MaxDrift = 300

// The interpolator: a sinc of the recording's own rate under a Kaiser window, tabulated at so many
// places between two samples that a straight line between them is exact to −120 dB. 96 taps and
// β = 10 pass up to 0.92 of half the rate within 0.001 dB.
const (
	resampleHalf   = 48
	resamplePhases = 1024
	resampleBeta   = 10
)

var resampleTable = sync.OnceValue(func() *interpolate.Table {
	return interpolate.NewTable(resampleHalf, resamplePhases, resampleBeta)
})

// CorrectDrift returns the recording as a recorder on the player's clock would have made it: every
// channel interpolated by a windowed sinc. The magnitude is right to 0.001 dB up to 0.92 of half the
// sample rate.
func (r *Recording) CorrectDrift(c Clock) *Recording {
	out := *r
	out.Channels = make([][]float64, len(r.Channels))
	step := 1 + c.Drift*1e-6
	for k, x := range r.Channels {
		out.Channels[k] = stretch(x, step)
	}
	return &out
}

// stretch reads x at every step-th of a sample, in as many pieces as there are processors.
func stretch(x []float64, step float64) []float64 {
	out := make([]float64, int(float64(len(x))/step))
	pieces, table := runtime.GOMAXPROCS(0), resampleTable()
	parallel.Do(pieces, func(p int) {
		for i := len(out) * p / pieces; i < len(out)*(p+1)/pieces; i++ {
			out[i] = table.Linear(x, float64(i)*step)
		}
	})
	return out
}
