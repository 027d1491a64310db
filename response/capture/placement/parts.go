package placement

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/search"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// ErrPart means that the recording does not hold a part of the stimulus whole.
var ErrPart = errors.New("not in the recording")

// ErrPartCut is ErrPart for a part that is cut at its beginning or end.
var ErrPartCut = fmt.Errorf("%w whole", ErrPart)

// Parts says where a recording holds the additional parts of a stimulus: those that measure more
// than the response.
type Parts struct {
	// Sweeps is the stretch of the recording before the first additional part. Locate finds the
	// stimulus in it. Its samples are copies, so that the rest need not be kept.
	Sweeps *capture.Recording
	// Clock compares the recorder's clock with the player's, by the two timing marks that are
	// furthest apart.
	Clock capture.Clock

	recording *capture.Recording
	stimulus  *sweep.Stimulus
	start     float64 // of the stimulus, in samples on the player's clock; NaN if it is not known
}

// FindParts looks for the additional parts of a stimulus in a recording by the timing marks. No two
// pairs of marks have the same distance, so two marks are enough, wherever the recording was cut
// off. With fewer marks, or for a stimulus without additional parts, it finds no part, and Sweeps
// is the recording.
func FindParts(r *capture.Recording, st *sweep.Stimulus) *Parts {
	p := &Parts{Sweeps: r, recording: r, stimulus: st, start: math.NaN()}
	if len(st.Parts()) == 0 || r.SampleRate != st.Signal().SampleRate() || r.Len() == 0 {
		return p
	}
	s := &playSearch{st: st, r: r, ref: referenceOf(st), follow: newFollower(st), marks: st.Find(sweep.Mark)}
	mark := search.NewSounds(s.ref.mark)
	for _, x := range r.Channels {
		if !constant(x) && len(x) >= s.ref.step {
			s.listenForMarks(x, mark.Match(x, s.ref.step)[0])
		}
	}
	one := s.fullest(s.pattern(), s.marked)
	if len(one.marks) < 2 {
		return p
	}
	first, last := one.marks[0], one.marks[len(one.marks)-1]
	p.Clock = p.clock(s, first, last)
	p.start = float64(first.at)/(1+p.Clock.Drift*1e-6) - float64(first.in)
	end := min(r.Len(), max(0, p.recorded(st.Parts()[0].Start)))
	stretch := *r
	stretch.LengthUnstated = r.LengthUnstated && end == r.Len()
	stretch.Channels = make([][]float64, len(r.Channels))
	for i, x := range r.Channels {
		stretch.Channels[i] = slices.Clone(x[:end]) // so that the rest need not be kept
	}
	p.Sweeps = &stretch
	return p
}

// clock compares the clocks by two marks, in the channel in which they correlate best.
func (p *Parts) clock(s *playSearch, first, last foundMark) (best capture.Clock) {
	most := 0.5
	fs := p.recording.SampleRate
	slack := fs/50 + int(capture.MaxDrift*1e-6*float64(last.in-first.in))
	length := s.marks[0].Len + fs/4
	between := float64(last.in - first.in)
	for _, x := range p.recording.Channels {
		a := search.Cut(x, first.at-slack, first.at+length)
		b := search.Cut(x, first.at+last.in-first.in-slack, first.at+last.in-first.in+length)
		if constant(a) || constant(b) {
			continue
		}
		if shift, sigma, match := align(a, b, fs); match > most &&
			math.Abs(shift) < 1e-6*capture.MaxDrift*between+float64(fs)/100 {
			most, best = match, capture.Clock{Drift: 1e6 * shift / between, Uncertainty: 1e6 * sigma / between}
		}
	}
	return best
}

// recorded returns the sample of the recording that corresponds to a sample of the stimulus.
func (p *Parts) recorded(sample int) int {
	return int(math.Round((p.start + float64(sample)) * (1 + p.Clock.Drift*1e-6)))
}

// At returns the time in seconds of the recording at which a part begins, or NaN if no part was
// found.
func (p *Parts) At(part sweep.Part) float64 {
	return (p.start + float64(part.Start)) * (1 + p.Clock.Drift*1e-6) / float64(p.recording.SampleRate)
}

