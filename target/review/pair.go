package review

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"example.com/earnest/internal/parallel"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/level"
	"example.com/earnest/response/programme"
	"example.com/earnest/sweep"
)

// About names the pair and the review, for the reader.
type About struct {
	Name        string // of the pair
	Kind        string // in words: "closed, over the ear"
	Title, Date string // of the review
	// Condition and Specimen in words, where they are named.
	Condition, Specimen string
	// Opinion is the reviewer's, in Markdown, by section: "" for the whole, "sound", "comfort",
	// "build", "use". Photos are the JPEG files that it names. Price and Availability are as given.
	// Nothing is computed from them.
	Opinion             map[string]string
	Photos              map[string][]byte
	Price, Availability string
}

// Pair is a pair of headphones that is being measured. It is for one goroutine.
type Pair struct {
	bench      *Bench
	about      About
	recordings *recordings
	seatings   []string // their names
	uses       []use    // of the channels that were accepted
	refused    []refusal
	materials  []*material
	drive      Drive
	impedance  *level.Impedance
	isolation  *level.BandLevels
	leakage    *level.SoundLeakage

	last        Material // that was played
	lastAligned *programme.Alignment
}

// Pair starts the measurement of a pair. It panics if the bench has a stimulus but no direct
// recording.
func (b *Bench) Pair(a About) *Pair {
	if len(b.parts) == 0 && b.config.Stimulus != nil {
		panic("review: the direct recording comes before the first pair")
	}
	return &Pair{bench: b, about: a, recordings: newRecordings(b.config.Stimulus, b.direct.set.Clone())}
}

// Seat adds and measures seatings, and returns the findings about their recordings. It keeps their
// samples until Play or Measure, to find a recording that is given twice. It leaves out and names a
// recording that could not be read, is not fit to use, or does not hold the stimulus. The error
// then wraps fitness.ErrUnfit, and the rest can still be measured. Config.UseUnfit keeps unfit
// recordings.
//
// A seating is one play of the stimulus. Of a recording with several plays Seat measures the first
// whole one that holds the side, and a finding names the others. To seat each of them, give a
// Channel with the Recording and the Placement of each placement.Play.
//
// A recording that began after a side's sweep did has no part in the response of that side. If the
// stimulus has further parts, those that it holds are measured, and a finding says so.
func (p *Pair) Seat(seatings ...Seating) ([]response.Finding, error) {
	if p.bench.config.Stimulus == nil {
		return nil, errNoStimulus
	}
	var added []use
	var findings []response.Finding
	for _, s := range seatings {
		number := len(p.seatings) + 1
		if s.Name == "" {
			s.Name = fmt.Sprintf("seating %d", number)
		}
		uses, several := p.recordings.uses(s.Channels, number, s.Name)
		if len(uses) == 0 {
			return nil, fmt.Errorf("review: %s has no recording; give it the left side, the right side, or both", s.Name)
		}
		p.seatings = append(p.seatings, s.Name)
		added, findings = append(added, uses...), append(findings, several...)
	}
	var errs []error
	added = slices.DeleteFunc(added, func(u use) bool {
		if u.err == nil || p.bench.config.UseUnfit && u.recording != nil {
			return false
		}
		p.refused = append(p.refused, refusal{u, u.err})
		findings = append(findings, p.leaveOut(u, u.err)...)
		errs = append(errs, fmt.Errorf("%s, %s side: %w: %w", u.name, u.side.String(), fitness.ErrUnfit, u.err))
		return true
	})
	findings = append(findings, p.recordings.inspect(added, false)...)
	first := len(p.uses)
	for _, u := range added {
		p.recordings.known(&u)
		if err := p.recordings.unfit(u); err != nil && !p.bench.config.UseUnfit {
			p.refused = append(p.refused, refusal{u, err})
			errs = append(errs, fmt.Errorf("%s, %s side: %w", u.name, u.side.String(), err))
			continue
		}
		i := slices.IndexFunc(p.uses, func(v use) bool {
			return v.recording == u.recording && v.channel == u.channel && v.side == u.side
		})
		if i >= 0 {
			// Counted twice, it would make the interval too narrow.
			f := doubt(u.recording.Name, fitness.SameRecording, response.Unfit)
			f.Channel = u.channel
			f.What = fmt.Sprintf("%s, %v side, is already the recording of %s", u.name, u.side, p.uses[i].name)
			f.Remedy = "name the right file, or leave the seating out"
			p.recordings.doubts, findings = append(p.recordings.doubts, f), append(findings, f)
			err := fmt.Errorf("%w\n%s", fitness.ErrUnfit, f)
			p.refused = append(p.refused, refusal{u, err})
			errs = append(errs, err)
			continue
		}
		p.uses = append(p.uses, u)
	}
	p.read(p.uses[first:])
	for _, u := range p.uses[first:] {
		if u.cut != nil {
			f := u.lacksSweep()
			p.recordings.doubts, findings = append(p.recordings.doubts, f), append(findings, f)
		}
	}
	return findings, errors.Join(errs...)
}

// read measures uses at once, so that the samples of their recordings need not stay in memory until
// Measure.
func (p *Pair) read(uses []use) {
	var known []*use
	for _, side := range []sweep.Side{sweep.Left, sweep.Right} {
		for i := range uses { // not concurrently, since one recording may hold both sides
			u := &uses[i]
			if u.side != side {
				continue
			}
			if u.cut == nil {
				_, u.readErr = p.recordings.onPlayersClock(*u)
			}
			if u.readErr == nil {
				known = append(known, u)
			}
		}
	}
	parallel.Do(len(known), func(i int) {
		u := known[i]
		if u.cut != nil {
			u.reading = p.bench.readFurther(*u)
			return
		}
		u.reading, u.readErr = p.bench.read(p.recordings, *u)
	})
	tidy(append(slices.Collect(maps.Keys(p.recordings.parts)), p.recordings.order...))
	p.recordings.forgetParts()
	for i := range uses {
		uses[i].parts = nil
	}
}

// forgetSamples drops the samples of the seatings, which are measured. Others that are added later
// are not compared with them.
func (p *Pair) forgetSamples() { p.recordings.set = p.bench.direct.set.Clone() }

// leaveOut returns the finding that a side of a seating is left out, unless an earlier finding says
// so.
func (p *Pair) leaveOut(u use, err error) []response.Finding {
	name := u.name
	if u.recording != nil {
		name = u.recording.Name
	}
	return p.recordings.unusable(name, u.name+" is left out", err)
}

// refusal is a side of a seating that is left out.
type refusal struct {
	use
	err error
}

// Seating is a pair put on the rig once.
type Seating struct {
	// Name; if empty, it becomes "seating" and its number.
	Name string
	Channels
}
