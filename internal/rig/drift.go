package rig

import (
	"math"
	"sync"
)

// The clock of the recorder is a little off that of the player. The samples it
// takes lie between those that were played; they are worked out by a windowed
// sinc that is tabulated at sincPhases places between two samples, with its
// slope to the next place, so that the table's error is −116 dB.
const sincPhases = 512

// resampled returns n samples of x taken at i/ratio − delay, i = 0 … n−1: a
// recorder whose clock is faster by ratio, delay samples late.
func resampled(x []float64, ratio, delay float64, n int) []float64 {
	const width = 2 * sincHalf
	table := sincTable()
	y := make([]float64, n)
	for i := range y {
		position := float64(i)/ratio - delay
		whole := math.Floor(position)
		phase := (position - whole) * sincPhases
		row := int(phase)
		weight, slope := table[row][:width], table[row][width:]
		from := int(whole) - (sincHalf - 1)
		if from < 0 || from+width > len(x) {
			y[i] = atEdge(x, from, weight, slope, phase-float64(row))
			continue
		}
		near := x[from : from+width]
		var a, b, c, d float64
		for j := 0; j < width; j += 2 {
			u, v := near[j], near[j+1]
			a += u * weight[j]
			b += v * weight[j+1]
			c += u * slope[j]
			d += v * slope[j+1]
		}
		y[i] = a + b + (phase-float64(row))*(c+d)
	}
	return y
}

// atEdge is the sum where some of the samples lie outside x and are zero.
func atEdge(x []float64, from int, weight, slope []float64, fraction float64) float64 {
	var sum float64
	for j, w := range weight {
		if k := from + j; k >= 0 && k < len(x) {
			sum += x[k] * (w + fraction*slope[j])
		}
	}
	return sum
}

// sincTable holds in each row the weights of one phase, then what to add to
// them to come to the next. It is worked out once.
var sincTable = sync.OnceValue(func() [][]float64 {
	const width = 2 * sincHalf
	w := newKaiser(sincLevel)
	table := make([][]float64, sincPhases)
	next := make([]float64, width)
	w.between(next, 0)
	for r := range table {
		row := make([]float64, 2*width)
		copy(row, next)
		w.between(next, float64(r+1)/sincPhases)
		for j := range next {
			row[width+j] = next[j] - row[j]
		}
		table[r] = row
	}
	return table
})
