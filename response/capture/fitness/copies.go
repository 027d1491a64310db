package fitness

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// quietPlaces returns the beginning and end of the quiet stretches, each at most half a second.
func (c *channel) quietPlaces() [][2]int {
	var out [][2]int
	for _, x := range c.quiet {
		// A stretch is a part of the channel: its capacity tells where it begins.
		from := cap(c.x) - cap(x)
		out = append(out, [2]int{from, from + min(len(x), int(c.fs/2))})
	}
	return out
}

// The share of the power by which a channel differs from its copy, and by which copies of one
// recording do, at most.
const nearlyAlike, alike = 0.01, 1e-4

// detectCopiedChannels finds a channel that is a copy of another: it has the same sound and the same
// noise. Two inputs may share a noise without being copies, and a coder may put one into both.
func detectCopiedChannels(r *recording) (found []response.Finding) {
	for i, a := range r.channels {
		for _, b := range r.channels[i+1:] {
			if a.silent || b.silent {
				continue
			}
			if !sameSound(a, b, nearlyAlike) {
				continue
			}
			f := response.Finding{Kind: CopiedChannel, Severity: unfitIf(r.Stimulus != nil), Time: nowhere, Duration: nowhere,
				What:   fmt.Sprintf("is a copy of channel %d", a.number),
				Remedy: "set the recorder to record its inputs separately, and record again"}
			if r.Direct && r.Stimulus != nil && atOnce(r.Stimulus) {
				f.Severity = response.Warning // a direct recording without noise of its own is such a copy
				f.What += "; left and right were played alike, so whether they are separate inputs is not known"
			}
			found = append(found, b.finding(f)...)
		}
	}
	return found
}

// atOnce reports whether left and right are played at the same time.
func atOnce(st *sweep.Stimulus) bool {
	left, right := st.Sweeps(sweep.Left), st.Sweeps(sweep.Right)
	return len(left) > 0 && len(right) > 0 && left[0].Start == right[0].Start
}

// detectSameRecording finds a recording that is the same as an earlier one, as a whole or in a
// channel.
func detectSameRecording(r, earlier *recording) []response.Finding {
	for _, c := range r.channels {
		for _, d := range earlier.channels {
			if c.silent || d.silent || r.Recording.SampleRate != earlier.Recording.SampleRate {
				continue
			}
			// A recording that was filtered afterwards has the same noise but another response.
			if !sameSound(d, c, alike) {
				continue
			}
			return c.finding(response.Finding{Kind: SameRecording, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
				What:   fmt.Sprintf("is the same as channel %d of %s", d.number, earlier.Recording.Name),
				Remedy: "name the file that was meant, or record again"})
		}
	}
	return nil
}

// sameSound reports whether two channels are one recording: apart from a gain, their samples are
// equal to a hundred-thousandth of the rms, or they are equal to a share of the power and hold the
// same noise.
func sameSound(a, b *channel, share float64) bool {
	lag, found := lagBetween(a, b)
	if !found {
		return false
	}
	if equalBut(a, b, lag, 1e-10) {
		return true
	}
	// Few samples tell most channels apart, and their noise need not be compared.
	reach, alike := uncertainBy(a, b), false
	for l := lag - reach; l <= lag+reach && !alike; l++ {
		alike = equalBut(a, b, l, share)
	}
	if !alike {
		return false
	}
	match, best := 0.0, lag
	for _, x := range a.quietPlaces() {
		if m, l := noiseMatch(a, b, x[0], x[1], lag); math.Abs(m) > math.Abs(match) {
			match, best = m, l
		}
	}
	return math.Abs(match) > 0.9 && equalBut(a, b, best, share)
}

// lagBetween returns about the number of samples by which a sound of a is later in b.
func lagBetween(a, b *channel) (lag int, found bool) {
	switch {
	case a.placed != nil && b.placed != nil:
		if a.recording == b.recording || len(a.x) == len(b.x) {
			return 0, true
		}
		return int(math.Round(b.start - a.start)), true
	case len(a.x) == len(b.x):
		return 0, true
	}
	// Cut to another length: look for the loudest 32 samples.
	at := loudestAt(a)
	if at < 0 {
		return 0, false
	}
	for i := 0; i+32 <= len(b.x); i++ {
		if b.x[i] == a.x[at] && slices.Equal(a.x[at:at+32], b.x[i:i+32]) {
			return i - at, true
		}
	}
	return 0, false
}

