package capture

import (
	"runtime"
	"sync"

	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/parallel"
)

// Clock is the rate of a recorder's clock relative to the player's.
type Clock struct {
	// Drift is in parts per million. Above zero the recorder's clock is the faster one, and the
	// recording the longer.
	Drift float64
	// Uncertainty is the standard uncertainty of Drift from noise, in parts per million.
	Uncertainty float64
}

// MaxDrift is the largest difference of clocks, in parts per million, that counts as drift:
// crystals of separate devices differ by less than 100 (common practice). A larger one comes from
// another sample rate or another stimulus.
const MaxDrift = 300

// The interpolator is a sinc of the recording's own rate under a Kaiser window. It is tabulated at
// so many places between two samples that linear interpolation between them is exact to −120 dB. 96
// taps and β = 10 pass up to 0.92 of half the rate within 0.001 dB.
const (
	resampleHalf   = 48
	resamplePhases = 1024
	resampleBeta   = 10
)

var resampleTable = sync.OnceValue(func() *interpolate.Table {
	return interpolate.NewTable(resampleHalf, resamplePhases, resampleBeta)
})

// Correct returns samples from ≤ i < to of a channel as a recorder on the player's clock would have
// made it, interpolated by a windowed sinc. The magnitude is right to 0.001 dB up to 0.92 of half
// the sample rate. Samples outside the channel are zero.
func (c Clock) Correct(channel []float64, from, to int) []float64 {
	step := 1 + c.Drift*1e-6
	first, last := max(from, 0), min(to, int(float64(len(channel))/step))
	out, table := make([]float64, to-from), resampleTable()
	pieces := runtime.GOMAXPROCS(0)
	parallel.Do(pieces, func(p int) {
		n := max(0, last-first)
		for i := first + n*p/pieces; i < first+n*(p+1)/pieces; i++ {
			out[i-from] = table.Linear(channel, float64(i)*step)
		}
	})
	return out
}
