package watch

import (
	"fmt"
	"html/template"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/regular"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// view is the state that the page shows.
type view struct {
	Nonce, Folder, Pair, Rig string
	PlotStyle, Style         template.CSS
	Script                   template.JS
	Version                  int

	Notices           []string
	Begin, NoStimulus bool
	Playable          bool // stimulus.wav is in the folder
	Latest            string
	Verdict           verdict
	Meter             *meter
	Questions         []question
	Allow             *question
	Loud              bool
	Ladder, Gains     string
	Cautions          []string
	Steps             []step
	Plot              template.HTML
	Lines             []line
	Sheet, Lacks      string
	Making, Made      string
	Ready, Report     bool
	Files             []row
}

// verdict shows the latest file and any question.
func (v *view) verdict(d *desk, p review.Progress) {
	v.Verdict = verdict{"Ready", "look", "Recordings saved in this folder are judged here.", ""}
	if s := nextStep(p); s != nil {
		v.Verdict.Do = "Next: " + s.What + "."
	}
	key := 1
	for _, f := range slices.Backward(byArrival(d.files)) {
		if f.gone {
			continue
		}
		if v.Latest == "" {
			v.latest(d, f, p)
		}
		for _, t := range f.takes {
			if !t.asked() {
				continue
			}
			q := question{File: f.name, Label: labelOf(f, t), Play: t.identity.Play}
			for i, c := range t.identity.Candidates {
				if key > 9 {
					break
				}
				q.Choices = append(q.Choices, choice{i, key, c.String()})
				key++
			}
			if len(q.Choices) > 0 {
				v.Questions = append(v.Questions, q)
			}
		}
	}
}

// latest shows one file by its take that needs most attention.
func (v *view) latest(d *desk, f *file, p review.Progress) {
	v.Latest = f.name
	switch {
	case f.problem != "":
		v.Verdict = verdict{"Again", "again", "It cannot be read: " + f.problem, "Correct the cause, or " +
			"record it again."}
		return
	case !f.judged:
		v.Verdict = verdict{"Wait", "look", "It is being written or judged.", "Wait until it is complete."}
		return
	}
	rank := func(t *take) int { return slices.Index([]string{"fit", "look", "ask", "again"}, t.verdict(p).Class) }
	shown := slices.MaxFunc(f.takes, func(a, b *take) int { return rank(a) - rank(b) })
	v.Latest, v.Verdict = labelOf(f, shown), shown.verdict(p)
	if f.replaced {
		v.Verdict.What += " It replaced a file of the same name; the earlier verdict no longer holds."
	}
	if !math.IsNaN(shown.peak) {
		v.Meter = &meter{decibels(shown.peak), meterOf(shown.peak)}
	}
	if shown.fit() && !shown.counts() && !shown.asked() && (shown.soft() || shown.leaks()) {
		v.Allow = &question{File: f.name, Play: shown.identity.Play}
	}
}

type meter struct {
	Text    string
	Picture template.HTML
}

type question struct {
	File, Label string
	Play        int
	Choices     []choice
}

type choice struct {
	Value, Key int
	Text       string
}

type step struct {
	review.Step
	Next bool
}

type line struct {
	session.Line
	About string // files named in it
	On    bool
}

type row struct{ Name, What, Word, Class, Note string }

// view returns the content of the page.
func (d *desk) view() view {
	p := d.progress()
	v := view{Folder: d.folder, Pair: d.pairName, Rig: d.rigName, Version: d.version, Notices: d.told(),
		Begin: d.pairName == "" || d.rigName == "", NoStimulus: d.stimulus == nil,
		Sheet: d.draft.Text(), Lacks: strings.Join(lacks(p), "; "), Making: d.making, Made: d.made, Report: d.reported()}
	v.Playable = regular.Check(filepath.Join(d.folder, "stimulus.wav")) == nil
	for _, s := range p.Steps() {
		one := step{Step: s}
		if next := nextStep(p); next != nil && next.What == s.What && !s.Done {
			one.Next, v.Loud = true, s.Loud
		}
		v.Steps = append(v.Steps, one)
	}
	v.Ladder, v.Cautions = d.cautions()
	v.verdict(d, p)
	for _, f := range slices.Backward(byArrival(d.files)) {
		v.Files = append(v.Files, d.rows(f, p)...)
	}
	var gains []string
	for _, g := range d.gains() {
		if !math.IsNaN(g.Now) {
			gains = append(gains, fmt.Sprintf("%s ±%.2f dB → ±%.2f dB", g.Figure, g.Now, g.Then))
		}
	}
	v.Gains = strings.Join(gains, ", ")
	for _, l := range d.lines() {
		v.Lines = append(v.Lines, line{l, aboutOf(l.Key), !d.skipped[l.Key]})
	}
	said := d.draft.Said()
	v.Ready = d.release != nil && (said.Direct.File != "" && len(said.Seatings) > 0 || len(said.Programmes) > 0)
	if drawn, ok := d.drawn(); ok {
		v.Plot, _ = plot.Figure(drawn)
	}
	return v
}

// rows returns the rows of a file in the list, one for each play.
func (d *desk) rows(f *file, p review.Progress) (all []row) {
	switch {
	case f.gone:
		return []row{{f.name, "", "Gone", "look", "It is no longer in the folder."}}
	case f.problem != "":
		return []row{{f.name, "", "Again", "again", f.problem}}
	case !f.judged:
		return []row{{f.name, "", "Wait", "look", "being written or judged"}}
	}
	for _, t := range f.takes {
		verdict := t.verdict(p)
		one := row{labelOf(f, t), t.what(), verdict.Word, verdict.Class, ""}
		if w := t.worst(); w != nil {
			one.Note = w.What
		} else if t.is().Role == review.NothingToReview {
			one.Note = t.is().Why
		}
		all = append(all, one)
	}
	return all
}

const mostDrawn = 8 // seatings of a side

// drawn returns a plot of the latest recording's response over those of the seatings before.
func (d *desk) drawn() (plot.Plot, bool) {
	p := plot.Plot{ID: "response", Title: "The response so far", X: plot.Frequency(20, 20000),
		Summary: "Headphones alone: the last seating of each side, thick, over those before."}
	for _, side := range []sweep.Side{sweep.Left, sweep.Right} {
		curves := d.seatings()[side]
		for i, c := range curves {
			if i < len(curves)-mostDrawn {
				continue
			}
			s := plot.Series{Name: fmt.Sprintf("%v, seating %d", side, i+1), X: c.Frequency, Y: c.Level,
				Style: map[sweep.Side]plot.Style{sweep.Left: plot.Blue, sweep.Right: plot.Vermilion}[side]}
			if i < len(curves)-1 {
				s.Kind = plot.Impulse // thin
			}
			p.Series = append(p.Series, s)
		}
	}
	if len(p.Series) == 0 {
		return p, false
	}
	low, high := plot.Span(p.X, 5, p.Series...)
	p.Y = plot.Axis{Label: "Level", Unit: "dB", Min: max(low, high-60), Max: high}
	p.Unknown = plot.Outside(p.X, response.Band{Low: p.Series[0].X[0], High: p.Series[0].X[len(p.Series[0].X)-1]},
		"not known")
	return p, true
}

func byArrival(files []*file) []*file {
	out := slices.Clone(files)
	slices.SortStableFunc(out, func(a, b *file) int { return a.arrived - b.arrived })
	return out
}

func labelOf(f *file, t *take) string {
	if t.is().To > 0 {
		return fmt.Sprintf("%s from %.0f s", f.name, t.is().From)
	}
	if t.identity.Play > 0 {
		return fmt.Sprintf("%s, play %d", f.name, t.identity.Play)
	}
	return f.name
}

// aboutOf returns the files named in a line's key.
func aboutOf(key string) string {
	var names []string
	for _, one := range strings.Split(strings.TrimSuffix(key, ";"), ";") {
		name, play, _ := strings.Cut(one, "#")
		if play != "" && play != "0" {
			name += ", play " + play
		}
		names = append(names, name)
	}
	return strings.Join(names, " and ")
}

// meterOf draws a peak on a scale from −60 to 0 dBFS with the recommended range.
func meterOf(peak float64) template.HTML {
	at := func(level float64) float64 { return 400 * (max(-60, min(0, level)) + 60) / 60 }
	var scale strings.Builder
	for level := -60.0; level <= 0; level += 10 {
		anchor := map[bool]string{true: "end", false: "middle"}[level == 0]
		if level == -60 {
			anchor = "start"
		}
		fmt.Fprintf(&scale, `<text x="%.0f" y="36" text-anchor="%s">%s</text>`, at(level), anchor,
			plot.Minus(fmt.Sprint(level)))
	}
	return template.HTML(fmt.Sprintf(`<svg viewBox="0 0 400 40" role="img" aria-label="Peak at %.1f dBFS on a scale from −60 to 0">`+
		`<rect class="good" x="%.0f" y="2" width="%.0f" height="20"/><rect class="peak" x="0" y="7" width="%.1f" height="10"/>%s</svg>`,
		peak, at(-20), at(-6)-at(-20), at(peak), scale.String()))
}
