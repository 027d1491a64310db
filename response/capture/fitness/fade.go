package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/search"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

const (
	fadeBlocks   = 8
	fadeShortest = 0.1  // s of silence
	fadeRises    = 0.25 // the noise of the first block re that of the last, at most; a straight line has 1/15
)

// risesFromNothing reports whether the noise of a silence rises from block to block, to at least
// four times its first level; backwards in time, if back is true.
func (c *channel) risesFromNothing(from, to float64, back bool) bool {
	x := search.Within(c.x, int(from), int(to-c.fs/50))
	n := len(x) / fadeBlocks
	if float64(len(x)) < fadeShortest*c.fs {
		return false
	}
	var levels []float64
	for k := range fadeBlocks {
		var square float64 // of the differences, which are white enough for short blocks
		for i := k*n + 1; i < (k+1)*n; i++ {
			square += (x[i] - x[i-1]) * (x[i] - x[i-1])
		}
		levels = append(levels, math.Sqrt(square))
	}
	if back {
		slices.Reverse(levels)
	}
	return slices.IsSorted(levels) && levels[0] < fadeRises*levels[fadeBlocks-1]
}

// detectFade finds a recording that an editor fades in, or out: one timing mark is softer than the
// sweep by off dB, and the noise between it and that end of the recording rises from nothing, or
// falls to nothing, all the time. A gain that follows the level is steady while nothing is played.
func detectFade(c *channel, off float64) []response.Finding {
	segments, all := c.Stimulus.Segments(), c.comparisons()
	last := segments[len(segments)-1]
	f := response.Finding{Kind: Fade, Severity: unfitIf(math.Abs(off) > 5*worstError), Time: 0, Duration: nowhere,
		Remedy:  "take the file as it was recorded, without fades, or record again",
		Figures: figures{markOverSweepFigure: figure(off, "dB")}}
	softer := func(m *comparison) bool { return m != nil && m.moves() && m.median < 0 }
	switch {
	case segments[0].Kind == sweep.Silence && softer(all[0]) && c.risesFromNothing(0, c.recordedAt(segments[0].Len), false):
		f.What = "fades in"
	case last.Kind == sweep.Silence && softer(all[len(all)-1]) &&
		c.risesFromNothing(c.recordedAt(last.Start+last.Len/2), float64(len(c.x)), true):
		f.What, f.Time = "fades out", c.recordedAt(last.Start)/c.fs
	default:
		return nil
	}
	f.What += fmt.Sprintf(", as an editor does it: a timing mark is %.2g dB from the level of the sweep at the same frequencies, "+
		"and the response is off by at least as much where the fade reaches into the sweep", math.Abs(off))
	return c.finding(f)
}
