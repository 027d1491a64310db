//go:build unix

package progress

import (
	"syscall"
	"time"
)

// processors is the time that this process has had all processors for, together.
func processors() time.Duration {
	var usage syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &usage) != nil {
		return 0
	}
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}
