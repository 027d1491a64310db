package placement

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/search"
	"example.com/earnest/response"
)

// Play is one playing of the stimulus in a recording that holds several: the recorder was left
// running while the headphones were put on again, or while cables were changed.
type Play struct {
	// Placement is that of the play. Its Recording is the stretch of the long one that holds the
	// play, called "file.wav (2nd of 3)", or by the plain name if there is one play; its samples
	// are those of the long one, not copies.
	*Placement
	// Number is the number of the play, from 1; plays that were cut short count.
	Number int
	// From is the beginning of Recording, and Start that of the stimulus, in seconds of the long
	// recording. Start is negative if the recorder was started late. If a stimulus without marks
	// was recorded on one side only, nothing tells which side it was, and Start is that for the
	// left side.
	From, Start float64
	// CutShort is the time at which a play was stopped, to a tenth of a second, in seconds of the
	// long recording. It is NaN for a whole play, and 0 if the recorder was started after the first
	// sweep.
	CutShort float64
	// Findings say that the play is cut short, and what to do; their times are those of the long
	// recording.
	Findings []response.Finding
}

// CutTail is the kind of finding about a recording, or a play, that stops too early.
const CutTail response.FindingKind = "cut tail"

// Whole reports whether the play was recorded from its first sweep to its end.
func (p Play) Whole() bool { return math.IsNaN(p.CutShort) }

// finding returns the finding that the play is cut short.
func (p *Play) finding() response.Finding {
	start := response.Figure{Value: p.Start, Unit: "s", Uncertainty: math.NaN()}
	f := response.Finding{Recording: p.Recording.Name, Kind: CutTail, Severity: response.Warning,
		Time: p.CutShort, Duration: nowhere,
		What:    fmt.Sprintf("%s play is cut short at %.2f s", ordinal(p.Number), p.CutShort),
		Remedy:  "leave it out, or play the stimulus to its end and record that again",
		Figures: map[string]response.Figure{"start": start}}
	if p.CutShort == 0 {
		f.What = fmt.Sprintf("%s play had begun %.2f s before the recorder was started", ordinal(p.Number), -start.Value)
		f.Remedy = "leave it out, or start the recorder first and record that again"
	}
	return f
}

// Plays returns every play of the stimulus in the recording, in order of time. Their number,
// distance and level need not be known; noise and talk between them do no harm.
//
// Where the match of the sweep stands 26 dB above the values within 0.2 s, pieces of 50 ms of the
// sweep have to be there too, one after the other (normalised cross-correlation above one half in
// three of eight at least). Sweeps and marks at the distances of the stimulus make a play, the most
// complete ones first. A play is whole if its closing mark was recorded. If the stimulus has no
// marks, or none was recorded, a play is whole if all sweeps of its sides go on to their last
// sixth. A play without marks that was stopped within two thirds of its first sweep is not found.
//
// Errors: those of Locate, and response.ErrNoPeak if there is no play. A Placement without a
// stimulus panics. The time grows as n log n with the length of the recording.
func (p *Placement) Plays() ([]Play, error) {
	if p.Stimulus == nil {
		panic("placement: there is no stimulus to look for")
	}
	if p.refused != nil {
		return nil, p.refused
	}
	matches := p.kept()
	found := newPlaySearch(p, matches).plays()
	if len(found) == 0 {
		if err := p.err(); err != nil {
			return nil, err
		}
		return nil, p.noPlay()
	}
	out := make([]Play, len(found))
	for i, one := range found {
		from, to := bounds(found, i, p.Recording.Len())
		out[i] = p.play(one, p.part(matches, from, to), from)
	}
	return numbered(out), nil
}

// play returns the play of a candidate, cut out from sample from on.
func (p *Placement) play(found *playCandidate, part *Placement, from int) Play {
	out := Play{Placement: part, From: p.seconds(from), Start: p.seconds(found.start), CutShort: math.NaN()}
	if found.cut >= 0 {
		out.CutShort = p.seconds(found.cut)
	}
	return out
}

