package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
)

// detectRepeatedBlocks finds blocks that are there twice, one right after the other, bit for bit,
// as a recorder leaves them that was late for its own buffer: 16 samples to a quarter of a second.
// Noise makes that impossible by chance; in a sound without noise, such as a tone made by a
// computer, equality goes on for longer than the block. It also returns the samples at which the
// second copies begin.
func detectRepeatedBlocks(c *channel) (found []response.Finding, blocks []int) {
	const shortest = 16
	x, longest := c.x, int(c.fs/4)
	length := 0
	h := newRolling(x, shortest)
	for i := shortest; i+shortest <= len(x); i++ {
		j, seen := h.seen(i)
		if !seen || i-j > longest || i-j < shortest || !slices.Equal(x[j:j+shortest], x[i:i+shortest]) {
			continue
		}
		lag, from, to := i-j, i, i+shortest
		for from > lag && x[from-1] == x[from-1-lag] {
			from--
		}
		for to < len(x) && x[to] == x[to-lag] {
			to++
		}
		if run := to - from; run >= lag && run <= lag+shortest/2 && c.varied(x[from:to]) {
			if blocks == nil {
				length = lag
			}
			blocks = append(blocks, from)
		}
		i = h.skip(to - shortest)
	}
	if blocks == nil {
		return nil, nil
	}
	t := float64(blocks[0]) / c.fs
	what := fmt.Sprintf("repeats %s samples at %s", count(length), seconds(t))
	if n := len(blocks); n > 1 {
		what += fmt.Sprintf(", the first of %s repeated blocks", count(n))
	}
	return c.finding(response.Finding{Kind: RepeatedSamples, Severity: response.Unfit, Time: t,
		Duration: float64(length) / c.fs, What: what,
		Remedy:  "raise the recorder's buffer size, close other programs, and record again",
		Figures: figures{"length": figure(float64(length), "samples"), "blocks": figure(float64(len(blocks)), "")}}), blocks
}

// varied tells noise from constants, and from steps so coarse that they repeat by chance: it asks
// for 8 values over 16 steps.
func (c *channel) varied(x []float64) bool {
	if slices.Max(x)-slices.Min(x) < 16*c.step {
		return false
	}
	values := map[float64]bool{}
	for _, v := range x[:min(len(x), 1000)] {
		values[v] = true
	}
	return len(values) >= 8
}

// rolling remembers where runs of samples were last seen, by a polynomial hash of their bits (Karp
// & Rabin, IBM J. Res. Dev. 31(2), 1987).
type rolling struct {
	x      []float64
	n      int
	hash   uint64 // of the n samples before next
	next   int
	out    uint64 // the factor of a sample that leaves
	places []seenAt
}

type seenAt struct {
	hash uint64
	at   int32
}

const base = 0x9e3779b97f4a7c15

func newRolling(x []float64, n int) *rolling {
	r := &rolling{x: x, n: n, out: 1, places: make([]seenAt, 1<<16)}
	for range n {
		r.out *= base
	}
	for i := range r.places {
		r.places[i].at = -1
	}
	return r
}

// seen returns where the n samples from i on were last seen; i goes up by one each time.
func (r *rolling) seen(i int) (at int, seen bool) {
	for r.next < i+r.n {
		r.push()
	}
	p := r.places[r.hash>>48]
	r.remember(i)
	return int(p.at), p.at >= 0 && p.hash == r.hash && int(p.at) < i
}

func (r *rolling) push() {
	r.hash = r.hash*base + math.Float64bits(r.x[r.next])
	if r.next >= r.n {
		r.hash -= r.out * math.Float64bits(r.x[r.next-r.n])
	}
	r.next++
}

func (r *rolling) remember(i int) {
	r.places[r.hash>>48] = seenAt{r.hash, int32(i)}
}

// skip goes on to i, remembering what is on the way, and returns it.
func (r *rolling) skip(i int) int {
	for r.next < i+r.n {
		r.push()
		if start := r.next - r.n; start >= 0 {
			r.remember(start)
		}
	}
	return i
}
