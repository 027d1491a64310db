//go:build unix

package progress

import (
	"syscall"
	"time"
)

// processors returns the time of all processors together that this process has used.
func processors() time.Duration {
	var usage syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &usage) != nil {
		return 0
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}
