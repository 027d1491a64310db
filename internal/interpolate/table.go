package interpolate

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Table holds the weights of the kernel at places between two samples. It is made once and is safe
// for concurrent use.
type Table struct {
	half, phases int
	rows         [][]float64 // the 2 half weights at each place; the last row is the first of the next sample
}

// NewTable tabulates a kernel of half samples on each side at a number of places between two
// samples.
func NewTable(half, phases int, beta float64) *Table {
	side := make([]float64, half*phases+1) // the kernel is even
	for i := range side {
		side[i] = Kernel(float64(i)/float64(phases), float64(half), beta)
	}
	t := &Table{half, phases, make([][]float64, phases+1)}
	all := make([]float64, 2*half*len(t.rows))
	for p := range t.rows {
		t.rows[p] = all[2*half*p:][:2*half]
		for i := range t.rows[p] {
			at := (i-half+1)*phases - p
			t.rows[p][i] = side[max(at, -at)]
		}
	}
	return t
}

// Nearest reads x at a fractional index by the weights of the nearest place in the table. Samples
// beyond the ends of x count as zero.
func (t *Table) Nearest(x []float64, at float64) float64 {
	base := math.Floor(at)
	row := t.rows[int((at-base)*float64(t.phases)+0.5)]
	near, row := overlap(x, row, int(base)-t.half+1)
	return floats.Dot(row, near)
}

// Linear reads x at a fractional index by weights that are interpolated linearly between the two
// nearest places in the table. It takes twice the time of Nearest and a far smaller table. Samples
// beyond the ends of x count as zero.
func (t *Table) Linear(x []float64, at float64) float64 {
	base := math.Floor(at)
	phase := (at - base) * float64(t.phases)
	p := int(phase)
	phase -= float64(p)
	first := int(base) - t.half + 1
	near, lower := overlap(x, t.rows[p], first)
	_, upper := overlap(x, t.rows[p+1], first)
	value := floats.Dot(lower, near)
	return value + phase*(floats.Dot(upper, near)-value)
}

// overlap returns the samples of x from index first on that have a weight, and their weights.
func overlap(x, weights []float64, first int) (near, used []float64) {
	from, to := max(0, first), min(len(x), first+len(weights))
	if from >= to {
		return nil, nil
	}
	return x[from:to], weights[from-first : to-first]
}