func (p *Placement) seconds(sample int) float64 {
	return float64(sample) / float64(p.Recording.SampleRate)
}

// kept returns the matches of the channels. It recomputes them if they were released.
func (p *Placement) kept() []*match {
	all := make([]*match, len(p.Channels))
	for k, c := range p.Channels {
		if all[k] = c.match; c.match == nil || c.match.sweep == nil {
			return p.matches()
		}
	}
	return all
}

// part returns the placement in a stretch of the recording. The stretch begins at a thinned sample,
// so that the matches of the whole are also its own.
func (p *Placement) part(matches []*match, from, to int) *Placement {
	r := *p.Recording
	r.LengthUnstated = r.LengthUnstated && to == p.Recording.Len()
	r.Channels = make([][]float64, len(p.Channels))
	parts, step := make([]*match, len(p.Channels)), p.ref.step
	for i, x := range p.Recording.Channels {
		r.Channels[i] = x[from:to:to]
		if m := matches[i]; m != nil && !constant(r.Channels[i]) {
			parts[i] = newMatch(p.ref.stopped(search.Within(m.sweep, from/step, to/step)),
				search.Within(m.marks, from/step, to/step))
		}
	}
	out := &Placement{Recording: &r, Stimulus: p.Stimulus, Channels: make([]Place, len(p.Channels)), ref: p.ref}
	out.locate(parts)
	return out
}

// stopped returns the match of a stretch as if the recording had stopped at its end: a sweep of
// which the stretch holds only the beginning matches by the share of the band that it had reached.
func (ref *reference) stopped(match []float64) []float64 {
	out, s := slices.Clone(match), ref.stimulus.Sweep()
	if s == nil {
		return out
	}
	rate := float64(s.SampleRate()) / float64(ref.step)
	top := max(s.Start(), min(s.Stop(), rate/2))
	for i := len(out) - 1; i >= 0; i-- {
		lasts := float64(len(out)-i) / rate
		if lasts >= s.TimeAt(top) {
			break
		}
		out[i] *= s.FrequencyAt(lasts) / top
	}
	return out
}

// ends returns the sample at which a play ends that another one follows: that of its last sound, or
// of the end of the additional parts.
func (p *playCandidate) ends(next int) int {
	if st := p.search.st; len(st.Parts()) > 0 {
		return max(p.last, min(p.start+st.WholeLen(), next))
	}
	return p.last
}

// numbered numbers and names the plays of one file, and adds a finding to those that were cut
// short.
func numbered(all []Play) []Play {
	for i := range all {
		p := &all[i]
		p.Number = i + 1
		if !p.Whole() {
			p.Findings = []response.Finding{p.finding()}
		}
		if len(all) > 1 {
			p.Recording.Name = fmt.Sprintf("%s (%s of %d)", p.Recording.Name, ordinal(p.Number), len(all))
		}
	}
	return all
}

// bounds returns the stretch of a play: from its beginning to its end, with a margin for the
// difference of clocks, no further than half-way to the sounds of its neighbours, and not beyond
// the place at which it was cut short.
func bounds(all []*playCandidate, i, length int) (from, to int) {
	p := all[i]
	margin := p.search.slack(p.search.st.WholeLen())
	from, to = max(0, p.from-margin), min(length, p.to+margin)
	if p.cut > 0 {
		to = min(to, p.cut)
	}
	if i > 0 {
		from = max(from, (all[i-1].ends(p.first)+p.first)/2)
	}
	if i+1 < len(all) {
		to = min(to, (p.ends(all[i+1].first)+all[i+1].first)/2)
	}
	from = min(from, p.first)
	return from - from%p.search.ref.step, max(to, min(length, p.last))
}

// ordinal is "1st", "2nd", "3rd", "4th", "11th", "21st".
func ordinal(n int) string {
	suffix := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			suffix = "st"
		case 2:
			suffix = "nd"
		case 3:
			suffix = "rd"
		}
	}
	return fmt.Sprintf("%d%s", n, suffix)
}
