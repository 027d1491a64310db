package coverage

import (
	"flag"
	"fmt"
	"os"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/race"
)

// few reviews or sessions are what the tests draw if nothing else is asked for.
const few = 8

var (
	reviews = flag.Int("reviews", few, "invented reviews in the test of the 95 % intervals; 1000 take about half an hour")
	seed    = flag.Uint64("seed", 1, "seed of the first of them")
	only    = flag.String("family", "", "the only family of seatings to draw; all in turn if empty")
)

// Each review has a family of seatings of its own; every fourth is sampled at 48 kHz, the others at 24 kHz.
func TestIntervals(t *testing.T) {
	race.Skip(t)
	slow, err := newBench(24000)
	require.NoError(t, err)
	fast, err := newBench(48000)
	require.NoError(t, err)
	var drawn []family
	for _, f := range families {
		if *only == f.name || *only == "" {
			drawn = append(drawn, f)
		}
	}
	require.NotEmpty(t, drawn, "there is no family of that name")
	draws, failed := make([]draw, *reviews), make([]error, *reviews)
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				b := slow
				if i%4 == 3 && *reviews > few {
					b = fast
				}
				draws[i], failed[i] = newSession(*seed, i, b, drawn[i%len(drawn)]).run()
			}
		})
	}
	for i := range draws {
		next <- i
	}
	close(next)
	wait.Wait()
	named, all := tally{}, map[string]*tally{}
	refused := 0
	for i, d := range draws {
		if failed[i] != nil {
			refused++
			t.Logf("review %d: %v", i, failed[i])
			continue
		}
		f := drawn[i%len(drawn)]
		if f.named {
			named.draws = append(named.draws, d)
		}
		if all[f.name] == nil {
			all[f.name] = &tally{}
		}
		all[f.name].draws = append(all[f.name].draws, d)
	}
	if testing.Verbose() {
		fmt.Printf("%d reviews, %d refused\n", *reviews, refused)
		named.print(os.Stdout)
	}
	named.check(t, *reviews <= few)
}
