package sweep

import (
	"fmt"
	"math"
	"time"
)

// Side is a side of a pair of headphones. The zero Side is neither, or not known.
type Side int

// The sides.
const (
	Left Side = iota + 1
	Right
)

// String returns "left" or "right", and "neither side" for the zero Side.
func (s Side) String() string {
	switch s {
	case Left:
		return "left"
	case Right:
		return "right"
	}
	return "neither side"
}

// Kind is the content of a segment of the stimulus.
type Kind int

// The kinds of segment.
const (
	Silence    Kind = iota // silence on both channels, for the noise floor and the decay
	Mark                   // the timing mark on both channels
	LeftSweep              // the sweep on the left channel only
	RightSweep             // the sweep on the right channel only
	BothSweeps             // the sweep on both channels at once, in a Part only
	Tones                  // steady tones on both channels at once, in a Part only
)

// String returns the kind in words.
func (k Kind) String() string {
	switch k {
	case Silence:
		return "silence"
	case Mark:
		return "timing mark"
	case LeftSweep:
		return "sweep, left"
	case RightSweep:
		return "sweep, right"
	case BothSweeps:
		return "sweep, both sides"
	case Tones:
		return "tones, both sides"
	}
	return fmt.Sprintf("Kind(%d)", int(k))
}

// Segment is a part of the stimulus.
type Segment struct {
	Kind       Kind
	Start, Len int // samples
}

// StimulusConfig describes a stimulus. Only Sweep is required.
type StimulusConfig struct {
	Sweep *Sweep
	// Silence is the length of the silence at each end, which gives the noise floor; 0 means 2 s.
	Silence time.Duration
	// Gap is the length of the silence after each mark and each sweep, for its decay; 0 means
	// 1.5 s.
	Gap time.Duration
	// Repeats is the number of sweeps on each side; 0 means 1.
	Repeats int
	// Unmarked leaves out the timing marks. Without them, the difference between the clocks of
	// player and recorder cannot be measured.
	Unmarked bool
	// Asks lists the questions besides the response, in any order. Their parts follow the last
	// silence.
	Asks []Question
	// Tones are the frequencies in Hz of steady tones besides the usual ones.
	Tones []float64
	// Louder adds a level 6 dB above that of the sweep. It can hurt ears and headphones.
	Louder bool
}

func (c StimulusConfig) lay() *Stimulus {
	st := &Stimulus{signal: c.Sweep, sweep: c.Sweep}
	add := func(k Kind, n int) {
		st.segments = append(st.segments, Segment{Kind: k, Start: st.length, Len: n})
		st.length += n
	}
	samples := func(d time.Duration) int { return int(math.Round(d.Seconds() * float64(c.Sweep.sampleRate))) }
	mark := func() {
		if !c.Unmarked {
			add(Mark, c.Sweep.markLen())
		}
	}
	add(Silence, samples(c.Silence))
	if mark(); !c.Unmarked {
		add(Silence, samples(c.Gap))
	}
	for _, side := range []Kind{LeftSweep, RightSweep} {
		for range c.Repeats {
			add(side, c.Sweep.Len())
			add(Silence, samples(c.Gap))
		}
	}
	mark()
	add(Silence, samples(c.Silence))
	return st
}

// Stimulus is the signal that measures a pair of headphones: silence, a timing mark, the sweep on
// the left, the sweep on the right, the mark again, and silence. It does not change once made, and
// may be shared.
type Stimulus struct {
	signal   Signal
	sweep    *Sweep // its law, may be nil
	segments []Segment
	length   int    // samples to the silence after the last sweep
	parts    []Part // additional parts, which begin there
	whole    int    // samples with the additional parts
}

// maxStimulus is the longest stimulus, which bounds the size of its file.
const maxStimulus = time.Hour

// NewStimulus lays out a stimulus.
func NewStimulus(c StimulusConfig) (*Stimulus, error) {
	if c.Sweep == nil {
		return nil, fmt.Errorf("sweep: a stimulus needs a sweep; make one with New")
	}
	if c.Silence == 0 {
		c.Silence = 2 * time.Second
	}
	if c.Gap == 0 {
		c.Gap = 1500 * time.Millisecond
	}
	if c.Repeats == 0 {
		c.Repeats = 1
	}
	switch {
	case c.Silence < 100*time.Millisecond:
		return nil, fmt.Errorf("sweep: %v of silence is too short to know the noise floor from; take at least 0.1 s",
			c.Silence)
	case c.Gap < 100*time.Millisecond:
		return nil, fmt.Errorf("sweep: a gap of %v is too short for the decay; take at least 0.1 s", c.Gap)
	case c.Repeats < 1 || c.Repeats > 100:
		return nil, fmt.Errorf("sweep: %d repeats; choose 1 to 100", c.Repeats)
	case c.Silence > maxStimulus || c.Gap > maxStimulus ||
		float64(2*c.Repeats)*(c.Sweep.Duration()+c.Gap.Seconds())+2*c.Silence.Seconds() > maxStimulus.Seconds():
		return nil, fmt.Errorf("sweep: the stimulus would last more than %v; shorten the sweep, the gaps or the silence",
			maxStimulus)
	}
	if err := c.checkParts(); err != nil {
		return nil, err
	}
	st := c.lay()
	if c.layParts(st); st.Duration() > maxStimulus.Seconds() {
		return nil, fmt.Errorf("sweep: the stimulus would last more than %v; shorten the sweep, the gaps or the silence",
			maxStimulus)
	}
	return st, nil
}

// Sweep returns the sweep played on each side, or nil for another signal: see Signal.
func (st *Stimulus) Sweep() *Sweep { return st.sweep }

// Segments returns the layout in order of time. The slice is a copy.
func (st *Stimulus) Segments() []Segment { return append([]Segment(nil), st.segments...) }

// Find returns the segments of one kind, in order of time.
func (st *Stimulus) Find(k Kind) []Segment {
	var found []Segment
	for _, s := range st.segments {
		if s.Kind == k {
			found = append(found, s)
		}
	}
	return found
}

// Sweeps returns the segments that hold the sweep on one side, in order of time. It panics for a
// side that is neither Left nor Right.
func (st *Stimulus) Sweeps(side Side) []Segment {
	switch side {
	case Left:
		return st.Find(LeftSweep)
	case Right:
		return st.Find(RightSweep)
	}
	panic("sweep: a sweep is on the left side or on the right")
}

// Len returns the number of samples in each channel from the first silence to the one after the
// last sweep, without the additional parts.
func (st *Stimulus) Len() int { return st.length }

// Duration returns the length of the whole in seconds.
func (st *Stimulus) Duration() float64 {
	return float64(st.WholeLen()) / float64(st.signal.SampleRate())
}

// Channels returns the samples of the left and the right channel, with full scale 1. The slices are
// new.
func (st *Stimulus) Channels() [][]float64 {
	left, right := make([]float64, st.WholeLen()), make([]float64, st.WholeLen())
	sweep := st.signal.Samples()
	for _, s := range st.segments {
		switch s.Kind {
		case LeftSweep:
			copy(left[s.Start:], sweep)
		case RightSweep:
			copy(right[s.Start:], sweep)
		case Mark:
			mark := st.sweep.Mark()
			copy(left[s.Start:], mark)
			copy(right[s.Start:], mark)
		}
	}
	for _, p := range st.parts {
		x := p.samples(st.sweep)
		if p.Kind != RightSweep {
			copy(left[p.Start:], x)
		}
		if p.Kind != LeftSweep {
			copy(right[p.Start:], x)
		}
	}
	return [][]float64{left, right}
}
