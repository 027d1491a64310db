package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
)

// sudden reports whether x, whose last sample is the first of a run, changed by more than steps,
// and as much just before it as anywhere else.
func (c *channel) sudden(x []float64) bool {
	var largest, total float64
	for i := 1; i < len(x); i++ {
		d := math.Abs(x[i] - x[i-1])
		largest = max(largest, d)
		total += d
	}
	n := len(x)
	near := max(math.Abs(x[n-1]-x[n-2]), math.Abs(x[n-2]-x[n-3]), math.Abs(x[n-3]-x[n-4]))
	return near >= largest/2 && total/float64(n-1) > max(4*c.step, 1e-4*c.peak)
}

// detectHeldSamples finds a sample that is held, or digital silence, for 32 samples and more within
// sound. It also returns the samples at which that begins and ends.
func detectHeldSamples(c *channel) (found []response.Finding, ends []int) {
	const least, beside = 32, 64
	x := c.x
	for start := 0; start < len(x); {
		end := start + 1
		for end < len(x) && x[end] == x[start] {
			end++
		}
		if run := end - start; run >= least && start >= beside && end+beside <= len(x) && math.Abs(x[start]) < 0.98*c.peak &&
			c.sudden(x[start-beside:start+1]) && c.sudden(reversed(x[end-1:end+beside])) {
			t := float64(start) / c.fs
			return c.finding(response.Finding{Kind: DroppedSamples, Severity: response.Unfit, Time: t,
				Duration: float64(run) / c.fs,
				What:     fmt.Sprintf("stands still for %s samples at %s", count(run), seconds(t)),
				Remedy:   "raise the recorder's buffer size, close other programs, and record again",
				Figures:  figures{"missing": figure(float64(run)/c.fs, "s")}}), []int{start, end}
		}
		start = end
	}
	return nil, nil
}

func reversed(x []float64) []float64 {
	y := slices.Clone(x)
	slices.Reverse(y)
	return y
}
