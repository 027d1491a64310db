package review

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"runtime/debug"
	"slices"
	"strings"
	"weak"

	"example.com/earnest/internal/parallel"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// Channel is one channel of a recording.
type Channel struct {
	// Recording is nil if there is none. Bench and Pair panic if its channels differ in length.
	Recording *capture.Recording
	// Err says why the recording cannot be used, for example that its file could not be read. The
	// results that need it are left out and named. Recording may then still hold what was read.
	Err error
	// Placement of the stimulus in the recording if it is already known, as for a play cut out of a
	// longer recording; nil means that it is searched for.
	Placement *placement.Placement
	// Number of the channel, from 1; 0 means the second for the right side of a recording of two
	// channels, and the first otherwise.
	Number int
}

// name returns the name of the channel's recording, or "" if it is not known.
func (c Channel) name() string {
	if c.Recording == nil {
		return ""
	}
	return c.Recording.Name
}

// Channels is a channel for each side.
type Channels struct{ Left, Right Channel }

// Both takes both sides from one recording, each from its own channel where it has two.
func Both(r *capture.Recording) Channels {
	return Channels{Left: Channel{Recording: r}, Right: Channel{Recording: r}}
}

// uses returns the channels that have a recording or an error.
func (c Channels) uses(seating int, name string) []use {
	var uses []use
	for _, one := range []struct {
		Channel
		side sweep.Side
	}{{c.Left, sweep.Left}, {c.Right, sweep.Right}} {
		if one.Recording == nil && one.Err == nil {
			continue
		}
		if rec := one.Recording; rec != nil &&
			slices.ContainsFunc(rec.Channels, func(x []float64) bool { return len(x) != rec.Len() }) {
			panic("review: the channels of " + rec.Name + " differ in length")
		}
		channel := one.Number
		switch {
		case channel != 0:
		case one.side == sweep.Right && one.Recording != nil && len(one.Recording.Channels) == 2:
			channel = 2
		default:
			channel = 1
		}
		uses = append(uses, use{seating: seating, name: name, recording: one.Recording,
			err: one.Err, placed: one.Placement,
			channel: channel, side: one.side})
	}
	return uses
}

// use is a channel of a recording, used for one side.
type use struct {
	seating    int    // number of the seating, from 0
	name       string // of the seating
	recording  *capture.Recording
	err        error                // why the channel cannot be used
	placed     *placement.Placement // nil if not found yet
	channel    int
	side       sweep.Side
	controlled bool             // a fault is known that also changes the falling sweep of sweep.AskGain
	gated      bool             // its silences are digital silence and do not show the noise under the sweep
	shared     bool             // the other side uses the same channel
	parts      *placement.Parts // further parts; nil if the stimulus has none, and once they are measured
	// cut says that the recorder was started during the side's sweeps or after them: only the
	// further parts can be measured. It is nil if the sweeps are whole.
	cut error

	reading *Reading // measured by Seat; nil for the direct recording
	readErr error
}

// noise returns the noise of the recording as a cause of uncertainty: common to one seating or, for
// the direct recording, to one side of the rig.
func (u use) noise() response.Cause {
	if u.seating == 0 {
		return response.Cause{Name: noiseOfDirect, CommonTo: response.OneRig, Key: u.side.String()}
	}
	return response.Cause{Name: response.NoiseOfRecording, CommonTo: response.OneSeating}
}

const noiseOfDirect = "noise of the direct recording"

// recordings holds the recordings of the stimulus, each inspected once and put on the player's
// clock.
type recordings struct {
	stimulus     *sweep.Stimulus
	set          *fitness.Set
	placed       map[*capture.Recording]*placement.Placement
	findings     map[*capture.Recording][]response.Finding
	synchronised map[*capture.Recording]*placement.Placement
	order        []*capture.Recording
	parts        map[*capture.Recording]*placement.Parts // by the whole recording
	// sweeps holds, without their samples, the stretches with the sweeps of recordings whose
	// further parts are measured. It does not keep the whole recordings.
	sweeps map[weak.Pointer[capture.Recording]]*capture.Recording
	doubts []response.Finding // from measuring
	notes  []string
}

func newRecordings(st *sweep.Stimulus, set *fitness.Set) *recordings {
	return &recordings{stimulus: st, set: set, placed: map[*capture.Recording]*placement.Placement{},
		findings: map[*capture.Recording][]response.Finding{}, synchronised: map[*capture.Recording]*placement.Placement{},
		parts: map[*capture.Recording]*placement.Parts{}, sweeps: map[weak.Pointer[capture.Recording]]*capture.Recording{}}
}

