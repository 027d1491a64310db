// Package hugepage allocates long slices on large memory pages.
package hugepage

import (
	"reflect"
	"runtime"
)

// large is the size in bytes above which large pages are requested.
const large = 4 << 20

// Make returns n zeros, as make does. For a long slice it asks the system for large pages. With
// pages of 4 KiB the first access to each may take longer than reading it, and a long transform,
// which steps far through memory, waits for the translation of each address.
func Make[T float64 | complex128](n int) []T {
	x := make([]T, n)
	if bytes := uintptr(n) * reflect.TypeFor[T]().Size(); bytes >= large {
		largePages(reflect.ValueOf(x).Pointer(), bytes)
		runtime.KeepAlive(x)
	}
	return x
}
