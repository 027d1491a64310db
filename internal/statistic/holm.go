package statistic

import (
	"math"
	"slices"
)

// Holm adjusts probabilities for their number. In ascending order the i-th of n, from 0, is
// multiplied by n − i, and is at least the one before. A probability that is not known counts as a
// comparison and stays not known.
func Holm(p []float64) []float64 {
	order := make([]int, 0, len(p))
	out := make([]float64, len(p))
	for i, v := range p {
		out[i] = math.NaN()
		if !math.IsNaN(v) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	var least float64
	for rank, i := range order {
		least = max(least, min(1, p[i]*float64(len(p)-rank)))
		out[i] = least
	}
	return out
}
