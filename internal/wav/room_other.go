//go:build !linux

package wav

// largePages does nothing: only Linux takes such advice for memory that is there already.
func largePages([]float64) {}
