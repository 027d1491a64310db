// Package placement finds a stimulus in a recording, once, and cuts out of the recording what it is
// asked for.
//
//	Recording ── Locate ── Placement ─┬─ Plays         each play by itself, where there are several
//	                                  ├─ Clock         how fast the recorder ran against the player
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

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// Placement is a recording, and where in it the stimulus stands. It does not change once made and
// may be shared.
type Placement struct {
	Recording *capture.Recording
	// Stimulus is nil for music, speech and anything else.
	Stimulus *sweep.Stimulus
	// Channels says what was found in each channel of the recording; it is empty without a
	// stimulus.
	Channels []Place

	ref     *reference    // nil where no stimulus was looked for
	refused error         // why it was not looked for
	clock   capture.Clock // that takes are corrected for
}

// Place is where the stimulus stands in a channel. Positions are in samples of the recording, and
// NaN for what was not found.
type Place struct {
	// Sweep is where the first sweep begins.
	Sweep float64
	// Side that the sweep belongs to; 0 where neither the timing marks nor the other channels tell.
	Side sweep.Side
	// Marks are where the opening and the closing mark begin.
	Marks [2]float64
	// LoneMark is where a mark begins in a channel that has no sweep.
	LoneMark float64
	// Response is the response to the sweep from 40 ms before its peak to 40 ms after it, at a
	// sample rate of about 6 kHz; nil where there is no sweep.
	Response []float64

	err    error      // why Take and Clock have nothing to start from
	firsts [2]float64 // where the first sweep of the left and of the right side matches, for Take and Clock
	match  *match     // nil without samples, and where all are alike
}

// match holds what a channel's match with the sweep, and with the mark, is at every thinned sample,
// and the median magnitude of the first, which is nil where it was let go of.
type match struct {
	sweep, marks []float64
	median       float64
}

// responseReach is how far a Place's Response goes to either side of its peak.
const responseReach = 40 * time.Millisecond

// nowhere marks what has no position.
var nowhere = math.NaN()

// Locate looks for the stimulus in every channel of a recording. A nil stimulus stands for music,
// speech and anything else: then nothing is looked for.
//
// The sweep is looked for by its match with its spectrum made flat, at a sample rate of about 6
// kHz. In a channel that holds it the best match stands 26 dB above the median of all.
//
// The Placement is never nil: where the stimulus was not found, fitness.Inspect says what there is
// instead. Errors: unequal sample rates; response.ErrTooShort and response.ErrSilent where no
// channel can hold a sweep; response.ErrNoPeak where none does. Channels that differ in length
// panic.
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
			p.Channels[k] = Place{Sweep: nowhere, Marks: [2]float64{nowhere, nowhere}, LoneMark: nowhere}
		}
		return p, p.refused
	}
	p.ref = newReference(st)
	p.locate(p.matches())
	for k, c := range p.Channels {
		if m := c.match; m != nil && len(m.sweep) > longKept {
			p.Channels[k].match = &match{marks: m.marks, median: m.median}
		}
	}
	return p, p.err()
}

// longKept is the number of thinned samples, 44 s, up to which the match with the sweep is kept once
// the stimulus is located.
const longKept = 1 << 18

// matches matches every channel with the sweep and with the mark.
func (p *Placement) matches() []*match {
	all, plans := make([]*match, len(p.Channels)), &fft.Cache{}
	var wait sync.WaitGroup
	for k, x := range p.Recording.Channels {
		wait.Go(func() { all[k] = p.ref.match(plans, x) })
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
}

// settleSides works out which side a channel holds, where the marks did not tell, from the time
// between its sweep and that of another channel.
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

// err is nil where a channel holds the sweep.
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
	if refused == nil { // a channel could hold it, and does not
		return p.noPlay()
	}
	return fmt.Errorf("capture: %s: %w", p.Recording.Name, refused)
}

// noPlay is the error for a recording in which the stimulus was not found.
func (p *Placement) noPlay() error {
	return fmt.Errorf("capture: %s: %w: the stimulus is nowhere in %.2f s; "+
		"check that it is the stimulus named here that was played, "+
		"that the right input was recorded, and that nothing drowns it",
		p.Recording.Name, response.ErrNoPeak, p.Recording.Duration())
}

// start returns the sample at which the stimulus begins in a channel, to within a few milliseconds,
// the sweep being that of a side. It lies on the grid of the thinned samples, whether or not the
// clock is corrected, so that both are cut alike.
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

// about says which channel an error is about.
func (p *Placement) about(channel int, err error) error {
	return fmt.Errorf("capture: %s: channel %d: %w", p.Recording.Name, channel, err)
}

// CorrectDrift returns the placement of which Take cuts out what a recorder on the player's clock
// would have recorded: nothing is searched again, and no more is resampled than is cut out.
// Recording stays as it was recorded, and positions in samples and seconds count on the player's
// clock.
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

// length is that of the channels on the player's clock.
func (p *Placement) length() int {
	return int(float64(p.Recording.Len()) / (1 + p.clock.Drift*1e-6))
}

// cut returns a copy of samples from ≤ i < to of a channel on the player's clock, with zeros for what
// lies outside.
func (p *Placement) cut(x []float64, from, to int) []float64 {
	if p.clock.Drift == 0 {
		return search.Cut(x, from, to)
	}
	return p.clock.Correct(x, from, to)
}
