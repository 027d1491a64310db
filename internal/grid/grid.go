// Package grid joins lists of frequencies.
package grid

import "slices"

// Union returns the values of all lists that lie from low to high, both included, in ascending
// order and each once; nil unless low < high.
func Union(low, high float64, lists ...[]float64) []float64 {
	if !(low < high) {
		return nil
	}
	all := slices.DeleteFunc(slices.Concat(lists...), func(v float64) bool { return !(low <= v && v <= high) })
	slices.Sort(all)
	return slices.Compact(all)
}