// loudestAt returns the sample at which the loudest frame of a channel begins, or −1 if fewer than
// 32 samples follow.
func loudestAt(c *channel) int {
	if len(c.frames) == 0 {
		return -1
	}
	best := floats.MaxIdx(c.frames)
	if best*c.frame+32 > len(c.x) {
		return -1
	}
	return best * c.frame
}

// equalBut reports whether the samples are equal except for a factor, to a share of the power. It
// tries every 97th sample first.
func equalBut(a, b *channel, lag int, share float64) bool {
	from, to := max(0, -lag), min(len(a.x), len(b.x)-lag)
	if to-from < min(len(a.x), len(b.x))/2 {
		return false
	}
	sums := func(step int) (ab, bb, aa float64) {
		for i := from; i < to; i += step {
			v, w := a.x[i], b.x[i+lag]
			ab += v * w
			aa += v * v
			bb += w * w
		}
		return ab, bb, aa
	}
	for _, step := range []int{97, 1} {
		ab, bb, aa := sums(step)
		gain := ab / bb
		if left := aa - gain*ab; !(left <= share*aa) {
			return false
		}
	}
	return true
}

// uncertainBy returns the number of samples by which the lag between two channels may be wrong: one
// from matching sweeps is right to a few samples.
func uncertainBy(a, b *channel) int {
	if a.recording == b.recording || len(a.x) == len(b.x) || a.placed == nil {
		return 0
	}
	return 2 * search.Step(a.Recording.SampleRate)
}

// noiseMatch returns the correlation of the noise of a[from:to] with that of b, lag later or as
// much more or less as the lag may be wrong by, where its magnitude is largest, and that lag. It
// correlates second differences, which attenuate rumble, and leaves tones out: channels share hum
// and whistles.
func noiseMatch(a, b *channel, from, to, lag int) (match float64, at int) {
	reach := uncertainBy(a, b)
	from, to = max(from, 1, 1-lag), min(to, len(a.x)-1, len(b.x)-1-lag)
	n := to - from
	if n < 256 {
		return 0, lag
	}
	plan := a.plans.Plan(fft.FastLen(n + reach))
	earlier, later := curvature(plan, a.x[from-1:to+1]), curvature(plan, b.x[from+lag-1:to+lag+1])
	inA, inB := tones(earlier), tones(later)
	var aa, bb float64
	for k, v := range earlier {
		if inA[k] || inB[k] || k == 0 || k == len(earlier)-1 {
			earlier[k] = 0
			continue
		}
		w := later[k]
		aa, bb = aa+fft.Power(v), bb+fft.Power(w)
		earlier[k] = complex(real(v), -imag(v)) * w
	}
	if aa == 0 || bb == 0 {
		return 0, lag
	}
	correlation, at := plan.Inverse(nil, earlier), lag
	for d := -reach; d <= reach; d++ {
		c := correlation[(d+plan.Len())%plan.Len()] * float64(plan.Len()) / 2 / math.Sqrt(aa*bb)
		if math.Abs(c) > math.Abs(match) {
			match, at = c, lag+d
		}
	}
	return match, at
}

// curvature returns the spectrum of the second differences of x under a Hann window.
func curvature(plan *fft.Plan, x []float64) []complex128 {
	y := taper.Hann(len(x) - 2)
	for i := range y {
		y[i] *= x[i] - 2*x[i+1] + x[i+2]
	}
	return plan.Forward(nil, y)
}

// tones reports for each bin whether a tone stands in it, which has more than 25 times the median
// power of the 64 bins around. White noise alone exceeds that once in 3e7 bins.
func tones(bins []complex128) []bool {
	const around = 64
	out, power := make([]bool, len(bins)), make([]float64, 0, around)
	for k := 0; k < len(bins); k += around {
		power = power[:0]
		for _, v := range bins[k:min(k+around, len(bins))] {
			power = append(power, fft.Power(v))
		}
		median := statistic.Median(power)
		for i, p := range power {
			out[k+i] = p > 25*median
		}
	}
	return out
}
