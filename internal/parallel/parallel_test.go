package parallel

import (
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestEachIsDoneOnce(t *testing.T) {
	count := make([]int, 1000)
	Do(len(count), func(i int) { count[i]++ })
	for i, n := range count {
		assert.Equal(t, 1, n, i)
	}
	Do(0, func(int) { t.Error("there is nothing to do") })
}

func TestScratchIsOfOneGoroutine(t *testing.T) {
	var sum atomic.Int64
	With(100, func() func(int) {
		scratch := 0
		return func(i int) {
			scratch = i
			sum.Add(int64(scratch))
		}
	})
	assert.EqualValues(t, 4950, sum.Load(), "99·100/2")
}
