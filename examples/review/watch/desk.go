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

// desk is the state of the assistant. Hold its mutex to read or change it. Only work judges
// recordings, so the page answers meanwhile.
type desk struct {
	folder  string
	mutex   sync.Mutex
	version int
	changed chan struct{} // closed and replaced with each version

	files          []*file
	arrived, first int
	notices        map[string]string // by topic

	pairName, rigName string
	draft             *session.Draft
	stamp             string // of the session file and the stimulus when last read
	stimulus          *sweep.Stimulus
	usual             session.Stimulus // made if there is none
	sorter            *review.Sorter
	bench             *review.Bench // nil until a direct recording is fit
	direct            string        // its name
	skipped           map[string]bool
	answers           map[string]review.Candidate // by the reviewer, for the bytes of the file and the play
	used              map[string]bool             // accepted by the reviewer despite a doubt, likewise
	gained            []review.SeatingGain
	gainsFrom         []*take
	making, made      string // the report: the current step, and the result
	open              string // an address for the page to open once

	release func() // releases the folder to another assistant
}

// newDesk opens a folder. If another assistant has it, this one only reads.
func newDesk(folder string) *desk {
	d := &desk{folder: folder, changed: make(chan struct{}), notices: map[string]string{}, skipped: map[string]bool{},
		answers: map[string]review.Candidate{}, used: map[string]bool{},
		sorter: &review.Sorter{}, usual: session.Stimulus{With: []string{string(sweep.AskGain)}, Level: -12}}
	d.take()
	d.reread()
	return d
}

// take locks the folder for writing, if no other assistant has it.
func (d *desk) take() error {
	if d.release != nil {
		return nil
	}
	release, err := report.Lock(d.folder + "/assistant")
	if err != nil {
		d.notice("lock", "Another assistant has this folder, so this one only reads: it writes neither the "+
			"session file nor a report. Close the other one to write here.")
		return err
	}
	d.release = release
	d.notice("lock", "")
	return nil
}

// close releases the folder.
func (d *desk) close() {
	if d.release != nil {
		d.release()
	}
}

// notice sets the notice about a topic, or removes it if the text is empty, and reports whether
// that is a change.
func (d *desk) notice(about, text string) bool {
	if d.notices[about] == text {
		return false
	}
	d.notices[about] = text
	return true
}

// told returns the notices in a fixed order.
func (d *desk) told() (all []string) {
	for _, about := range slices.Sorted(maps.Keys(d.notices)) {
		if d.notices[about] != "" {
			all = append(all, d.notices[about])
		}
	}
	return all
}

// publish makes a new version and wakes the pages that wait for one.
func (d *desk) publish() {
	d.version++
	close(d.changed)
	d.changed = make(chan struct{})
}

// reread reads the session file and the stimulus again if either has changed on the disk, and
// reports whether one has.
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
		d.notice("stimulus", "The stimulus is not known: "+report.Sentence(err.Error()))
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
					f.judged = false // with other channels or another role
				}
			}
		}
	}
	return true
}

// again judges all files again, for example after the stimulus has changed.
func (d *desk) again() {
	d.sorter, d.bench, d.direct = &review.Sorter{Stimulus: d.stimulus}, nil, ""
	for _, f := range d.files {
		f.judged, f.takes = false, nil
	}
}

// step looks at the folder and judges the next complete file. It reports whether there may be more.
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
	if f.size == was.size && f.changed.Equal(was.changed) && !f.gone { // otherwise it is judged again
		judged.still = f.still
		*f = judged
		f.judged = true
		d.settle(f)
	}
	d.publish()
	return true
}

// settle updates the other files after one is judged. The first fit direct recording makes the
// bench, and the others are judged again with it. A piece of music or speech identifies its other
// recording.
func (d *desk) settle(f *file) {
	for _, t := range f.takes {
		if other := d.file(t.is().With); other != nil && other.judged && !slices.ContainsFunc(other.takes,
			func(t *take) bool { return t.is().With == f.name }) && slices.ContainsFunc(other.takes, func(o *take) bool {
			return o.is().Role == review.LonePiece ||
				o.is().Role == review.ThroughPiece && t.is().Role == review.DirectPiece
		}) {
			other.judged = false // another recording of it, or of a part of it, is known now
		}
		bench := t.bench
		if t.bench = nil; bench == nil || d.bench != nil { // one bench is enough; it holds its recording in memory
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

// takes returns the judged takes in the order of recording.
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

// progress returns how far the review has come.
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

// seatings returns the curves of each side that count, in order.
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

// gains returns the effect of one more seating. It is computed again if other takes count.
func (d *desk) gains() []review.SeatingGain {
	var from []*take
	for _, t := range d.takes() {
		if t.counts() && t.sparse != nil {
			from = append(from, t)
		}
	}
	if !slices.Equal(from, d.gainsFrom) {
		d.gainsFrom, d.gained = from, gainsOf(from)
	}
	return d.gained
}

// recorded returns the recordings that the session file should name.
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

// lines returns the proposed lines of the session file.
func (d *desk) lines() []session.Line {
	if d.pairName == "" || d.rigName == "" || d.notices["session"] != "" {
		return nil
	}
	return d.draft.Propose(d.pairName, d.rigName, d.recorded())
}

func gainsOf(takes []*take) []review.SeatingGain {
	curves := map[sweep.Side][]response.Curve{}
	for _, t := range takes {
		for side, c := range t.sparse {
			curves[side] = append(curves[side], c)
		}
	}
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
