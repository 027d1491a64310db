// Package statistic complements gonum's stat: the median as textbooks define it, the mean square of
// samples, and a fingerprint of numbers.
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
// NaN if any value is NaN, and if there are none. It does not change x.
func Median(x []float64) float64 {
	n := len(x)
	if n == 0 || floats.HasNaN(x) {
		return math.NaN()
	}
	x = slices.Clone(x)
	upper := Select(x, n/2)
	if n%2 != 0 {
		return upper
	}
	return (slices.Max(x[:n/2]) + upper) / 2
}

// Largest returns the largest of the values that are known. It is NaN if none is.
func Largest(x ...float64) float64 {
	largest := math.NaN()
	for _, v := range x {
		if math.IsNaN(largest) || v > largest {
			largest = v
		}
	}
	return largest
}

// Select returns the value at index k of the sorted x, and moves lower values before it and higher
// ones behind it, in a time proportional to len(x) (Hoare, Comm. ACM 4(7), 1961: Find). No value
// may be NaN; a k outside x panics.
func Select(x []float64, k int) float64 {
	for from, to := 0, len(x)-1; from < to; {
		// The median of three is seldom the lowest or the highest of all.
		a, b, c := x[from], x[(from+to)/2], x[to]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := from, to
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			to = j
		case k >= i:
			from = i
		default:
			return x[k]
		}
	}
	return x[k]
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

// Fingerprint returns a text that is the same for equal numbers, and different for others, except
// for one chance in 2⁶⁴.
func Fingerprint(all ...[]float64) string {
	h := fnv.New64a()
	var bytes [8]byte
	for _, x := range all {
		for _, v := range x {
			binary.LittleEndian.PutUint64(bytes[:], math.Float64bits(v))
			h.Write(bytes[:]) // a hash never fails
		}
	}
	return fmt.Sprintf("%016x", h.Sum64())
}

// MeanSquare returns Σx²/n: the power of samples. It is NaN if there are none.
func MeanSquare(x []float64) float64 { return floats.Dot(x, x) / float64(len(x)) }
