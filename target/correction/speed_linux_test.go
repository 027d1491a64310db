package correction_test

import (
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/target/correction"
)

// Filters are found while somebody waits. By the time on the processors, which other work on the
// machine changes least, and the fastest of several.
func TestFiltersAreFoundInATenthOfASecond(t *testing.T) {
	race.Skip(t)
	c := undoing(t, five)
	worked := func() time.Duration {
		var usage syscall.Rusage
		require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &usage))
		return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
	}
	best := time.Hour
	for range 7 {
		start := worked()
		fit(t, c, correction.Config{})
		best = min(best, worked()-start)
	}
	assert.Less(t, best, 100*time.Millisecond)
}
