package wav

import (
	"reflect"
	"runtime"
	"syscall"
)

// largePages advises the kernel to back the memory of x by large pages, as most systems do only when asked (madvise(2),
// MADV_HUGEPAGE). It is no more than advice: the contents are the same either way, and so it does not matter whether the kernel
// takes it.
func largePages(x []float64) {
	page := uintptr(syscall.Getpagesize())
	from := reflect.ValueOf(x).Pointer()
	to := (from + 8*uintptr(len(x))) &^ (page - 1)
	from = (from + page - 1) &^ (page - 1)
	syscall.Syscall(syscall.SYS_MADVISE, from, to-from, syscall.MADV_HUGEPAGE)
	runtime.KeepAlive(x)
}