// Cut returns a part in a channel, counted from 1, as a recorder on the player's clock would have
// recorded it, with before samples before it and after samples after it. One tone or two are
// returned as they were recorded: their frequencies are measured, and the clock shows in these
// alone. Errors: ErrPart if the recording does not hold the part whole; capture.ErrChannel.
func (p *Parts) Cut(channel int, part sweep.Part, before, after int) ([]float64, error) {
	x, err := p.recording.Channel(channel)
	if err != nil {
		return nil, err
	}
	if math.IsNaN(p.start) {
		return nil, fmt.Errorf("%w: fewer than two timing marks were found; record the whole stimulus", ErrPart)
	}
	from := int(math.Round(p.start)) + part.Start
	switch begins, ends := p.recorded(part.Start), p.recorded(part.Start+part.Len); {
	case ends <= 0 || begins >= len(x):
		return nil, fmt.Errorf("%w: it lasts from %.1f s to %.1f s of the stimulus",
			ErrPart, p.seconds(max(0, -p.recorded(0))), p.seconds(len(x)-p.recorded(0)))
	case begins < 0:
		return nil, fmt.Errorf("%w: it had begun %.2f s before", ErrPartCut, p.seconds(-begins))
	case ends > len(x):
		return nil, fmt.Errorf("%w: it is cut short after %.2f s", ErrPartCut, p.seconds(len(x)-begins))
	}
	if n := len(part.Tones); p.Clock.Drift == 0 || n == 1 || n == 2 {
		begins := p.recorded(part.Start)
		return search.Cut(x, begins-before, begins+part.Len+after), nil
	}
	return p.Clock.Correct(x, from-before, from+part.Len+after), nil
}

func (p *Parts) seconds(samples int) float64 {
	return float64(samples) / float64(p.recording.SampleRate)
}

// foundMark is a timing mark: its sample in the recording, and that in the stimulus.
type foundMark struct{ at, in int }

// whole is the start of a stimulus with all its parts, and the marks that show it.
type whole struct {
	start int
	marks []foundMark
}

// pattern returns the samples of the stimulus at which its marks begin, those between the parts
// included.
func (h *playSearch) pattern() (all []int) {
	for _, m := range h.marks {
		all = append(all, m.Start)
	}
	for _, part := range h.st.Parts() {
		if part.Kind == sweep.Mark {
			all = append(all, part.Start)
		}
	}
	return all
}

// fullest returns the start at which the most of the marks agree with the stimulus.
func (h *playSearch) fullest(pattern []int, marked []detection) (best whole) {
	nearest := math.Inf(1)
	for _, one := range marked {
		for _, in := range pattern {
			w, off := whole{start: one.at - in}, 0.0
			for _, other := range pattern {
				i := nearestTo(marked, w.start+other)
				if d := distance(marked[i].at, w.start+other); d <= h.slack(other-in) {
					w.marks = append(w.marks, foundMark{marked[i].at, other})
					off += float64(d)
				}
			}
			if len(w.marks) > len(best.marks) || len(w.marks) == len(best.marks) && off < nearest {
				best, nearest = w, off
			}
		}
	}
	return best
}

// wholes groups the marks into stimuli, the one with the most marks first. It returns none for a
// stimulus without additional parts.
func (h *playSearch) wholes() (found []whole) {
	if len(h.st.Parts()) == 0 {
		return nil
	}
	pattern, left := h.pattern(), slices.Clone(h.marked)
	for best := h.fullest(pattern, left); len(best.marks) > 1; best = h.fullest(pattern, left) {
		found = append(found, best)
		left = slices.DeleteFunc(left, func(d detection) bool {
			return slices.ContainsFunc(best.marks, func(m foundMark) bool { return m.at == d.at })
		})
	}
	return found
}

// leaveOutParts drops the sounds that belong to additional parts, so that no play takes them.
func (h *playSearch) leaveOutParts() {
	for _, w := range h.wholes() {
		slack := h.slack(h.st.WholeLen())
		inside := func(d detection) bool {
			return d.at > w.start+h.st.Parts()[0].Start-slack && d.at < w.start+h.st.WholeLen()+slack
		}
		h.heard, h.marked = slices.DeleteFunc(h.heard, inside), slices.DeleteFunc(h.marked, inside)
	}
}
