package capture

import (
	"math"
	"slices"

	"example.com/earnest/internal/fft"
	"example.com/earnest/sweep"
)

// reference is a stimulus prepared for being looked for.
type reference struct {
	stimulus    *sweep.Stimulus
	thinned     int // samples that are averaged into one
	sweep, mark []float64
	// Heights of the matches of sweep and mark with themselves, for an amplitude of 1.
	height, markHeight float64
}

// impulse is the response 10 ms to each side of its peak.
func (p *placement) impulse() []float64 {
	const reach = 60
	peak := len(p.around) / 2
	return p.around[peak-reach : peak+reach+1]
}

// newReferences prepares each stimulus of a set once.
func newReferences(set []Inspection) map[*sweep.Stimulus]*reference {
	all := map[*sweep.Stimulus]*reference{}
	for _, s := range set {
		st := s.Stimulus
		if st == nil || all[st] != nil {
			continue
		}
		step := max(1, st.Sweep().SampleRate()/6000)
		ref := &reference{stimulus: st, thinned: step, markHeight: 1, sweep: thin(st.Sweep().Samples(), step)}
		ref.height = newMatcher(nil, ref.sweep, ref.sweep).with(ref.sweep)[0] / st.Sweep().Amplitude()
		all[st] = ref
		if len(st.Find(sweep.Mark)) > 0 {
			ref.mark = thin(st.Sweep().Mark(), step)
			ref.markHeight = newMatcher(nil, ref.mark, ref.mark).with(ref.mark)[0] / st.Sweep().Amplitude()
		}
	}
	return all
}

// placement is where the stimulus is in a channel. Positions are in samples.
type placement struct {
	at       float64    // where the first sweep begins
	side     sweep.Side // that it belongs to; 0 if that is not known
	start    float64    // where the stimulus begins, given the side; if that is not known, the side it is said to be
	marks    [2]float64 // where the marks begin; NaN if not found
	around   []float64  // the response around its peak, thinned, as far as wowReach to each side
	polarity float64    // sign of its peak
	height   float64    // of its peak
}

// locate finds the stimulus; placed stays nil if it is not there.
func (c *channel) locate() {
	if c.ref == nil || c.ref.stimulus.Sweep().SampleRate() != c.Recording.SampleRate || len(c.x) < c.ref.thinned {
		return
	}
	x, step := thin(c.x, c.ref.thinned), float64(c.ref.thinned)
	m := newMatcher(c.plans, x, c.ref.sweep, c.ref.mark)
	match := m.with(c.ref.sweep)
	var marks []float64
	if c.ref.mark != nil {
		marks = m.with(c.ref.mark)
	}
	best, height := c.sweepIn(match, marks)
	if !(decibels(height/medianMagnitude(match)) >= minProminence) {
		if at, standing := c.ref.markIn(marks, 0, len(marks)); standing >= markStanding {
			c.lone = at * c.ref.thinned
		}
		return
	}
	p := &placement{at: step * peakBetween(match, best), marks: [2]float64{nowhere, nowhere}, height: math.Abs(match[best]), polarity: math.Copysign(1, match[best])}
	reach := int(wowReach.Seconds() * c.fs / step)
	p.around = cut(match, best-reach, best+reach+1)
	if marks != nil {
		p.findMarks(marks, c.ref)
	}
	c.placed = p
}

// sweepIn returns where the sweep matches best, and how well. A mark matches too, weakly, and may be all there is in a channel: what has a
// stronger mark in its midst is none, nor is what does not sound, for most of a sweep's length, within 20 dB of what the match says.
func (c *channel) sweepIn(match, marks []float64) (best int, height float64) {
	const tries = 4
	left := slices.Clone(match)
	for range tries {
		best, height = weakestOfRepeats(left, c.ref)
		during := c.during(best*c.ref.thinned, c.ref.stimulus.Sweep().Len())
		expected := math.Abs(match[best]) / c.ref.height / math.Sqrt2
		at, standing := c.ref.markIn(marks, best, best+len(c.ref.sweep))
		mark := magnitudeAt(marks, at) / c.ref.markHeight / math.Sqrt2
		// The sweep itself matches a mark, smeared, and through some filters strongly.
		smeared := standing < markStanding && expected > during/2
		switch {
		case 3*expected < mark && !smeared || during < expected/10:
		case expected < during/2 && c.otherSpeed(decibels(height/medianMagnitude(match))+6) != 0:
			return 0, 0 // it matches, but not as well as at another speed
		default:
			return best, height
		}
		near := c.Recording.SampleRate / 4 / c.ref.thinned
		clear(left[max(0, best-near):min(len(left), best+near)])
	}
	return 0, 0
}

// during is the median level of the frames in a stretch; NaN if there are none.
func (c *channel) during(from, length int) float64 {
	from /= c.frame
	return medianOf(c.frames[min(from, len(c.frames)):min(len(c.frames), from+length/c.frame)])
}

func magnitudeAt(x []float64, i int) float64 {
	if i < 0 {
		return 0
	}
	return math.Abs(x[i])
}

// markStanding is how far a mark stands above what is beside it, in dB; noise reaches 17.
const markStanding = 24

// markIn returns the best match of the mark within a stretch, and how far it stands, in dB, above what is within 0.2 s of it.
func (ref *reference) markIn(match []float64, from, to int) (at int, standing float64) {
	if at = strongest(match, from, to); at < 0 {
		return at, 0
	}
	beside := ref.stimulus.Sweep().SampleRate() / 5 / ref.thinned
	return at, decibels(math.Abs(match[at]) / medianMagnitude(match[max(0, at-beside):min(len(match), at+beside)]))
}

