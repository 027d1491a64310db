package hugepage

import "syscall"

// largePages advises the kernel to back so many bytes from an address on by large pages, as most
// systems do only when asked (madvise(2), MADV_HUGEPAGE). It is no more than advice: the contents
// are the same either way, and so it does not matter whether the kernel takes it.
func largePages(address, bytes uintptr) {
	page := uintptr(syscall.Getpagesize())
	to := (address + bytes) &^ (page - 1)
	from := (address + page - 1) &^ (page - 1)
	syscall.Syscall(syscall.SYS_MADVISE, from, to-from, syscall.MADV_HUGEPAGE)
}
