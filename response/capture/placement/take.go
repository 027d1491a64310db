package placement

import (
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/search"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// Take is one side of the stimulus, cut out of one channel of a recording.
type Take struct {
	// Name is that of the recording; Channel counts from 1.
	Name    string
	Channel int
	Side    sweep.Side
	// SampleRate is in Hz.
	SampleRate int
	// Sweeps holds each repeat, from 50 ms before the sweep to the end of the gap after it, all of
	// one length.
	Sweeps [][]float64
	// Silence is the recording of a stretch in which nothing was played, or nil if there is none.
	Silence []float64
	// Start is the time in seconds, in the recording, at which the stimulus begins. It is negative
	// if the recorder was started late.
	Start float64
}

// leadIn is the length in seconds that is cut out before a sweep. The search is accurate to a
// fraction of this, and deconvolution finds the rest.
const leadIn = 0.05

// Spare is the length in seconds that may be missing at the end of the last sweep, in a recording
// trimmed to its last sound. It is taken as silent. Of a rising sweep of 6 s it is a fiftieth of an
// octave.
const Spare = 0.01

// Take cuts one side's sweeps out of a channel. If one channel holds both sides, as a mono mix
// does, the earlier sweeps are the left ones. The DC offset of the silence is subtracted: at the
// ends of a take it would be a step, which has the spectrum of a sound in the bass.
//
// Errors: capture.ErrChannel; response.ErrNoPeak if the sweep is not in the channel;
// capture.ErrTruncated if the recording stops before the last sweep ends; unequal sample rates. A
// side that is neither sweep.Left nor sweep.Right panics, and so does a Placement without a
// stimulus.
func (p *Placement) Take(channel int, side sweep.Side) (*Take, error) {
	if side != sweep.Left && side != sweep.Right {
		panic("placement: a take is of the left side or of the right")
	}
	start, err := p.start(channel, side)
	if err != nil {
		return nil, err
	}
	r := p.Recording
	x := r.Channels[channel-1]
	t := &Take{Name: r.Name, Channel: channel, Side: side, SampleRate: r.SampleRate,
		Start: float64(start) / float64(r.SampleRate), Silence: p.silence(x, start)}
	before := int(leadIn * float64(r.SampleRate))
	for i, s := range p.Stimulus.Sweeps(side) {
		from, end := start+s.Start-before, start+s.Start+s.Len
		if missing := end - p.length(); float64(missing) > Spare*float64(r.SampleRate) {
			return nil, p.about(channel,
				fmt.Errorf("%w: it stops %.2f s before sweep %d on the %v does; record until after the last silence",
					capture.ErrTruncated, float64(missing)/float64(r.SampleRate), i+1, side))
		}
		cut := p.cut(x, from, end+gapAfter(p.Stimulus, s))
		if len(t.Silence) > 0 { // outside the recording are zeros without an offset
			floats.AddConst(-stat.Mean(t.Silence, nil), search.Within(cut, -from, p.length()-from))
		}
		t.Sweeps = append(t.Sweeps, cut)
	}
	return t, nil
}

// stretch is a stretch of samples of a channel on the player's clock, from ≤ i < to.
type stretch struct{ from, to int }

// silence returns the longer of the recorded silences at the two ends of the stimulus, less its
// edges: 50 ms of each, and the half of the last one in which the sweep may still decay. If the
// recording was trimmed to less than 0.1 s of both, it returns the second half of the longest
// silence inside the stimulus, which may hold more of a decay. It returns nil if that is too short
// too. If somebody spoke in the silence, so that all others are 6 dB softer, it returns the longest
// of those.
func (p *Placement) silence(x []float64, start int) []float64 {
	gaps := p.Stimulus.Find(sweep.Silence)
	first, last := gaps[0], gaps[len(gaps)-1]
	edge := p.Stimulus.Signal().SampleRate() / 20
	second := func(s sweep.Segment) stretch {
		return stretch{start + s.Start + s.Len/2, start + s.Start + s.Len - edge}
	}
	ends := []stretch{{start + first.Start + edge, start + first.Start + first.Len - edge}, second(last)}
	var inside []stretch
	for _, gap := range gaps[1 : len(gaps)-1] {
		inside = append(inside, second(gap))
	}
	long := func(s stretch) bool { return s.to-s.from >= 2*edge }
	for _, some := range [][]stretch{ends, inside} {
		for i := range some {
			some[i].from, some[i].to = max(some[i].from, 0), min(some[i].to, p.length())
		}
	}
	best := longest(ends)
	if !long(best) {
		best = longest(inside)
	}
	if !long(best) {
		return nil
	}
	others := slices.DeleteFunc(slices.Concat(ends, inside), func(s stretch) bool { return !long(s) || s == best })
	noise := func(s stretch) float64 { return stat.Variance(p.cut(x, s.from, s.to), nil) }
	if len(others) > 1 {
		loudest := 0.0
		for _, s := range others {
			loudest = max(loudest, noise(s))
		}
		if loudest > 0 && noise(best) > 4*loudest { // a gate leaves no noise in the others
			best = longest(others)
		}
	}
	return p.cut(x, best.from, best.to)
}

// TakeDuration returns the length that Take cuts out of a recording of the stimulus for each sweep.
// A deconvolver has to be made for this length.
func TakeDuration(st *sweep.Stimulus) time.Duration {
	s := st.Sweeps(sweep.Left)[0]
	samples := int(leadIn*float64(st.Signal().SampleRate())) + s.Len + gapAfter(st, s)
	return time.Duration(math.Ceil(float64(samples) / float64(st.Signal().SampleRate()) * float64(time.Second)))
}

// longest returns the longest stretch, the first of equally long ones; zero if there is none.
func longest(stretches []stretch) (best stretch) {
	for _, s := range stretches {
		if s.to-s.from > best.to-best.from {
			best = s
		}
	}
	return best
}

// gapAfter returns the length in samples of the silence that follows a segment.
func gapAfter(st *sweep.Stimulus, s sweep.Segment) int {
	for _, next := range st.Find(sweep.Silence) {
		if next.Start == s.Start+s.Len {
			return next.Len
		}
	}
	return 0
}
