package rig

import (
	"sync"

	"example.com/earnest/internal/interpolate"
)

// sincTable computes the samples of a recorder whose clock differs a little from the player's,
// which lie between the played ones. It holds a windowed sinc at 512 places between two samples;
// with linear interpolation between the places its error is −116 dB.
var sincTable = sync.OnceValue(func() *interpolate.Table { return interpolate.NewTable(sincHalf, 512, sincBeta) })

// resampled returns n samples of x taken at i/ratio − delay, i = 0 … n−1: by a recorder whose clock
// is faster by ratio, delay samples late.
func resampled(x []float64, ratio, delay float64, n int) []float64 {
	table, y := sincTable(), make([]float64, n)
	for i := range y {
		y[i] = table.Linear(x, float64(i)/ratio-delay)
	}
	return y
}
