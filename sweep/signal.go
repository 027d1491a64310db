package sweep

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
)

// Signal is what a stimulus plays on a side, and how it is analysed. A Sweep is one.
type Signal interface {
	// Samples returns the signal as played, with full scale 1: the spectrum of the recording is
	// divided by that of the signal.
	Samples() []float64
	SampleRate() int // Hz
	// Start and Stop return the ends in Hz of the band in which it measures the response.
	Start() float64
	Stop() float64
	// Law returns the exponential sweep whose phase the signal follows, which separates harmonics.
	// It is nil for any other signal: harmonics are then not known.
	Law() *Sweep
}

// Signal returns the signal of each side.
func (st *Stimulus) Signal() Signal { return st.signal }

// Law returns the sweep itself.
func (s *Sweep) Law() *Sweep { return s }

// Level returns the peak level of the signal in dBFS.
func (st *Stimulus) Level() float64 {
	if st.sweep != nil {
		return st.sweep.Level()
	}
	return decibel.OfAmplitude(floats.Norm(st.signal.Samples(), math.Inf(1)))
}

// Playing returns a stimulus that plays a signal in the segments of LeftSweep or RightSweep, which
// may be at the same time, and nothing in those of Silence, which give the noise floor. A stimulus
// of NewStimulus has timing marks as well.
//
// It returns an error for a signal without samples, an impossible band, and segments that are out
// of order or do not hold the signal on both sides and at least one silence.
func Playing(signal Signal, segments []Segment) (*Stimulus, error) {
	n := len(signal.Samples())
	fs := float64(signal.SampleRate())
	low, high := signal.Start(), signal.Stop()
	switch {
	case n == 0 || signal.SampleRate() < 1:
		return nil, fmt.Errorf("sweep: a signal of %d samples at %d Hz; give the signal that was played", n,
			signal.SampleRate())
	case !(low >= 0 && high > low && high <= fs/2):
		return nil, fmt.Errorf("sweep: a signal for %v Hz to %v Hz at %v Hz; "+
			"its band lies between 0 and half the sample rate", low, high, fs)
	}
	st := &Stimulus{signal: signal, sweep: signal.Law(), segments: slices.Clone(segments)}
	for i, s := range segments {
		whole := s.Kind == LeftSweep || s.Kind == RightSweep
		switch {
		case !whole && s.Kind != Silence:
			return nil, fmt.Errorf("sweep: segment %d is a %v; only NewStimulus places that", i+1, s.Kind)
		case s.Start < 0 || s.Len < 0 || i > 0 && s.Start < segments[i-1].Start:
			return nil, fmt.Errorf("sweep: segment %d begins at sample %d, before the one before it; put them in order of time",
				i+1, s.Start)
		case whole && s.Len != n:
			return nil, fmt.Errorf("sweep: segment %d has %d samples and the signal has %d; make both equal",
				i+1, s.Len, n)
		}
		st.length = max(st.length, s.Start+s.Len)
	}
	if float64(st.length) > maxStimulus.Seconds()*fs {
		return nil, fmt.Errorf("sweep: the stimulus lasts more than %v; cut the part that matters out of it", maxStimulus)
	}
	for _, k := range []Kind{LeftSweep, RightSweep, Silence} {
		if len(st.Find(k)) == 0 {
			return nil, fmt.Errorf("sweep: no segment is a %v; add one", k)
		}
	}
	return st, nil
}
