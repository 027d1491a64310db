package placement

import (
	"math"
	"slices"

	"example.com/earnest/internal/search"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// playSearch looks for plays of a stimulus. Positions are in samples.
type playSearch struct {
	st     *sweep.Stimulus
	r      *capture.Recording
	ref    *reference
	follow *follower
	sweeps []sweep.Segment // of the stimulus, left before right
	each   int             // number of sweeps per side
	marks  []sweep.Segment
	heard  []detection // sweeps in the recording, in order of time
	marked []detection // marks in the recording
}

func newPlaySearch(p *Placement, matches []*match) *playSearch {
	st := p.Stimulus
	h := &playSearch{st: st, r: p.Recording, ref: p.ref, follow: newFollower(st),
		sweeps: append(st.Sweeps(sweep.Left), st.Sweeps(sweep.Right)...), marks: st.Find(sweep.Mark)}
	h.each = len(h.sweeps) / 2
	for k, x := range p.Recording.Channels {
		if matches[k] != nil {
			h.listen(x, matches[k])
		}
	}
	h.leaveOutParts()
	return h
}

// listen finds the sweeps and the marks in a channel.
func (h *playSearch) listen(x []float64, m *match) {
	step := h.ref.step
	beside := h.r.SampleRate / 5 / step
	for _, i := range outstanding(m.sweep, beside, minProminence) {
		at := int(math.Round(float64(step) * search.Peak(m.sweep, i)))
		if h.follow.isSweep(x, at) {
			h.heard = h.remember(h.heard, detection{at: at, reach: h.follow.reach(x, at)})
		}
	}
	h.listenForMarks(x, m.marks)
}

// listenForMarks finds the marks in a channel.
func (h *playSearch) listenForMarks(x, match []float64) {
	step := h.ref.step
	for _, i := range outstanding(match, h.r.SampleRate/5/step, markStanding) {
		if at := step * i; h.follow.isMark(x, at) {
			h.marked = h.remember(h.marked, detection{at: at, reach: h.marks[0].Len})
		}
	}
}

// remember inserts a sound in order of time. A sound at the same time in another channel is the
// same sound.
func (h *playSearch) remember(all []detection, one detection) []detection {
	i := nearestTo(all, one.at)
	if i >= 0 && distance(all[i].at, one.at) <= h.slack(0) {
		all[i].reach = max(all[i].reach, one.reach)
		return all
	}
	i, _ = slices.BinarySearchFunc(all, one.at, func(s detection, at int) int { return s.at - at })
	return slices.Insert(all, i, one)
}

// slack returns the allowed deviation of the distance of two sounds that are apart samples: 10 ms,
// and the largest difference of two clocks.
func (h *playSearch) slack(apart int) int {
	return h.r.SampleRate/100 + int(1.5*capture.MaxDrift*1e-6*math.Abs(float64(apart)))
}

// free returns the index of a sound at a place that no play has taken yet, −1 if there is none.
func (h *playSearch) free(all []detection, at, apart int) int {
	if i := nearestTo(all, at); i >= 0 && !all[i].taken && distance(all[i].at, at) <= h.slack(apart) {
		return i
	}
	return -1
}

// members returns the sounds of a stimulus that begins at start, except those that another play has
// taken.
func (h *playSearch) members(start int) (sweeps, marks []int, count int) {
	for _, s := range h.sweeps {
		sweeps = append(sweeps, h.free(h.heard, start+s.Start, h.st.Len()))
	}
	for _, s := range h.marks {
		marks = append(marks, h.free(h.marked, start+s.Start, h.st.Len()))
	}
	for _, i := range slices.Concat(sweeps, marks) {
		if i >= 0 {
			count++
		}
	}
	return sweeps, marks, count
}

// plays groups the sounds into plays, the most complete play first. It tries each sweep as each of
// those in the stimulus.
func (h *playSearch) plays() []*playCandidate {
	var found []*playCandidate
	slots := len(h.sweeps)
	// the largest number of sounds in a play in which sweep i/slots is number i%slots
	likely := make([]int, len(h.heard)*slots)
	for i := range likely {
		_, _, likely[i] = h.members(h.startIf(i/slots, i%slots))
	}
	for count := slots + len(h.marks); count > 0; count-- {
		for i := range likely {
			if likely[i] < count || h.heard[i/slots].taken {
				continue
			}
			start := h.startIf(i/slots, i%slots)
			var sweeps, marks []int
			if sweeps, marks, likely[i] = h.members(start); likely[i] >= count {
				found = append(found, h.take(start, sweeps, marks))
			}
		}
	}
	found = append(found, h.stoppedAtOnce(found)...)
	slices.SortFunc(found, func(a, b *playCandidate) int { return a.first - b.first })
	for i, p := range found {
		if i+1 < len(found) {
			p.until = found[i+1].first
		}
	}
	h.judge(found)
	return found
}

// startIf returns the start of the stimulus if a sweep belongs to a slot.
func (h *playSearch) startIf(heard, slot int) int { return h.heard[heard].at - h.sweeps[slot].Start }

// take returns a play made of these sweeps and marks, and marks them as taken.
func (h *playSearch) take(start int, sweeps, marks []int) *playCandidate {
	p := &playCandidate{search: h, start: start, from: start, to: start + h.st.WholeLen(), first: math.MaxInt,
		until: h.r.Len(), cut: -1, slots: sweeps}
	span := func(s *detection) {
		s.taken = true
		p.first, p.last = min(p.first, s.at), max(p.last, s.at+s.reach)
	}
	for _, i := range sweeps {
		if i >= 0 {
			span(&h.heard[i])
		}
	}
	for k, i := range marks {
		if i >= 0 {
			span(&h.marked[i])
			p.opening, p.closing = p.opening || k == 0, p.closing || k > 0
		}
	}
	if p.unknownSide() { // the silence that is there on either side
		still := h.st.Find(sweep.Silence)
		p.from, p.to = p.first-still[0].Len, p.last+gapAfter(h.st, h.sweeps[0])+still[len(still)-1].Len
	}
	return p
}

// judge finds the place at which each play breaks off.
func (h *playSearch) judge(all []*playCandidate) {
	left := slices.ContainsFunc(all, func(p *playCandidate) bool { return p.holds(0) })
	for _, p := range all {
		switch {
		case p.start+h.sweeps[0].Start < -h.slack(0) && (left || slices.Max(p.reaches()[:h.each]) > h.ref.length/10):
			p.cut = 0
		case p.closing:
		case p.opening:
			mark, sweep := h.marks[1], h.sweeps[len(h.sweeps)-1]
			if n := h.r.Len() - p.start; n >= mark.Start+mark.Len || n < sweep.Start+sweep.Len || !p.complete() {
				p.breakOff()
			}
		case !p.complete():
			p.breakOff()
		}
	}
}

// stoppedAtOnce returns the plays of which only an opening mark was found, and perhaps the
// beginning of a sweep.
func (h *playSearch) stoppedAtOnce(others []*playCandidate) []*playCandidate {
	var found []*playCandidate
	for i, m := range h.marked {
		inside := func(p *playCandidate) bool { return m.at > p.first && m.at < p.last }
		if m.taken || slices.ContainsFunc(others, inside) {
			continue
		}
		h.marked[i].taken = true
		start := m.at - h.marks[0].Start
		none := slices.Repeat([]int{-1}, len(h.sweeps))
		found = append(found, &playCandidate{search: h, start: start, from: start, to: start + h.st.WholeLen(),
			first: m.at,
			last:  m.at + m.reach, until: h.r.Len(), cut: -1,
			slots: none, opening: true})
	}
	return found
}

// detection is a sweep or a mark in the recording.
type detection struct {
	at, reach int // its beginning, and the length for which it goes on
	taken     bool
}

// playCandidate is a play that was found.
type playCandidate struct {
	search      *playSearch
	start       int // beginning of the stimulus
	from, to    int // the stretch to cut out
	first, last int // beginning and end of the sounds that were found
	until       int // beginning of the next play, or end of the recording
	slots       []int
	opening     bool // its marks were found
	closing     bool
	cut         int // where it breaks off; −1 if it does not
}

// unknownSide reports whether the side is not known: there are no marks, and no sweeps but those
// that were taken for the left ones.
func (p *playCandidate) unknownSide() bool {
	return !p.opening && !p.closing && !p.holds(1)
}

// holds reports whether a sweep of a side, 0 or 1, was found.
func (p *playCandidate) holds(side int) bool {
	each := p.search.each
	return slices.ContainsFunc(p.slots[side*each:(side+1)*each], func(i int) bool { return i >= 0 })
}

// reaches returns the length of each sweep that is there, in any channel. It looks for a sweep that
// was not found at its place.
func (p *playCandidate) reaches() []int {
	out := make([]int, len(p.slots))
	for k, i := range p.slots {
		if i >= 0 {
			out[k] = p.search.heard[i].reach
			continue
		}
		for _, x := range p.search.r.Channels {
			out[k] = max(out[k], p.search.follow.reach(x[:p.until], p.start+p.search.sweeps[k].Start))
		}
	}
	return out
}

// complete reports whether all sweeps of the sides that were found go on to their last sixth.
func (p *playCandidate) complete() bool {
	reaches, each, n := p.reaches(), p.search.each, p.search.ref.length
	for side := range 2 {
		of := reaches[side*each : (side+1)*each]
		if slices.Max(of) > n/10 && slices.Min(of) < n*5/6 {
			return false
		}
	}
	return true
}

// breakOff sets the place at which the play breaks off: the end of its last sound.
func (p *playCandidate) breakOff() {
	for k, n := range p.reaches() {
		if n > 0 {
			p.last = max(p.last, p.start+p.search.sweeps[k].Start+n)
		}
	}
	p.last = min(p.last, p.until)
	p.cut = p.last
}

func distance(a, b int) int { return max(a-b, b-a) }

// nearestTo returns the index of the sound nearest to a place, −1 if there is none.
func nearestTo(all []detection, at int) int {
	i, _ := slices.BinarySearchFunc(all, at, func(s detection, at int) int { return s.at - at })
	if i > 0 && (i == len(all) || at-all[i-1].at < all[i].at-at) {
		i--
	}
	if i == len(all) {
		return -1
	}
	return i
}

// outstanding returns the samples at which the magnitude of a match is the highest within beside
// samples and stands standing dB above the median there.
func outstanding(match []float64, beside int, standing float64) []int {
	var found []int
	for from := 0; from < len(match); from += beside {
		i := search.Strongest(match, from, from+beside)
		if search.Strongest(match, max(0, i-beside), i+beside+1) == i && search.Standing(match, i, beside) >= standing {
			found = append(found, i)
		}
	}
	return found
}
