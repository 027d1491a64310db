//go:build !linux

package room

// largePages does nothing: only Linux takes such advice for memory that is there already.
func largePages(address, bytes uintptr) {}