// clone returns the same recordings. Others may be added to it.
func (r *recordings) clone() *recordings {
	return &recordings{stimulus: r.stimulus, set: r.set.Clone(), placed: maps.Clone(r.placed),
		findings:     maps.Clone(r.findings),
		synchronised: maps.Clone(r.synchronised), order: slices.Clone(r.order), parts: maps.Clone(r.parts),
		sweeps: maps.Clone(r.sweeps),
		doubts: slices.Clone(r.doubts), notes: slices.Clone(r.notes)}
}

// uses is like Channels.uses. Of a recording with several plays it uses one, and returns a finding.
// If the stimulus has further parts, the response uses only the part of the recording that holds
// the sweeps.
func (r *recordings) uses(c Channels, seating int, name string) ([]use, []response.Finding) {
	uses := c.uses(seating, name)
	found := r.choosePlays(uses)
	if len(uses) == 2 && uses[0].recording == uses[1].recording && uses[0].channel == uses[1].channel {
		uses[0].shared, uses[1].shared = true, true
	}
	for i := range uses {
		u := &uses[i]
		if r.stimulus == nil || len(r.stimulus.Parts()) == 0 || u.recording == nil || u.err != nil {
			continue
		}
		whole := u.recording
		if r.parts[whole] == nil {
			r.parts[whole] = placement.FindParts(whole, r.stimulus)
			if before := r.sweeps[weak.Make(whole)]; before != nil {
				before.Channels = r.parts[whole].Sweeps.Channels
				r.parts[whole].Sweeps = before
			}
		}
		if u.parts = r.parts[whole]; u.parts.Sweeps != whole {
			u.recording, u.placed = u.parts.Sweeps, nil
		}
		u.cut = u.cutOff(r.stimulus)
	}
	return uses, found
}

// forgetParts drops the recordings that were measured with their further parts. They are minutes
// long.
func (r *recordings) forgetParts() {
	for whole, parts := range r.parts {
		if parts.Sweeps != whole { // its samples are copies
			parts.Sweeps.Channels = make([][]float64, len(whole.Channels))
			r.sweeps[weak.Make(whole)] = parts.Sweeps
		}
	}
	clear(r.parts)
}

// unusable keeps the finding about a recording that cannot be used, unless it is there already.
func (r *recordings) unusable(name, lost string, err error) (found []response.Finding) {
	f := unusable(name, lost, err)
	if slices.ContainsFunc(r.doubts, func(g response.Finding) bool { return g.What == f.What && g.Recording == name }) {
		return nil
	}
	r.doubts = append(r.doubts, f)
	return []response.Finding{f}
}

// inspect returns the findings about the recordings that were not inspected before, in the channels
// that hold the sweeps of their side.
func (r *recordings) inspect(uses []use, direct bool) (found []response.Finding) {
	var added []*capture.Recording
	var placed []*placement.Placement
	for _, u := range uses {
		if _, known := r.placed[u.recording]; !known && u.cut == nil {
			r.placed[u.recording] = nil
			added, placed = append(added, u.recording), append(placed, u.placed)
		}
	}
	r.order = append(r.order, added...)
	tidy(added)
	parallel.Do(len(added), func(i int) {
		if placed[i] == nil {
			placed[i], _ = placement.Locate(added[i], r.stimulus) // the report names what is not found
		}
	})
	for i, rec := range added {
		r.placed[rec] = placed[i]
		r.findings[rec] = r.set.Inspect(placed[i], fitness.Config{Direct: direct, Sides: sides(uses, rec)}).Findings
		r.findings[rec] = slices.DeleteFunc(r.findings[rec], r.endsItself)
		if direct {
			if wrong := r.checkSettings(rec); wrong != nil { // the cause of all other findings
				r.findings[rec] = wrong
			}
		}
		found = append(found, r.findings[rec]...)
	}
	tidy(added)
	return found
}

// endsItself reports whether a finding is about a cutoff at the stimulus's own highest frequency,
// if the stimulus is not a sweep that the detectors know.
func (r *recordings) endsItself(f response.Finding) bool {
	signal := r.stimulus.Signal()
	cutoff := f.Figures["cutoff"]
	return signal.Law() == nil && cutoff.Known() && cutoff.Value > 0.95*signal.Stop()
}

// known copies to a use what was found in its recording.
func (r *recordings) known(u *use) {
	for _, f := range r.findings[u.recording] {
		switch f.Kind {
		case fitness.LevelControl, fitness.LevelStep, fitness.Fade, fitness.LossyCodec, fitness.Wow, fitness.SwappedSides, fitness.CopiedChannel:
			_, shut := f.Figures["silence"]
			u.controlled, u.gated = true, u.gated || shut
		}
	}
}

