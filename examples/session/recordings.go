package session

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// use is one channel of a recording, used for one side.
type use struct {
	seating int // its place in the session; directUse for the direct recording
	file    string
	channel int
	side    sweep.Kind
}

const directUse = -1

// recordings are the recordings of a session, read, looked at and on the player's
// clock. Each goes by its file, and by the play where that holds several.
type recordings struct {
	uses     []use
	direct   string
	files    map[string]*capture.Recording
	unfit    map[string]bool
	findings []capture.Finding
	notes    []string
}

// record reads every recording of the stimulus that the session names, says
// whether each is fit to use, and puts it on the player's clock. It returns
// the session with its seatings one by one.
func (s *Session) record(st *sweep.Stimulus, progress func(string)) (*recordings, *Session, error) {
	r := &recordings{files: map[string]*capture.Recording{}, unfit: map[string]bool{}}
	from := &reel{session: s, stimulus: st, tapes: map[string]*tape{}, progress: progress}
	unrolled := *s
	var err error
	if unrolled.Seatings, err = from.unrolled(); err != nil {
		return nil, nil, err
	}
	if err := r.read(&unrolled, from); err != nil {
		return nil, nil, err
	}
	progress("looking whether the recordings are fit to use")
	r.inspect(&unrolled, st)
	for _, name := range r.names() {
		if err := r.synchronise(name, st); err != nil {
			return nil, nil, err
		}
	}
	return r, &unrolled, nil
}

// names are the files in the order in which the session uses them.
func (r *recordings) names() []string {
	var names []string
	for _, u := range r.uses {
		if !slices.Contains(names, u.file) {
			names = append(names, u.file)
		}
	}
	return names
}

// read takes each use's play from the tapes.
func (r *recordings) read(s *Session, from *reel) error {
	add := func(seating int, f File, channel func(rec *capture.Recording) int, side sweep.Kind) error {
		t, err := from.tape(f.File)
		if err != nil {
			return err
		}
		rec, name, err := t.recording(f.File, f.Play)
		if err != nil {
			return err
		}
		r.files[name] = rec
		r.uses = append(r.uses, use{seating, name, channel(rec), side})
		return nil
	}
	d := s.Direct
	direct := File{File: d.File, Play: d.Play}
	if err := add(directUse, direct, func(*capture.Recording) int { return or(d.Left, 1) }, sweep.Left); err != nil {
		return err
	}
	if err := add(directUse, direct, func(rec *capture.Recording) int { return or(d.Right, min(2, len(rec.Channels))) }, sweep.Right); err != nil {
		return err
	}
	r.direct = r.uses[0].file
	for i, seating := range s.Seatings {
		for _, side := range []sweep.Kind{sweep.Left, sweep.Right} {
			f := seating.Left
			if side == sweep.Right {
				f = seating.Right
			}
			if f.File == "" {
				continue
			}
			if err := add(i, f, func(rec *capture.Recording) int { return f.channel(rec, side) }, side); err != nil {
				return err
			}
		}
	}
	r.tell(from)
	return nil
}

// tell says what files hold that hold several plays.
func (r *recordings) tell(from *reel) {
	for _, file := range slices.Sorted(maps.Keys(from.tapes)) {
		t := from.tapes[file]
		if len(t.plays) > 1 {
			r.notes = append(r.notes, fmt.Sprintf("%s: %s.", filepath.Base(file), t.list()))
		}
		for _, p := range t.plays {
			r.findings = append(r.findings, p.Findings...)
		}
	}
}

// channel is the one asked for, or the side's own in a two-channel file.
func (f File) channel(rec *capture.Recording, side sweep.Kind) int {
	if f.Channel == 0 && side == sweep.Right && len(rec.Channels) == 2 {
		return 2
	}
	return or(f.Channel, 1)
}

// or is v, or what stands for a v of zero.
func or[T int | float64](v, otherwise T) T {
	if v == 0 {
		return otherwise
	}
	return v
}

// inspect gathers the findings about all of them together.
func (r *recordings) inspect(s *Session, st *sweep.Stimulus) {
	var set []capture.Inspection
	for _, name := range r.names() {
		rec := r.files[name]
		set = append(set, capture.Inspection{Recording: rec, InspectOptions: capture.InspectOptions{
			Stimulus: st, Direct: name == r.direct, Sides: r.sides(name, len(rec.Channels)),
		}})
	}
	r.findings = append(r.findings, capture.InspectSet(set).Findings...)
	for _, f := range r.findings {
		if f.Severity == capture.Unfit {
			r.unfit[f.Recording] = true
		}
	}
}

// sides says which side each channel of a file is used for; nil where one
// channel is used for both.
func (r *recordings) sides(name string, channels int) []sweep.Kind {
	sides := make([]sweep.Kind, channels)
	for k := range sides {
		sides[k] = sweep.Silence
	}
	for _, u := range r.uses {
		if u.file != name || u.channel > channels {
			continue
		}
		if have := sides[u.channel-1]; have != sweep.Silence && have != u.side {
			return nil
		}
		sides[u.channel-1] = u.side
	}
	if channels > 1 && slices.Contains(sides, sweep.Silence) {
		return nil // what an unused channel holds is nobody's business
	}
	return sides
}

// clockWorthCorrecting is the drift in parts per million that turns the phase at
// 20 kHz by a tenth of a turn over a sweep of 6 s.
const clockWorthCorrecting = 0.8

// synchronise puts a recording on the player's clock where that is another one.
func (r *recordings) synchronise(name string, st *sweep.Stimulus) error {
	u := r.uses[slices.IndexFunc(r.uses, func(u use) bool { return u.file == name })]
	clock, err := r.files[name].Clock(st, u.channel, u.side)
	switch {
	case errors.Is(err, capture.ErrUnmarked):
		r.notes = append(r.notes, fmt.Sprintf("%s: whether player and recorder ran at one speed is not known: %v.", filepath.Base(name), capture.ErrUnmarked))
		return nil
	case err != nil:
		return err
	case math.Abs(clock.Drift) > max(clockWorthCorrecting, 3*clock.Uncertainty):
		r.files[name] = r.files[name].OnPlayersClock(clock)
		low, high := response.Figure{Value: clock.Drift, Uncertainty: clock.Uncertainty, Unit: "ppm"}.Interval(0.95)
		r.notes = append(r.notes, fmt.Sprintf("%s: the recorder's clock runs %+.1f parts per million (95 %% sure: %+.1f to %+.1f) off the player's; corrected by resampling.",
			filepath.Base(name), clock.Drift, low, high))
	}
	return nil
}
