package review

import (
	"fmt"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/response/programme"
	"example.com/earnest/response/programme/excerpt"
)

// Names of the versions of an excerpt that are made from the direct recording.
const (
	FilteredByResponse  = "direct, filtered by the measured response"
	FilteredByDeviation = "direct, filtered by the deviation from the target"
	// FilteredByRival is followed by the rival's name.
	FilteredByRival = "direct, filtered by the response of "
)

// mostRivals is the largest number of rivals for which excerpts are made.
const mostRivals = 5

// Excerpts holds the same seconds of a piece of material in several equally loud versions, to be
// compared by ear.
type Excerpts struct {
	// From is the start in the direct recording, in seconds.
	From       float64
	SampleRate int // Hz
	// Versions are made by Judge: the direct recording, the one through the headphones,
	// FilteredByResponse, FilteredByDeviation if a target is named, and FilteredByRival for the
	// first five rivals, by the mean of their sides.
	Versions []excerpt.Version
	// Missing says why there are no versions; empty if there are some.
	Missing string

	cut *excerpt.Excerpt
}

// filter adds the direct recording filtered by one side's response, and makes all versions equally
// loud.
func (e *Excerpts) filter(side *Side, j *Judgement) error {
	cut, err := e.cut.Filter(FilteredByResponse, side.Response())
	if err != nil {
		return err
	}
	if !j.NoTarget {
		if cut, err = cut.Filter(FilteredByDeviation, j.Sides[side.Name].Curve); err != nil {
			return err
		}
	}
	for _, rival := range j.Rivals[:min(len(j.Rivals), mostRivals)] {
		if cut, err = cut.Filter(FilteredByRival+rival.Name, rival.Seatings[0]); err != nil {
			return err
		}
	}
	e.Versions, err = cut.Equalise()
	return err
}

// judgeExcerpts filters the excerpts by the measured response of their side, one after another to
// save memory.
func (r *Results) judgeExcerpts(j *Judgement) {
	for _, p := range r.Programmes {
		if p.Excerpts == nil || p.Excerpts.cut == nil {
			continue
		}
		side := r.side(p.Side)
		if side == nil {
			p.Excerpts.Missing = fmt.Sprintf("the %s side was not measured", p.Side)
			continue
		}
		p.Excerpts.Missing = ""
		if err := p.Excerpts.filter(side, j); err != nil {
			p.Excerpts.Versions, p.Excerpts.Missing = nil, err.Error()
		}
	}
}

// cutExcerpts cuts the excerpt that the material asks for. A recording that clips gives none.
func cutExcerpts(m Material, c *programme.Comparison, direct, through programme.Channel) *Excerpts {
	if m.Excerpt == nil {
		return nil
	}
	if slices.ContainsFunc(c.Findings, func(f response.Finding) bool { return f.Kind == programme.Clipped }) {
		return &Excerpts{Missing: "the recording through the headphones clips, and a listener would take " +
			"that for the headphones; lower the input gain and record again"}
	}
	cut, err := excerpt.Cut(direct, through, c.Alignment, *m.Excerpt)
	if err != nil {
		return &Excerpts{Missing: err.Error()}
	}
	return &Excerpts{From: cut.From, SampleRate: cut.SampleRate, cut: cut}
}
