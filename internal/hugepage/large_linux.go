package hugepage

import "syscall"

// largePages advises the kernel to use large pages for a number of bytes from an address on, which
// most systems do only on request (madvise(2), MADV_HUGEPAGE). The contents do not depend on it, so
// a refusal does not matter.
func largePages(address, bytes uintptr) {
	page := uintptr(syscall.Getpagesize())
	to := (address + bytes) &^ (page - 1)
	from := (address + page - 1) &^ (page - 1)
	syscall.Syscall(syscall.SYS_MADVISE, from, to-from, syscall.MADV_HUGEPAGE)
}
