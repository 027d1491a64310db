package capture

import (
	"fmt"
	"math"
	"slices"
	"time"

	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// Take is one side of the stimulus, cut out of one channel of a recording.
type Take struct {
	// Name of the recording and the channel, counted from 1.
	Name    string
	Channel int
	// Side is sweep.Left or sweep.Right.
	Side sweep.Side
	// SampleRate in Hz.
	SampleRate int
	// Sweeps holds each repeat, from a little before the sweep to the end of
	// the gap after it, all of one length.
	Sweeps [][]float64
	// Silence is what was recorded while nothing was played; nil when the
	// recording holds no such stretch.
	Silence []float64
	// Start is the time in seconds, in the recording, of the stimulus's
	// beginning; negative when the recorder was started late.
	Start float64
}

// leadIn is how much is cut out before a sweep, in seconds: locating it to a
// fraction of this is enough, deconvolution finds the rest.
const leadIn = 0.05

// Take finds the stimulus in a channel of the recording, wherever the recorder
// was started, and cuts one side's sweeps out. Where one channel holds both
// sides, as a mono mix does, the earlier sweeps are the left ones.
//
// Errors: ErrChannel; response.ErrNoPeak when the sweep is not in the channel;
// ErrTruncated when the recording stops before the last sweep has; unequal
// sample rates. A side that is neither sweep.Left nor sweep.Right panics.
func (r *Recording) Take(st *sweep.Stimulus, channel int, side sweep.Side) (*Take, error) {
	if side != sweep.Left && side != sweep.Right {
		panic("capture: a take is of the left side or of the right")
	}
	x, err := r.Channel(channel)
	if err != nil {
		return nil, err
	}
	if fs := st.Sweep().SampleRate(); r.SampleRate != fs {
		return nil, r.otherRate(fs)
	}
	start, err := locate(x, st, side)
	if err != nil {
		return nil, fmt.Errorf("capture: %s: channel %d: %w", r.Name, channel, err)
	}
	t := &Take{Name: r.Name, Channel: channel, Side: side, SampleRate: r.SampleRate,
		Start: float64(start) / float64(r.SampleRate), Silence: silence(x, st, start)}
	before := int(leadIn * float64(r.SampleRate))
	for i, s := range st.Sweeps(side) {
		from, to := start+s.Start-before, start+s.Start+s.Len+gapAfter(st, s)
		if missing := start + s.Start + s.Len - len(x); missing > 0 {
			return nil, fmt.Errorf("capture: %s: channel %d: %w: it stops %.2f s before sweep %d on the %v does; record until after the last silence",
				r.Name, channel, ErrTruncated, float64(missing)/float64(r.SampleRate), i+1, sideName(side))
		}
		t.Sweeps = append(t.Sweeps, cut(x, from, to))
	}
	return t, nil
}

func (r *Recording) otherRate(stimulus int) error {
	return fmt.Errorf("capture: %s: recorded at %d Hz, the stimulus was made for %d Hz; record again at that rate", r.Name, r.SampleRate, stimulus)
}

func sideName(k sweep.Side) string {
	if k == sweep.Left {
		return "left"
	}
	return "right"
}

// cut copies x[from:to]; what lies outside the recording is zero.
func cut(x []float64, from, to int) []float64 {
	out := make([]float64, to-from)
	if a, b := max(from, 0), min(to, len(x)); a < b {
		copy(out[a-from:], x[a:b])
	}
	return out
}

// gapAfter is the length of the silence that follows a segment.
func gapAfter(st *sweep.Stimulus, s sweep.Segment) int {
	for _, next := range st.Find(sweep.Silence) {
		if next.Start == s.Start+s.Len {
			return next.Len
		}
	}
	return 0
}

// silence is the longer of the silences at the two ends of the stimulus that
// the recording holds, less its edges: 50 ms of each, and of the last one the
// half in which the sweep may still decay.
func silence(x []float64, st *sweep.Stimulus, start int) []float64 {
	gaps := st.Find(sweep.Silence)
	first, last := gaps[0], gaps[len(gaps)-1]
	edge := st.Sweep().SampleRate() / 20
	lead := within(x, start+first.Start+edge, start+first.Start+first.Len-edge)
	tail := within(x, start+last.Start+last.Len/2, start+last.Start+last.Len-edge)
	if len(tail) > len(lead) {
		lead = tail
	}
	if len(lead) < 2*edge {
		return nil
	}
	return lead
}

func within(x []float64, from, to int) []float64 {
	from, to = max(from, 0), min(to, len(x))
	if from >= to {
		return nil
	}
	return x[from:to]
}

// locate returns the sample of the recording at which the stimulus begins, to
// within a few milliseconds.
func locate(x []float64, st *sweep.Stimulus, side sweep.Side) (int, error) {
	if err := holdsSweep(x, st); err != nil {
		return 0, err
	}
	step := max(1, st.Sweep().SampleRate()/6000)
	c := correlate(thin(x, step), thin(st.Sweep().Samples(), step))
	if p := prominence(c); p < minProminence {
		return 0, fmt.Errorf("%w: the best match for the sweep stands %.0f dB above the rest, a sweep's stands %d dB and more; "+
			"check that this is a recording of the stimulus, and of the side it is said to be", response.ErrNoPeak, p, minProminence)
	}
	segments := st.Sweeps(side)
	// A shift by one repeat matches all repeats but one, so the weakest of
	// them counts.
	weakest := func(first int) float64 {
		low := math.Inf(1)
		for _, s := range segments {
			low = min(low, peakNear(c, first+(s.Start-segments[0].Start)/step))
		}
		return low
	}
	scores := make([]float64, len(c))
	for i := range scores {
		scores[i] = weakest(i)
	}
	first := earliestOrLatest(scores, side)
	return first*step - segments[0].Start, nil
}

// holdsSweep refuses what cannot hold a sweep.
func holdsSweep(x []float64, st *sweep.Stimulus) error {
	if s := st.Sweep(); len(x) < s.Len()/2 {
		return fmt.Errorf("%w: %.2f s of recording, %.2f s of sweep; record the whole stimulus",
			response.ErrTooShort, float64(len(x))/float64(s.SampleRate()), s.Duration())
	}
	if !slices.ContainsFunc(x, func(v float64) bool { return v != x[0] }) {
		return fmt.Errorf("%w: every sample has the same value; check that the input was connected and armed", response.ErrSilent)
	}
	return nil
}

// earliestOrLatest picks among matches of like height (within 6 dB) the
// earliest for the left side and the latest for the right: where both sides are
// in one channel, that tells them apart. The pick is then moved to the highest
// match within 20 ms.
func earliestOrLatest(scores []float64, side sweep.Side) int {
	enough := slices.Max(scores) / 2
	pick := slices.IndexFunc(scores, func(v float64) bool { return v >= enough })
	if side == sweep.Right {
		for i, v := range scores {
			if v >= enough {
				pick = i
			}
		}
	}
	best := pick
	for i := max(0, pick-120); i < min(len(scores), pick+120); i++ {
		if scores[i] > scores[best] {
			best = i
		}
	}
	return best
}

// minProminence is how far in dB the best match must stand above the median of
// all: noise reaches 17 dB.
const minProminence = 26

func prominence(c []float64) float64 {
	sorted := slices.Clone(c)
	slices.Sort(sorted)
	return 20 * math.Log10(sorted[len(sorted)-1]/sorted[len(sorted)/2])
}

// peakNear is the largest value within two samples of i, 0 outside: repeats
// of a drifting clock are not an exact number of samples apart.
func peakNear(c []float64, i int) float64 {
	if i < 2 || i+2 >= len(c) {
		return 0
	}
	return slices.Max(c[i-2 : i+3])
}

// thin averages every step samples into one.
func thin(x []float64, step int) []float64 {
	out := make([]float64, len(x)/step)
	for i := range out {
		for _, v := range x[i*step : (i+1)*step] {
			out[i] += v
		}
	}
	return out
}

// correlate returns, for each sample of x, the magnitude of the match of s
// beginning there, with the spectrum of s made flat.
func correlate(x, s []float64) []float64 {
	plan := fft.NewPlan(fft.FastLen(len(x) + len(s)))
	a, b := plan.Forward(nil, x), plan.Forward(nil, s)
	var top float64
	for _, v := range b {
		top = max(top, real(v)*real(v)+imag(v)*imag(v))
	}
	for k, v := range b {
		power := real(v)*real(v) + imag(v)*imag(v) + 1e-3*top
		a[k] *= complex(real(v)/power, -imag(v)/power)
	}
	c := plan.Inverse(nil, a)[:len(x)]
	for i, v := range c {
		c[i] = math.Abs(v)
	}
	return c
}

// TakeDuration is the length of what Take cuts out of a recording of the
// stimulus for each sweep: what a deconvolver has to be made for.
func TakeDuration(st *sweep.Stimulus) time.Duration {
	s := st.Sweeps(sweep.Left)[0]
	samples := int(leadIn*float64(st.Sweep().SampleRate())) + s.Len + gapAfter(st, s)
	return time.Duration(math.Ceil(float64(samples) / float64(st.Sweep().SampleRate()) * float64(time.Second)))
}
