package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// Play is one playing of the stimulus in a recording that holds several: the recorder was left running while the pair was put on again, or
// while cables were changed.
type Play struct {
	// Recording is that stretch, called "file.wav (2nd of 3)"; the plain name if there is one play. Its samples are those of the long one, not
	// copies.
	Recording *Recording
	// Number of the play, from 1, those that were cut short counted.
	Number int
	// From is where Recording begins, and Start where the stimulus does, in seconds of the long recording. Start is negative where the
	// recorder was started late. Where a stimulus without marks was heard on one side only, nothing tells which, and Start is what it
	// is if that was the left.
	From, Start float64
	// CutShort is where what is heard of a play ends that was stopped, to a tenth of a second, in seconds of the long recording; NaN for a
	// whole one, 0 where the recorder was started after the first sweep.
	CutShort float64
	// Findings say, with what to do, that the play is cut short; their times are those of the long recording.
	Findings []response.Finding
}

// Whole tells whether the play was recorded from its first sweep to its end.
func (p Play) Whole() bool { return math.IsNaN(p.CutShort) }

// Plays finds every play of the stimulus in the recording, in order of time. How many there are, how far apart and how loud need not be
// known; noise and talk between them do no harm.
//
// The sweep is looked for by its match with its spectrum made flat, at a sixth of full bandwidth; where that stands 26 dB above what is within
// 0.2 s, pieces of 50 ms of the sweep must be there too, one after the other (normalised cross-correlation above one half in three of eight
// at least). Sweeps and marks that stand as they do in the stimulus make a play, the most complete ones first. A play is
// whole if its closing mark is heard; if the stimulus has no marks, or none can be heard, if all sweeps of the sides that are heard go on
// to their last sixth. A play without marks that was stopped within two thirds of its first sweep is not seen.
//
// Errors: response.ErrNoPeak where there is no play at all; unequal sample rates; response.ErrTooShort and response.ErrSilent as Take.
// Channels that differ in length panic. Time grows as n log n with the length of the recording.
func (r *Recording) Plays(st *sweep.Stimulus) ([]Play, error) {
	if fs := st.Sweep().SampleRate(); r.SampleRate != fs {
		return nil, r.otherRate(fs)
	}
	if err := r.holdsSweep(st); err != nil {
		return nil, err
	}
	found := newHunt(r, st).plays()
	if len(found) == 0 {
		return nil, fmt.Errorf("capture: %s: %w: the stimulus is nowhere in %s; check that it is the stimulus named here that was played, "+
			"that the right input was recorded, and that nothing drowns it", r.Name, response.ErrNoPeak, clock(r.Duration()))
	}
	out := make([]Play, len(found))
	for i, p := range found {
		from, to := bounds(found, i, r.Len())
		out[i] = Play{Recording: r.stretch(from, to, i+1, len(found)), Number: i + 1,
			From: r.seconds(from), Start: r.seconds(p.start), CutShort: math.NaN()}
		if p.cut >= 0 {
			out[i].CutShort = r.seconds(p.cut)
			out[i].Findings = []response.Finding{p.finding(r, i+1)}
		}
	}
	return out, nil
}

func (r *Recording) seconds(sample int) float64 { return float64(sample) / float64(r.SampleRate) }

// holdsSweep refuses a recording of which no channel can hold a sweep.
func (r *Recording) holdsSweep(st *sweep.Stimulus) error {
	err := fmt.Errorf("%w; check that the recorder was armed", response.ErrTooShort)
	for _, x := range r.Channels {
		if len(x) != r.Len() {
			panic("capture: channels differ in length")
		}
		if err = holdsSweep(x, st); err == nil {
			return nil
		}
	}
	return named(r.Name, err)
}

// stretch is a piece of the recording, as play k of n.
func (r *Recording) stretch(from, to, k, n int) *Recording {
	part := *r
	part.LengthUnstated = r.LengthUnstated && to == r.Len()
	if n > 1 {
		part.Name = fmt.Sprintf("%s (%s of %d)", r.Name, ordinal(k), n)
	}
	part.Channels = make([][]float64, len(r.Channels))
	for i, x := range r.Channels {
		part.Channels[i] = x[from:to:to]
	}
	return &part
}

// bounds are where a play is cut out: from its beginning to its end, and what clocks may differ by, no further than half-way to what is heard of
// its neighbours, and not beyond where it was cut short.
func bounds(all []*played, i, length int) (from, to int) {
	p := all[i]
	margin := p.h.slack(p.h.st.Len())
	from, to = max(0, p.from-margin), min(length, p.to+margin)
	if p.cut > 0 {
		to = min(to, p.cut)
	}
	if i > 0 {
		from = max(from, (all[i-1].last+p.first)/2)
	}
	if i+1 < len(all) {
		to = min(to, (p.last+all[i+1].first)/2)
	}
	return min(from, p.first), max(to, min(length, p.last))
}

// finding says that a play is cut short.
func (p *played) finding(r *Recording, number int) response.Finding {
	f := response.Finding{Recording: r.Name, Kind: CutTail, Severity: response.Warning, Time: r.seconds(p.cut), Duration: nowhere,
		What:    fmt.Sprintf("%s play is cut short at %s", ordinal(number), clock(r.seconds(p.cut))),
		Remedy:  "leave it out, or play the stimulus to its end and record that again",
		Figures: figures{"start": figure(r.seconds(p.start), "s")}}
	if p.cut == 0 {
		f.What = fmt.Sprintf("%s play had begun %s before the recorder was started", ordinal(number), clock(-r.seconds(p.start)))
		f.Remedy = "leave it out, or start the recorder first and record that again"
	}
	return f
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
