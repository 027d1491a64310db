//go:build !linux

package hugepage

// largePages does nothing: only Linux takes such advice for memory that is allocated already.
func largePages(address, bytes uintptr) {}
