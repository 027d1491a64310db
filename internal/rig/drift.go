package rig

import (
	"sync"

	"example.com/earnest/internal/interpolate"
)

// The clock of the recorder is a little off that of the player. The samples it takes lie between
// those that were played. A windowed sinc computes them; it is tabulated at 512 places between two
// samples, with a straight line between the places, so that the table's error is −116 dB.
var sincTable = sync.OnceValue(func() *interpolate.Table { return interpolate.NewTable(sincHalf, 512, sincBeta) })

// resampled returns n samples of x taken at i/ratio − delay, i = 0 … n−1: a recorder whose clock is
// faster by ratio, delay samples late.
func resampled(x []float64, ratio, delay float64, n int) []float64 {
	table, y := sincTable(), make([]float64, n)
	for i := range y {
		y[i] = table.Linear(x, float64(i)/ratio-delay)
	}
	return y
}
