package watch

import (
	"cmp"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// desk is what the assistant knows. Whoever reads or changes it holds its mutex; only work judges, so that
// the page answers meanwhile.
type desk struct {
	folder  string
	mutex   sync.Mutex
	version int
	changed chan struct{} // closed, and made anew, with each version

	files          []*file
	arrived, first int
	notices        map[string]string // by what they are about

	pairName, rigName string
	draft             *session.Draft
	stamp             string // of the session file and the stimulus, as they were read
	stimulus          *sweep.Stimulus
	usual             session.Stimulus // that is made where there is none
	sorter            *review.Sorter
	bench             *review.Bench // nil before a direct recording is fit
	direct            string        // its name
	skipped           map[string]bool
	answers           map[string]review.Candidate // of the reviewer, by the bytes of the file and the play
	used              map[string]bool             // that are taken all the same, likewise
	making, made      string                      // the report: what is being done, and what it said
	open              string                      // an address that the page is to open once

	release func() // lets another assistant write
}

// newDesk opens a folder. Where another assistant has it, this one only looks.
func newDesk(folder string) *desk {
	d := &desk{folder: folder, changed: make(chan struct{}), notices: map[string]string{}, skipped: map[string]bool{},
		answers: map[string]review.Candidate{}, used: map[string]bool{},
		sorter: &review.Sorter{}, usual: session.Stimulus{With: []string{string(sweep.AskGain)}, Level: -12}}
	d.take()
	d.reread()
	return d
}

// take takes the folder for writing, if nobody else has it.
func (d *desk) take() error {
	if d.release != nil {
		return nil
	}
	release, err := report.Lock(d.folder + "/assistant")
	if err != nil {
		d.notice("lock", "Another assistant has this folder, so this one only looks: it writes neither "+
			"the session file nor a report. Close the other one to write here.")
		return err
	}
	d.release = release
	d.notice("lock", "")
	return nil
}

// close lets others write.
func (d *desk) close() {
	if d.release != nil {
		d.release()
	}
}

// notice sets what is said about something, nothing where it is empty, and tells whether that is new.
func (d *desk) notice(about, text string) bool {
	if d.notices[about] == text {
		return false
	}
	d.notices[about] = text
	return true
}

// told are the notices in a steady order.
func (d *desk) told() (all []string) {
	for _, about := range slices.Sorted(maps.Keys(d.notices)) {
		if d.notices[about] != "" {
			all = append(all, d.notices[about])
		}
	}
	return all
}

// publish shows what has changed.
func (d *desk) publish() {
	d.version++
	close(d.changed)
	d.changed = make(chan struct{})
}

// reread reads the session file, which somebody may have changed by hand, and the stimulus, where either
// has changed on the disk. It tells whether that was so.
func (d *desk) reread() bool {
	stamp := ""
	for _, name := range []string{"session.toml", "stimulus.wav"} {
		if about, err := os.Stat(filepath.Join(d.folder, name)); err == nil {
			stamp += fmt.Sprint(name, about.Size(), about.ModTime().UnixNano())
		}
	}
	if stamp == d.stamp && d.draft != nil {
		return false
	}
	d.stamp = stamp
	draft, err := session.ReadDraft(d.folder)
	if err != nil {
		d.notice("session", report.Sentence(err.Error())+" Nothing is written until it can be read.")
		if d.draft == nil {
			d.draft = &session.Draft{}
		}
		return true
	}
	d.notice("session", "")
	d.draft = draft
	d.pairName = cmp.Or(draft.Said().Headphones.Name, d.pairName)
	d.rigName = cmp.Or(draft.Said().Rig.Name, d.rigName)
	played, err := draft.Stimulus()
	if err != nil {
		d.notice("stimulus", "What is played is not known: "+report.Sentence(err.Error()))
		return true
	}
	d.notice("stimulus", "")
	if (played == nil) != (d.stimulus == nil) || played != nil && played.WholeLen() != d.stimulus.WholeLen() {
		d.stimulus = played
		d.again()
	}
	for _, f := range d.files {
		names := draft.Names(f.name)
		if said := fmt.Sprint(names); said != f.named && f.judged {
			f.named = said
			for _, t := range f.takes {
				was := t.is()
				t.bySession(names)
				if is := t.is(); is.Role != was.Role || is.Left != was.Left || is.Right != was.Right {
					f.judged = false // by other channels, or as something else
				}
			}
		}
	}
	return true
}

// again judges everything anew, as where something else is played.
func (d *desk) again() {
	d.sorter, d.bench, d.direct = &review.Sorter{Stimulus: d.stimulus}, nil, ""
	for _, f := range d.files {
		f.judged, f.takes = false, nil
	}
}

// step looks at the folder, and judges the next file that is whole. It tells whether there may be more.
func (d *desk) step(now time.Time) (more bool) {
	d.mutex.Lock()
	changed := d.look(now)
	if d.reread() {
		changed = true
	}
	f := d.settled(now)
	if changed {
		d.publish()
	}
	var was file
	if f != nil {
		was = *f
	}
	d.mutex.Unlock()
	if f == nil {
		return false
	}
	judged := d.judge(was)
	d.mutex.Lock()
	defer d.mutex.Unlock()
	if f.size == was.size && f.changed.Equal(was.changed) && !f.gone { // or else it is judged once more
		judged.still = f.still
		*f = judged
		f.judged = true
		d.settle(f)
	}
	d.publish()
	return true
}

// settle draws the consequences of a judged file: the first direct recording that is fit makes the bench, by
// which the others are judged anew, and a piece of music or speech says what the other recording of it is.
func (d *desk) settle(f *file) {
	for _, t := range f.takes {
		if other := d.file(t.is().With); other != nil && other.judged && len(other.takes) == 1 &&
			other.takes[0].is().Role == review.LonePiece {
			other.judged = false // now it is known what it belongs with
		}
		bench := t.bench
		if t.bench = nil; bench == nil || d.bench != nil { // one is enough, and holds its recording
			continue
		}
		d.bench, d.direct = bench, f.name
		for _, other := range d.files {
			if other.judged && slices.ContainsFunc(other.takes,
				func(t *take) bool { return t.is().Role == review.ThroughSweep && t.curves == nil }) {
				other.judged = false
			}
		}
	}
}

// takes are those that were judged, in the order in which they were recorded.
func (d *desk) takes() (all []*take) {
	files := slices.Clone(d.files)
	slices.SortStableFunc(files, func(a, b *file) int { return a.changed.Compare(b.changed) })
	for _, f := range files {
		if f.judged && !f.gone {
			all = append(all, f.takes...)
		}
	}
	return all
}

// progress is how far the review has come.
func (d *desk) progress() review.Progress {
	p := review.Progress{Has: map[review.Role]int{}, Claims: d.draft.Claims(), Driven: d.draft.Said().Drive.Volts > 0}
	if d.stimulus != nil {
		for _, part := range d.stimulus.Parts() {
			if part.Asks != "" && !slices.Contains(p.Asked, part.Asks) {
				p.Asked = append(p.Asked, part.Asks)
			}
		}
	}
	for _, t := range d.takes() {
		if !t.counts() {
			continue
		}
		is := t.is()
		p.Has[is.Role]++
		if is.Role == review.ThroughSweep {
			p.Left += min(1, is.Left)
			p.Right += min(1, is.Right)
		}
	}
	return p
}

// seatings are the curves of each side that count, in order.
func (d *desk) seatings() map[sweep.Side][]response.Curve {
	out := map[sweep.Side][]response.Curve{}
	for _, t := range d.takes() {
		if t.counts() {
			for side, c := range t.curves {
				out[side] = append(out[side], c)
			}
		}
	}
	return out
}

// gains are what one more seating would do.
func (d *desk) gains() []review.SeatingGain {
	curves := d.seatings()
	r := &review.Results{}
	var averages []*response.Average
	for side, into := range map[sweep.Side]**review.Side{sweep.Left: &r.Left, sweep.Right: &r.Right} {
		if len(curves[side]) == 0 {
			continue
		}
		a, err := response.AverageOf(curves[side])
		if err != nil {
			return nil
		}
		*into = &review.Side{Average: a}
	}
	for _, side := range r.Sides() {
		averages = append(averages, side.Average)
	}
	var err error
	switch len(averages) {
	case 0:
		return nil
	case 1:
		r.Mean = averages[0].Level
	default:
		if r.Mean, r.Difference, err = response.PoolSides(averages[0], averages[1]); err != nil {
			return nil
		}
	}
	return r.OneMoreSeating()
}

// recorded are the recordings that the session file is to name.
func (d *desk) recorded() (all []session.Recorded) {
	directs := 0
	for _, t := range d.takes() {
		if !t.counts() {
			continue
		}
		r := session.Recorded{File: t.file, Play: t.identity.Play, Candidate: t.is(), Resampled: t.resampled}
		if r.Role == review.DirectSweep {
			if directs++; directs > 2 {
				continue
			}
			r.After = directs == 2
		}
		all = append(all, r)
	}
	return all
}

// lines are proposed for the session file.
func (d *desk) lines() []session.Line {
	if d.pairName == "" || d.rigName == "" || d.notices["session"] != "" {
		return nil
	}
	return d.draft.Propose(d.pairName, d.rigName, d.recorded())
}
