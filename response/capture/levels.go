package capture

import (
	"math"
	"slices"

	"example.com/earnest/sweep"
)

// levels is how loud a channel is, full scale being 1.
type levels struct {
	peak, rms, mean float64
	frame           int       // samples in a frame, 10 ms
	frames          []float64 // rms of each frame about the mean of all
	sorted          []float64 // frames, the softest first
}

func levelsOf(x []float64, fs float64) levels {
	l := levels{frame: max(1, int(fs/100))}
	n := float64(len(x))
	sums := make([]float64, len(x)/l.frame)
	l.frames = make([]float64, len(sums))
	var total, square float64
	for at := 0; at < len(x); at += l.frame {
		var sum, power float64
		for _, v := range x[at:min(at+l.frame, len(x))] {
			sum += v
			power += v * v
			l.peak = max(l.peak, math.Abs(v))
		}
		total += sum
		square += power
		if k := at / l.frame; k < len(sums) {
			sums[k], l.frames[k] = sum, power
		}
	}
	l.mean, l.rms = total/n, math.Sqrt(square/n)
	for k, power := range l.frames {
		m := float64(l.frame)
		l.frames[k] = math.Sqrt(max(0, power/m-2*l.mean*sums[k]/m+l.mean*l.mean))
	}
	l.sorted = slices.Sorted(slices.Values(l.frames))
	return l
}

// quantile of the frames' levels; 0 of none.
func (l levels) quantile(q float64) float64 {
	if len(l.sorted) == 0 {
		return 0
	}
	return l.sorted[int(q*float64(len(l.sorted)-1))]
}

// stepOf is the step that all samples are multiples of: that of the format, or a coarser one where bits are not used, as in a
// 16-bit recording that was saved again in 24. 0 if there is none.
func stepOf(x []float64, f Format) float64 {
	for _, bits := range []int{8, 12, 16, 20, 24} {
		if !f.Float && f.Bits > 0 && bits >= f.Bits {
			break
		}
		if scale := math.Ldexp(1, bits-1); onGrid(x, scale) {
			return 1 / scale
		}
	}
	if f.Float || f.Bits == 0 {
		return 0
	}
	if f.ValidBits > 0 {
		return math.Ldexp(1, 1-f.ValidBits)
	}
	return math.Ldexp(1, 1-f.Bits)
}

func onGrid(x []float64, scale float64) bool {
	used := false
	for _, v := range x {
		if v *= scale; v != math.Trunc(v) {
			return false
		}
		used = used || v != 0
	}
	return used
}

// quietStretches are the parts of the channel, of 0.1 s and more, in which nothing is played: the silences of the stimulus, or the
// pauses of anything else.
func (c *channel) quietStretches() [][]float64 {
	if c.placed != nil {
		return c.quietest(c.silences())
	}
	return c.quietest(c.pauses())
}

// silences of the stimulus; after a sound, the half in which it has died away.
func (c *channel) silences() [][]float64 {
	var found [][]float64
	edge := c.fs / 20
	segments := c.ref.stimulus.Segments()
	for i, s := range segments {
		if s.Kind != sweep.Silence {
			continue
		}
		from, to := c.placed.start+float64(s.Start)+edge, c.placed.start+float64(s.Start+s.Len)-edge
		if i > 0 {
			from += float64(s.Len)/2 - edge
		}
		found = append(found, within(c.x, int(from), int(to)))
	}
	return found
}

// pauses are runs of frames within 6 dB of the softest twentieth, which is 30 dB below the loudest, less 20 ms at each end.
func (c *channel) pauses() [][]float64 {
	low := c.quantile(0.05)
	if low*30 > c.quantile(0.98) {
		return nil
	}
	var found [][]float64
	start := 0
	for k := 0; k <= len(c.frames); k++ {
		if k < len(c.frames) && c.frames[k] <= 2*low {
			continue
		}
		found = append(found, within(c.x, (start+2)*c.frame, (k-2)*c.frame))
		start = k + 1
	}
	return found
}

// quietest keeps the stretches that are long enough, nil if there are none, and within 6 dB of the softest: something may have passed by.
func (c *channel) quietest(stretches [][]float64) [][]float64 {
	long := slices.DeleteFunc(stretches, func(x []float64) bool { return float64(len(x)) < c.fs/10 })
	softest := math.Inf(1)
	for _, x := range long {
		softest = min(softest, rmsOf([][]float64{x}))
	}
	long = slices.DeleteFunc(long, func(x []float64) bool { return rmsOf([][]float64{x}) > 2*softest })
	if len(long) == 0 {
		return nil
	}
	return long
}

// rmsOf is the rms of stretches about the mean of each.
func rmsOf(stretches [][]float64) float64 {
	var square, n float64
	for _, x := range stretches {
		var sum, power float64
		for _, v := range x {
			sum += v
			power += v * v
		}
		m := float64(len(x))
		square += power - sum*sum/m
		n += m
	}
	return math.Sqrt(max(0, square) / n)
}
