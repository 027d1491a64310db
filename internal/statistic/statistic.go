// Package statistic has what gonum's stat has not: the median as textbooks define it, the mean
// square of samples, and a name for numbers.
package statistic

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Median returns the middle value of x, or the mean of the two middle ones of an even number. It is
// NaN where any value is NaN, and where there are none. x is left as it is.
func Median(x []float64) float64 {
	n := len(x)
	if n == 0 || floats.HasNaN(x) {
		return math.NaN()
	}
	sorted := slices.Sorted(slices.Values(x))
	return (sorted[(n-1)/2] + sorted[n/2]) / 2
}

// MedianDeviation returns the median of x, and the median of the distances from it (Hampel 1974).
func MedianDeviation(x []float64) (median, deviation float64) {
	median = Median(x)
	away := make([]float64, len(x))
	for i, v := range x {
		away[i] = math.Abs(v - median)
	}
	return median, Median(away)
}

// Fingerprint returns a text that is the same for the same numbers, and differs for others but for
// one chance in 2⁶⁴.
func Fingerprint(all ...[]float64) string {
	h := fnv.New64a()
	for _, x := range all {
		for _, v := range x {
			binary.Write(h, binary.LittleEndian, v) // a hash never fails
		}
	}
	return fmt.Sprintf("%016x", h.Sum64())
}

// MeanSquare returns Σx²/n: the power of samples. It is NaN where there are none.
func MeanSquare(x []float64) float64 { return floats.Dot(x, x) / float64(len(x)) }