// ofOneChannel are the kinds of faults of an input, a lead or a driver, which leave the other
// channels of the recording as they are.
var ofOneChannel = []response.FindingKind{fitness.Clipping, fitness.FlatTops, fitness.LowLevel, fitness.LowBitDepth, fitness.LevelStep, fitness.DCOffset,
	fitness.MainsHum, fitness.SilentChannel, fitness.SoftClipping}

// unfit returns an error that wraps fitness.ErrUnfit and says why the recording is unfit for a use;
// nil if it is fit.
func (r *recordings) unfit(u use) error {
	return unfitError(slices.DeleteFunc(slices.Clone(r.findings[u.recording]), func(f response.Finding) bool {
		return f.Channel != 0 && f.Channel != u.channel && slices.Contains(ofOneChannel, f.Kind)
	}))
}

// clockWorthCorrecting is the drift in parts per million that turns the phase at 20 kHz by a tenth
// of a turn over a sweep of 6 s.
const clockWorthCorrecting = 0.8

// onPlayersClock returns the recording of a use on the player's clock, resampled where the
// recorder's ran differently.
func (r *recordings) onPlayersClock(u use) (*placement.Placement, error) {
	if p := r.synchronised[u.recording]; p != nil {
		return p, nil
	}
	p := r.placed[u.recording]
	clock, err := p.Clock(u.channel, u.side)
	switch {
	case errors.Is(err, placement.ErrUnmarked):
		r.notes = append(r.notes, fmt.Sprintf("%s: the clocks of player and recorder could not be compared: %v.",
			u.recording.Name, placement.ErrUnmarked))
	case err != nil:
		return nil, err
	case math.Abs(clock.Drift) > max(clockWorthCorrecting, 3*clock.Uncertainty):
		p = p.CorrectDrift(clock)
		off := response.Figure{Value: clock.Drift, Uncertainty: clock.Uncertainty, Unit: "parts per million"}
		r.notes = append(r.notes, fmt.Sprintf(
			"%s: the recorder's clock differs by %s from the player's; corrected by resampling.",
			u.recording.Name, off.WithInterval(0.95)))
	}
	r.synchronised[u.recording] = p
	return p, nil
}

// resampledFrom returns the lower of the two rates in Hz of a resampled recording; 0 if it was not
// resampled.
func resampledFrom(r *capture.Recording) int {
	if r == nil || r.FromRate == 0 {
		return 0
	}
	return min(r.FromRate, r.SampleRate)
}

// lowestRate returns the lowest rate that is not 0.
func lowestRate(rates ...int) (lowest int) {
	for _, r := range rates {
		if r > 0 {
			lowest = min(cmp.Or(lowest, r), r)
		}
	}
	return lowest
}

// unusable returns the finding that a recording cannot be used and what is lost by it.
func unusable(name, lost string, err error) response.Finding {
	f := doubt(name, Unusable, response.Unfit)
	what := err.Error()
	for _, prefix := range []string{"capture: ", "level: ", "review: ", name + ": "} {
		what = strings.TrimPrefix(what, prefix)
	}
	f.What = fmt.Sprintf("cannot be used, so %s: %s", lost, what)
	return f
}

// tidy runs the garbage collector after work on long recordings. Without it the garbage would stay
// until memory had doubled.
func tidy(recordings []*capture.Recording) {
	const long = 1 << 23 // samples of all channels: 64 MB
	samples := 0
	for _, rec := range recordings {
		samples += rec.Len() * len(rec.Channels)
	}
	if samples > long {
		debug.FreeOSMemory()
	}
}

// sides returns the side of each channel of a recording, 0 for one that is not used or of which the
// sweeps are cut off.
func sides(uses []use, rec *capture.Recording) []sweep.Side {
	sides := make([]sweep.Side, len(rec.Channels))
	for _, u := range uses {
		switch {
		case u.recording != rec || u.channel < 1 || u.channel > len(sides) || u.cut != nil:
		case u.shared:
			sides[u.channel-1] = fitness.EitherSide
		default:
			sides[u.channel-1] = u.side
		}
	}
	return sides
}

func unfitError(findings []response.Finding) error {
	errs := []error{fitness.ErrUnfit}
	for _, f := range findings {
		if f.Severity == response.Unfit {
			errs = append(errs, errors.New(f.String()))
		}
	}
	if len(errs) == 1 {
		return nil
	}
	return errors.Join(errs...)
}
