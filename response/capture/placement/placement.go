// Package placement finds a stimulus in a recording, once, and cuts the parts that are asked for
// out of the recording.
//
//	Recording ── Locate ── Placement ─┬─ Plays         each play by itself, if there are several
//	                                  ├─ Clock         the recorder's clock relative to the player's
//	                                  ├─ CorrectDrift  the same placement on the player's clock
//	                                  └─ Take          one side's sweeps; Average, for a response.Deconvolver
//
// A Placement also goes to package fitness, which says whether the recording is fit to use.
package placement

import (
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"example.com/earnest/internal/search"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// Placement is a recording and the positions of the stimulus in it. It does not change once made
// and may be shared.
type Placement struct {
	Recording *capture.Recording
	// Stimulus is nil for music, speech and anything else.
	Stimulus *sweep.Stimulus
	// Channels holds the places found in each channel of the recording. It is empty without a
	// stimulus.
	Channels []Place

	ref     *reference    // nil if no stimulus was searched for
	refused error         // the reason why none was searched for
	clock   capture.Clock // for which takes are corrected
}

// responseReach is the length of a Place's Response on each side of its peak.
const responseReach = 40 * time.Millisecond

// nowhere marks a position that is not known.
var nowhere = math.NaN()

// Locate looks for the stimulus in every channel of a recording. A nil stimulus means music, speech
// or another sound: Locate then looks for nothing.
//
// It correlates the channel with the sweep, whitened by the sweep's spectrum, at a sample rate of
// about 6 kHz. In a channel with the sweep the best match stands 26 dB above the median of all.
//
// The Placement is never nil: if the stimulus was not found, fitness.Inspect describes the content
// instead. Errors: unequal sample rates; response.ErrTooShort and response.ErrSilent if no channel
// can hold a sweep; response.ErrNoPeak if none does. Channels that differ in length panic.
func Locate(r *capture.Recording, st *sweep.Stimulus) (*Placement, error) {
	for _, x := range r.Channels {
		if len(x) != r.Len() {
			panic("capture: channels differ in length")
		}
	}
	p := &Placement{Recording: r, Stimulus: st}
	if st == nil {
		return p, nil
	}
	p.Channels = make([]Place, len(r.Channels))
	if p.refused = p.otherRate(); p.refused != nil {
		for k := range p.Channels {
			p.Channels[k] = Place{Sweep: nowhere, Marks: [2]float64{nowhere, nowhere}, LoneMark: nowhere,
				OtherSide: nowhere}
		}
		return p, p.refused
	}
	p.ref = referenceOf(st)
	p.locate(p.matches())
	// Only plays are looked for by the match with the sweep again.
	several := 2 * (st.WholeLen() - 2*st.Find(sweep.Silence)[0].Len)
	for k, c := range p.Channels {
		if m := c.match; m != nil && (r.Len() <= several || len(m.sweep) > longKept) {
			p.Channels[k].match = &match{marks: m.marks, median: m.median}
		}
	}
	return p, p.err()
}

// longKept is the largest number of thinned samples, 44 s, for which the match with the sweep is
// kept once the stimulus is located, if the recording may hold several plays.
const longKept = 1 << 18

// matches matches every channel with the sweep and with the mark.
func (p *Placement) matches() []*match {
	all := make([]*match, len(p.Channels))
	var wait sync.WaitGroup
	for k, x := range p.Recording.Channels {
		wait.Go(func() { all[k] = p.ref.match(x) })
	}
	wait.Wait()
	return all
}

// locate fills in the channels from their matches.
func (p *Placement) locate(matches []*match) {
	var wait sync.WaitGroup
	for k, x := range p.Recording.Channels {
		wait.Go(func() { p.Channels[k] = p.ref.place(x, matches[k]) })
	}
	wait.Wait()
	p.settleSides()
	for k := range p.Channels {
		p.Channels[k].OtherSide = p.ref.otherSide(p.Channels[k], matches[k])
	}
}

// settleSides finds the side of a channel whose marks did not tell it, from the time between its
// sweep and that of another channel.
func (p *Placement) settleSides() {
	left, right := p.Stimulus.Sweeps(sweep.Left)[0].Start, p.Stimulus.Sweeps(sweep.Right)[0].Start
	apart := float64(right - left)
	for k, c := range p.Channels {
		for _, d := range p.Channels {
			switch later := d.Sweep - c.Sweep; {
			case c.Side != 0: // the marks told
			case math.Abs(later-apart) < apart/4:
				p.Channels[k].Side = sweep.Left
			case math.Abs(later+apart) < apart/4:
				p.Channels[k].Side = sweep.Right
			}
		}
	}
}

// err returns nil if a channel holds the sweep.
func (p *Placement) err() error {
	refused := fmt.Errorf("%w; check that the recorder was armed", response.ErrTooShort)
	for k, x := range p.Recording.Channels {
		if p.Channels[k].err == nil {
			return nil
		}
		if refused != nil {
			refused = p.ref.check(x)
		}
	}
	if refused == nil { // a channel could hold it, but does not
		return p.noPlay()
	}
	return fmt.Errorf("capture: %s: %w", p.Recording.Name, refused)
}

// noPlay returns the error for a recording in which the stimulus was not found.
func (p *Placement) noPlay() error {
	return fmt.Errorf("capture: %s: %w: the stimulus was not found in %.2f s of recording; "+
		"check that the stimulus named here was played, "+
		"that the right input was recorded, and that nothing drowns it",
		p.Recording.Name, response.ErrNoPeak, p.Recording.Duration())
}

// start returns the sample at which the stimulus begins in a channel that holds the sweep of a
// side, to within a few milliseconds. It lies on the grid of the thinned samples, whether or not
// the clock is corrected, so that both are cut alike.
func (p *Placement) start(channel int, side sweep.Side) (int, error) {
	if p.Stimulus == nil {
		panic("placement: there is no stimulus to look for")
	}
	if _, err := p.Recording.Channel(channel); err != nil {
		return 0, err
	}
	if p.refused != nil {
		return 0, p.refused
	}
	c := p.Channels[channel-1]
	if c.err != nil {
		return 0, p.about(channel, c.err)
	}
	step := search.Step(p.Recording.SampleRate)
	return step*int(math.Round(c.firsts[side-sweep.Left]/float64(step))) - p.Stimulus.Sweeps(side)[0].Start, nil
}

// about adds the recording and the channel to an error.
func (p *Placement) about(channel int, err error) error {
	return fmt.Errorf("capture: %s: channel %d: %w", p.Recording.Name, channel, err)
}

// CorrectDrift returns a placement whose Take cuts out what a recorder on the player's clock would
// have recorded. It does not search again, and resamples only the samples that it cuts out.
// Recording stays as it was recorded; positions in samples and seconds count on the player's clock.
func (p *Placement) CorrectDrift(c capture.Clock) *Placement {
	out := *p
	out.clock = c
	out.Channels = slices.Clone(p.Channels)
	shrink := 1 / (1 + c.Drift*1e-6)
	for k := range out.Channels {
		one := &out.Channels[k]
		for _, at := range []*float64{&one.Sweep, &one.Marks[0], &one.Marks[1], &one.LoneMark,
			&one.firsts[0], &one.firsts[1]} {
			*at *= shrink
		}
	}
	return &out
}

// length returns that of the channels on the player's clock, in samples.
func (p *Placement) length() int {
	return int(float64(p.Recording.Len()) / (1 + p.clock.Drift*1e-6))
}

// cut returns a copy of samples from ≤ i < to of a channel on the player's clock, with zeros
// outside the channel.
func (p *Placement) cut(x []float64, from, to int) []float64 {
	if p.clock.Drift == 0 {
		return search.Cut(x, from, to)
	}
	return p.clock.Correct(x, from, to)
}

// Place holds the positions of the stimulus in a channel. Positions are in samples of the
// recording, and NaN for a part that was not found.
type Place struct {
	// Sweep is the position of the first sweep.
	Sweep float64
	// Side is the side of the sweep; 0 if neither the timing marks nor the other channels tell.
	Side sweep.Side
	// Marks are the positions of the opening and the closing mark.
	Marks [2]float64
	// LoneMark is the position of a mark in a channel without a sweep.
	LoneMark float64
	// Response is the response to the sweep from 40 ms before its peak to 40 ms after it, at a
	// sample rate of about 6 kHz. It is nil without a sweep.
	Response []float64
	// OtherSide is the level in dB of the other side's sweep in the channel, re that of the sweep
	// at Sweep. It is NaN if the other side's sweep does not stand out, or would lie outside the
	// recording.
	OtherSide float64

	err    error      // the error of Take and Clock, if the sweep was not found
	firsts [2]float64 // positions of the best matches for the first sweep of the left and of the right side, for Take and Clock
	match  *match     // nil without samples, and if all samples are equal
}

// match holds the match of a channel with the sweep and with the mark, at every thinned sample, and
// the median magnitude of the first. The first is nil once it was released.
type match struct {
	sweep, marks []float64
	median       float64
}
