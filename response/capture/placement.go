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
		all[st] = &reference{st, step, thin(st.Sweep().Samples(), step), nil}
		if len(st.Find(sweep.Mark)) > 0 {
			all[st].mark = thin(st.Sweep().Mark(), step)
		}
	}
	return all
}

// placement is where the stimulus is in a channel. Positions are in samples.
type placement struct {
	at       float64    // where the first sweep begins
	side     sweep.Kind // that it belongs to; sweep.Silence if that is not known
	start    float64    // where the stimulus begins, given the side; if that is not known, the side it is said to be
	marks    [2]float64 // where the marks begin; NaN if not found
	impulse  []float64  // the response around its peak, thinned, 10 ms to each side
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
	best, height := weakestOfRepeats(match, c.ref)
	if !(decibels(height/medianMagnitude(match)) >= minProminence) {
		return
	}
	p := &placement{at: step * peakBetween(match, best), marks: [2]float64{nowhere, nowhere}, height: math.Abs(match[best]), polarity: math.Copysign(1, match[best])}
	const around = 60
	p.impulse = cut(match, best-around, best+around+1)
	if c.ref.mark != nil {
		p.findMarks(m.with(c.ref.mark), c.ref)
		p.side = p.sideByMarks(c.ref)
	}
	c.placed = p
}

// weakestOfRepeats returns where the sweeps of a side match best, and the height of the weakest of the repeats there: a shift by
// one repeat matches all but one.
func weakestOfRepeats(match []float64, ref *reference) (best int, height float64) {
	repeats := ref.stimulus.Find(sweep.Left)
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

// findMarks finds both marks: the higher match, and the better of those that stand about right to either side of it. Blocks that
// are missing in between move them.
func (p *placement) findMarks(match []float64, ref *reference) {
	marks, step := ref.stimulus.Find(sweep.Mark), float64(ref.thinned)
	between := (marks[1].Start - marks[0].Start) / ref.thinned
	slack := ref.stimulus.Sweep().SampleRate() / 4 / ref.thinned
	first := strongest(match, 0, len(match))
	if !(decibels(math.Abs(match[first])/medianMagnitude(match)) >= 20) { // noise reaches 17 dB
		return
	}
	before := strongest(match, first-between-slack, first-between+slack)
	after := strongest(match, first+between-slack, first+between+slack)
	pair := func(a, b int) { p.marks = [2]float64{step * peakBetween(match, a), step * peakBetween(match, b)} }
	enough := 0.3 * math.Abs(match[first])
	a, b := magnitudeAt(match, before), magnitudeAt(match, after)
	switch {
	case max(a, b) < enough: // there is one
		k := 0
		if step*float64(first) > p.at {
			k = 1
		}
		p.marks[k] = step * peakBetween(match, first)
	case a > b:
		pair(before, first)
	default:
		pair(first, after)
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

func magnitudeAt(x []float64, i int) float64 {
	if i < 0 {
		return 0
	}
	return math.Abs(x[i])
}

// sideByMarks tells the sides apart by how far the sweep stands from a mark.
func (p *placement) sideByMarks(ref *reference) sweep.Kind {
	marks := ref.stimulus.Find(sweep.Mark)
	left, right := ref.stimulus.Find(sweep.Left)[0].Start, ref.stimulus.Find(sweep.Right)[0].Start
	for k, at := range p.marks {
		distance := p.at - at + float64(marks[k].Start)
		switch apart := float64(right-left) / 4; {
		case math.Abs(distance-float64(left)) < apart:
			return sweep.Left
		case math.Abs(distance-float64(right)) < apart:
			return sweep.Right
		}
	}
	return sweep.Silence
}

// sideOr is the side of the sweep, or the one it is taken for.
func (p *placement) sideOr(c *channel) sweep.Kind {
	for _, side := range []sweep.Kind{p.side, c.side(c.number)} {
		if side != sweep.Silence {
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
	left, right := e.ref.stimulus.Find(sweep.Left)[0].Start, e.ref.stimulus.Find(sweep.Right)[0].Start
	apart := float64(right - left)
	for _, c := range e.channels {
		for _, d := range e.channels {
			if c.placed == nil || d.placed == nil || c.placed.side != sweep.Silence {
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
