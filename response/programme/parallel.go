package programme

import (
	"runtime"
	"sync"
)

// parallel calls for 0 … n−1 what start makes for each goroutine: one function
// with scratch memory of its own.
func parallel(n int, start func() func(i int)) {
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
