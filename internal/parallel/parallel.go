// Package parallel divides work among as many goroutines as there are processors.
package parallel

import (
	"runtime"
	"sync"
)

// Do calls do for each of 0 … n−1, in no order, and returns when all have returned.
func Do(n int, do func(i int)) { With(n, func() func(int) { return do }) }

// With is like Do for work that needs scratch memory: start is called once in each goroutine and
// returns the function that this goroutine calls.
func With(n int, start func() func(i int)) {
	next := make(chan int, n)
	for i := range n {
		next <- i
	}
	close(next)
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wait.Go(func() {
			do := start()
			for i := range next {
				do(i)
			}
		})
	}
	wait.Wait()
}
