// Package hugepage allocates long slices on large memory pages.
package hugepage

import (
	"reflect"
	"runtime"
)

// large is the size in bytes from which large pages are worth asking for.
const large = 4 << 20

// Make returns n zeros, as make does. For a long slice it asks the system for large pages: with
// pages of 4 KiB the first touch of each may take longer than reading what is stored there, and a
// long transform, which steps far through memory, waits for the translation of each address.
func Make[T float64 | complex128](n int) []T {
	x := make([]T, n)
	if bytes := uintptr(n) * reflect.TypeFor[T]().Size(); bytes >= large {
		largePages(reflect.ValueOf(x).Pointer(), bytes)
		runtime.KeepAlive(x)
	}
	return x
}