// weakestOfRepeats returns where the sweeps of a side match best, and the height of the weakest of the repeats there: a shift by
// one repeat matches all but one.
func weakestOfRepeats(match []float64, ref *reference) (best int, height float64) {
	repeats := ref.stimulus.Sweeps(sweep.Left)
	for i := range match {
		low := math.Abs(match[i])
		for _, s := range repeats[1:] {
			if low <= height {
				break
			}
			low = min(low, highest(match, i+(s.Start-repeats[0].Start)/ref.thinned, 2))
		}
		if low > height {
			best, height = i, low
		}
	}
	return best, height
}

// highest is the largest magnitude within some samples of i.
func highest(x []float64, i, within int) float64 {
	top := 0.0
	for _, v := range x[min(len(x), max(0, i-within)):max(0, min(len(x), i+within+1))] {
		top = max(top, math.Abs(v))
	}
	return top
}

// findMarks looks for the marks where they should be if the sweep is the left one, and if it is the right one, within 0.1 s, for blocks
// that are missing in between move them. What stands out more tells which it is.
func (p *placement) findMarks(match []float64, ref *reference) {
	step, slack := float64(ref.thinned), ref.stimulus.Sweep().SampleRate()/10/ref.thinned
	most := 0.0
	for _, side := range []sweep.Side{sweep.Left, sweep.Right} {
		marks, sum := [2]float64{nowhere, nowhere}, 0.0
		for k, m := range ref.stimulus.Find(sweep.Mark) {
			expected := int(p.at+float64(m.Start-ref.stimulus.Sweeps(side)[0].Start)) / ref.thinned
			i, height := ref.markIn(match, expected-slack, expected+slack)
			if height >= markStanding {
				marks[k] = step * peakBetween(match, i)
				sum += height
			}
		}
		if sum > most {
			most, p.side, p.marks = sum, side, marks
		}
	}
}

// strongest is the index of the largest magnitude in [from, to); −1 if there is none.
func strongest(x []float64, from, to int) int {
	best := -1
	for i := max(0, from); i < min(len(x), to); i++ {
		if best < 0 || math.Abs(x[i]) > math.Abs(x[best]) {
			best = i
		}
	}
	return best
}

// sideOr is the side of the sweep, or the one it is taken for.
func (p *placement) sideOr(c *channel) sweep.Side {
	for _, side := range []sweep.Side{p.side, c.side(c.number)} {
		if side != 0 {
			return side
		}
	}
	return sweep.Left
}

// settleSides works out which side each channel holds where the marks did not tell, from the time between the channels, and from
// that where the stimulus begins.
func (e *examination) settleSides() {
	if e.ref == nil {
		return
	}
	left, right := e.ref.stimulus.Sweeps(sweep.Left)[0].Start, e.ref.stimulus.Sweeps(sweep.Right)[0].Start
	apart := float64(right - left)
	for _, c := range e.channels {
		for _, d := range e.channels {
			if c.placed == nil || d.placed == nil || c.placed.side != 0 {
				continue
			}
			switch later := d.placed.at - c.placed.at; {
			case math.Abs(later-apart) < apart/4:
				c.placed.side = sweep.Left
			case math.Abs(later+apart) < apart/4:
				c.placed.side = sweep.Right
			}
		}
	}
	for _, c := range e.channels {
		if c.placed == nil {
			continue
		}
		c.stray = e.spilt(c)
		c.placed.start = c.placed.at - float64(left)
		if c.placed.sideOr(c) == sweep.Right {
			c.placed.start = c.placed.at - float64(right)
		}
	}
}

// spilt tells whether a channel holds only what spills over from another: the same sweep 20 dB softer.
func (e *examination) spilt(c *channel) bool {
	for _, d := range e.channels {
		if d != c && d.placed != nil && math.Abs(d.placed.at-c.placed.at) < c.fs/20 && c.placed.height < d.placed.height/10 {
			return true
		}
	}
	return false
}

// matcher holds the spectrum of a channel for being matched with several sounds.
type matcher struct {
	plan     *fft.Plan
	spectrum []complex128
	n        int
}

func newMatcher(plans *fft.Cache, x []float64, sounds ...[]float64) *matcher {
	longest := 0
	for _, s := range sounds {
		longest = max(longest, len(s))
	}
	plan := plans.Plan(fft.FastLen(len(x) + longest))
	return &matcher{plan, plan.Forward(nil, x), len(x)}
}

// with returns, for each sample, the match of s beginning there, with the spectrum of s made flat: the response to s, as far as its
// band reaches.
func (m *matcher) with(s []float64) []float64 {
	b := m.plan.Forward(nil, s)
	var top float64
	for _, v := range b {
		top = max(top, real(v)*real(v)+imag(v)*imag(v))
	}
	for k, v := range b {
		power := real(v)*real(v) + imag(v)*imag(v) + 1e-3*top
		b[k] = m.spectrum[k] * complex(real(v)/power, -imag(v)/power)
	}
	return m.plan.Inverse(nil, b)[:m.n]
}

// peakBetween is where between samples the magnitude peaks that is largest at i, by the parabola through three.
func peakBetween(x []float64, i int) float64 {
	if i < 1 || i+1 >= len(x) {
		return float64(i)
	}
	a, b, c := math.Abs(x[i-1]), math.Abs(x[i]), math.Abs(x[i+1])
	if d := a - 2*b + c; d < 0 {
		return float64(i) + max(-0.5, min(0.5, (a-c)/2/d))
	}
	return float64(i)
}

// medianMagnitude is the median of the magnitudes of every fourth value.
func medianMagnitude(x []float64) float64 {
	some := make([]float64, 0, len(x)/4+1)
	for i := 0; i < len(x); i += 4 {
		some = append(some, math.Abs(x[i]))
	}
	slices.Sort(some)
	return some[len(some)/2]
}
