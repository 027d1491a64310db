// Package room makes memory for long sequences.
package room

import (
	"reflect"
	"runtime"
)

// large is from how many bytes on large pages are worth asking for.
const large = 4 << 20

// For returns n values to be filled, all 0. It is make, but for long sequences asks the system for large pages: with those of
// 4 KiB, the first touch of each may take longer than reading what goes there, and walking through them in wide steps, as a long
// transform does, waits for the address of each.
func For[T float64 | complex128](n int) []T {
	x := make([]T, n)
	if bytes := uintptr(n) * reflect.TypeFor[T]().Size(); bytes >= large {
		largePages(reflect.ValueOf(x).Pointer(), bytes)
		runtime.KeepAlive(x)
	}
	return x
}
