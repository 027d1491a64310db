package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
)

// base is that of a polynomial hash of the bits of a run of samples (Karp & Rabin, IBM J. Res. Dev.
// 31(2), 1987), which rolls on by one sample at a time.
const base = 0x9e3779b97f4a7c15

// rolling holds the last position of each run of samples, by hash.
type rolling struct {
	x      []float64
	n      int
	hash   uint64 // of the n samples from at on
	at     int
	out    uint64         // the factor of a sample that leaves
	places [1 << 16]int32 // 1 more than the last position of a run with a hash; the cache holds them
}

func newRolling(x []float64, n int) *rolling {
	r := &rolling{x: x, n: n, out: 1}
	for i := range n {
		r.out *= base
		r.hash = r.hash*base + math.Float64bits(x[i])
	}
	return r
}

// step advances by one sample, and returns the last position of n samples with the hash of those
// from there on, or nearly, or −1 if there is none. At least n samples must follow.
func (r *rolling) step() int {
	leaves, joins := r.x[r.at], r.x[r.at+r.n]
	r.at++
	r.hash = r.hash*base + math.Float64bits(joins) - r.out*math.Float64bits(leaves)
	p := &r.places[r.hash>>48]
	last := int(*p) - 1
	*p = int32(r.at + 1)
	return last
}

// varied distinguishes noise from constants, and from steps so coarse that they repeat by chance:
// it requires 8 values over 16 steps.
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

// periodic reports whether the block of lag samples before a repeated one follows a third copy of
// it, to two steps. A soft sweep in coarse steps repeats bit for bit where its period is a whole
// number of samples.
func (c *channel) periodic(from, lag int) bool {
	if from < 2*lag {
		return false
	}
	for i := from - lag; i < from; i++ {
		if math.Abs(c.x[i]-c.x[i-lag]) > 2*c.step {
			return false
		}
	}
	return true
}

// detectRepeatedBlocks finds blocks that occur twice, one directly after the other, bit for bit, as
// from a recorder that was late for its own buffer: 16 samples to a quarter of a second. Noise
// makes that impossible by chance; in a sound without noise, such as a computed tone, equality
// extends beyond the block. It also returns the samples at which the second copies begin.
func detectRepeatedBlocks(c *channel) (found []response.Finding, blocks []int) {
	const shortest = 16
	x, longest := c.x, int(c.fs/4)
	if len(x) < 2*shortest {
		return nil, nil
	}
	length := 0
	h := newRolling(x, shortest)
	h.places[h.hash>>48] = 1
	for i := 1; i+shortest <= len(x); i++ {
		j := h.step()
		if j < 0 || i-j > longest || i-j < shortest || x[i] != x[j] || !slices.Equal(x[j:j+shortest], x[i:i+shortest]) {
			continue
		}
		lag, from, to := i-j, i, i+shortest
		for from > lag && x[from-1] == x[from-1-lag] {
			from--
		}
		for to < len(x) && x[to] == x[to-lag] {
			to++
		}
		if run := to - from; run >= lag && run <= lag+shortest/2 && c.varied(x[from:to]) && !c.periodic(from, lag) {
			if blocks == nil {
				length = lag
			}
			blocks = append(blocks, from)
		}
		for ; i < to-shortest; i++ {
			h.step()
		}
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
