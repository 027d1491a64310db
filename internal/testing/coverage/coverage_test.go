package coverage

import (
	"flag"
	"fmt"
	"os"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
)

// few is the number of reviews or sessions that the tests draw by default.
const few = 3

var (
	reviews  = flag.Int("reviews", few, "invented reviews in the test of the 95 % intervals; 1000 take about half an hour")
	seed     = flag.Uint64("seed", 1, "seed of the first of them")
	within   = flag.Duration("within", 0, "begin no review after so long, and print what there is; 0 sets no limit")
	unjudged = flag.Bool("unjudged", false, "count responses and distortion alone, without rivals, levels and a judgement, which is three times as fast")
	only     = flag.String("family", "", "the only family of seatings to draw; all in turn if empty")
)

// Each review draws its seatings from one family; every eighth is sampled at 48 kHz, the others at
// 25.6 kHz.
func TestIntervals(t *testing.T) {
	if *reviews == few {
		long.Skip(t)
	}
	slow, err := newBench(25600)
	require.NoError(t, err)
	fast, err := newBench(48000)
	require.NoError(t, err)
	drawn := chosen()
	require.NotEmpty(t, drawn, "there is no family of that name")
	draws, failed := make([]draw, *reviews), make([]error, *reviews)
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				b := slow
				if i%8 == 7 && *reviews > few {
					b = fast
				}
				draws[i], failed[i] = newSession(*seed, i, b, drawn[i%len(drawn)]).run()
			}
		})
	}
	begun, done := time.Now(), 0
	for ; done < len(draws) && (*within == 0 || time.Since(begun) < *within); done++ {
		next <- done
	}
	close(next)
	wait.Wait()
	named, others := tally{}, tally{}
	refused := 0
	for i, d := range draws[:done] {
		if failed[i] != nil {
			refused++
			t.Logf("review %d: %v", i, failed[i])
			continue
		}
		if f := drawn[i%len(drawn)]; f.named {
			named.draws = append(named.draws, d)
		} else {
			others.draws = append(others.draws, d.told(f.name))
		}
	}
	if testing.Verbose() {
		fmt.Printf("%d reviews, seed %d, %d refused; %d of families for which intervals are said to hold\n", done, *seed, refused, len(named.draws))
		named.print(os.Stdout)
		others.print(os.Stdout)
	}
	named.check(t, *reviews <= few)
}

// chosen returns the families to draw from in turn: those for which the documentation says that
// intervals hold, and after each round of them one other.
func chosen() []family {
	var named, drawn []family
	for _, f := range families {
		if *only == f.name {
			return []family{f}
		}
		if f.named {
			named = append(named, f)
		}
	}
	if *only != "" {
		return nil
	}
	for _, f := range families {
		if !f.named {
			drawn = append(append(drawn, named...), f)
		}
	}
	return drawn
}

// told returns the part of a family without a required share: the pointwise responses and the sums
// over them.
func (d draw) told(name string) draw {
	out := draw{}
	for l, c := range d {
		if strings.HasPrefix(l.figure, "response of a side") || strings.HasPrefix(l.figure, "a side: ") {
			out[line{told, name + ": " + l.figure}] = c
		}
	}
	return out
}
