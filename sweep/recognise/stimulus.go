package recognise

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/fft"
	"example.com/earnest/sweep"
)

// ErrNothing means that a file holds no signal that can measure a response.
var ErrNothing = errors.New("nothing to measure a response with")

const (
	// aroundSeconds is the length of silence that is added before and after the content of a file:
	// nothing is played there either.
	aroundSeconds = 1.0
	// mostGap is the time in seconds after a signal that counts as its decay.
	mostGap = 1.5
	// leastPeriod is the least length in seconds of a repeating sequence, so that a response and
	// its ringing fit into it.
	leastPeriod = 0.7
	// alike is the correlation above which two stretches hold the same signal.
	alike = 0.9
	// bandBelow is the level in dB below the strongest third octave down to which a band can
	// measure.
	bandBelow = 50
)

// played is a signal from a file: responses are divided by its own samples, and its law, if it has
// one, separates harmonics.
type played struct {
	samples    []float64
	sampleRate int
	low, high  float64
	law        *sweep.Sweep
}

func (p *played) Samples() []float64 { return p.samples }

func (p *played) SampleRate() int { return p.sampleRate }

func (p *played) Start() float64 { return p.low }

func (p *played) Stop() float64 { return p.high }

func (p *played) Law() *sweep.Sweep { return p.law }

// rank returns the preference of a kind: harmonics and response, response, anything, nothing.
func (c Content) rank() int {
	if c.Law() != nil {
		return 5
	}
	return map[Kind]int{ExponentialSweep: 4, LinearSweep: 4, MaximumLength: 3, Noise: 3, Unknown: 2, Tones: 1}[c.Kind]
}

func (c Content) cut(channels [][]float64) []float64 {
	return channels[c.Channel-1][c.From : c.From+c.Len]
}

// same reports whether two stretches hold the same signal, and at which sample it then begins.
func (c Content) same(other Content, channels [][]float64) (at int, same bool) {
	if c.Kind != other.Kind || math.Abs(float64(c.Len-other.Len)) > 0.02*float64(other.Len) {
		return 0, false
	}
	a, b := c.cut(channels), other.cut(channels)
	plan := fft.NewPlan(fft.FastLen(len(a) + len(b)))
	sa, sb := plan.Forward(nil, a), plan.Forward(nil, b)
	for k, v := range sb {
		sa[k] *= complex(real(v), -imag(v))
	}
	match := plan.Inverse(nil, sa)
	top := 0
	for i, v := range match {
		if math.Abs(v) > math.Abs(match[top]) {
			top = i
		}
	}
	lag := top
	if lag > plan.Len()/2 {
		lag -= plan.Len()
	}
	if math.Abs(match[top]) < alike*math.Sqrt(energy(a)*energy(b)) {
		return 0, false
	}
	return c.From + lag, true
}

// Stimulus returns the content of the channels as a stimulus, and all content that was found. The
// channels are those of the played file, or of its direct recording: the first is the left side and
// the second the right side. If one of them holds nothing, the other one measures both sides.
//
// Of several signals it prefers one that gives harmonics to one that gives the response alone, and
// then the longest, with all its repeats. The error is ErrNothing for silence, for steady tones,
// which give a response at single frequencies only, for a sequence that repeats before a response
// has decayed, and for sides that play different signals.
func Stimulus(channels [][]float64, sampleRate int) (*sweep.Stimulus, []Content, error) {
	found := Find(channels, sampleRate)
	if len(found) == 0 {
		return nil, nil, fmt.Errorf(
			"recognise: %w: it holds only silence; name the file that was played, or the direct recording", ErrNothing)
	}
	best := slices.MaxFunc(found, func(a, b Content) int {
		if d := a.rank() - b.rank(); d != 0 {
			return d
		}
		return a.Len - b.Len
	})
	switch period := math.Exp2(float64(best.Order)) / float64(sampleRate); {
	case best.Kind == Tones:
		return nil, found, fmt.Errorf("recognise: %w: %v; play a sweep or noise", ErrNothing, best)
	case best.Kind == MaximumLength && float64(best.Len) > 1.01*period*float64(sampleRate) && period < leastPeriod:
		return nil, found, fmt.Errorf(
			"recognise: %w: %v, which repeats after %.2g s, before a response has died away; "+
				"play a sequence of order 16 or more, or a single period",
			ErrNothing, best, period)
	}
	signal := &played{samples: slices.Clone(best.cut(channels)), sampleRate: sampleRate, law: best.Law()}
	if signal.low, signal.high = best.Start, best.Stop; best.Start == 0 && best.Stop == 0 {
		signal.low, signal.high = bandOf(signal.samples, float64(sampleRate))
	}
	signal.low, signal.high = min(signal.low, signal.high), min(max(signal.low, signal.high), 0.495*float64(sampleRate))
	var segments []sweep.Segment
	var others []Content
	sides := map[int]bool{}
	for _, c := range found {
		at, same := c.same(best, channels)
		if !same {
			if c.Kind == best.Kind && c.Channel != best.Channel && c.Channel <= 2 && best.Kind != ExponentialSweep {
				return nil, found, fmt.Errorf(
					"recognise: %w: the channels play different signals: %v; %v; "+
						"play one signal on both sides, or on one after the other",
					ErrNothing, best, c)
			}
			others = append(others, c)
			continue
		}
		if c.Channel <= 2 {
			segments = append(segments, sweep.Segment{Kind: sweep.LeftSweep + sweep.Kind(c.Channel-1), Start: at,
				Len: len(signal.samples)})
			sides[c.Channel] = true
		}
	}
	for channel, kind := range map[int]sweep.Kind{1: sweep.LeftSweep, 2: sweep.RightSweep} {
		if !sides[channel] { // the other side's places count for both
			for _, s := range slices.Clone(segments) {
				if s.Kind != kind {
					segments = append(segments, sweep.Segment{Kind: kind, Start: s.Start, Len: s.Len})
				}
			}
		}
	}
	st, err := sweep.Playing(signal, laidOut(segments, others, sampleRate))
	return st, found, err
}

func energy(x []float64) (sum float64) {
	for _, v := range x {
		sum += v * v
	}
	return sum
}

// laidOut orders the segments, and adds silence wherever the file holds no other sound in any
// channel. The time after each signal in which it decays is the same for all.
func laidOut(segments []sweep.Segment, others []Content, sampleRate int) []sweep.Segment {
	around := int(aroundSeconds * float64(sampleRate))
	busy := make([]stretch, 0, len(others)+len(segments))
	for _, c := range others {
		busy = append(busy, c.heard)
	}
	for _, s := range segments {
		busy = append(busy, stretch{s.Start, s.Start + s.Len})
	}
	slices.SortFunc(busy, func(a, b stretch) int { return a.from - b.from })
	around = max(around, -busy[0].from) // for a signal that begins before its file
	last := 0
	for _, s := range busy {
		last = max(last, s.to)
	}
	busy = append(busy, stretch{last + int((aroundSeconds+mostGap)*float64(sampleRate)), math.MaxInt})
	gap := int(mostGap * float64(sampleRate))
	for _, s := range segments {
		end := s.Start + s.Len
		for _, b := range busy {
			if b.from >= end {
				gap = min(gap, b.from-end)
				break
			}
		}
	}
	var out []sweep.Segment
	silence := func(from, to int) {
		if to > from {
			out = append(out, sweep.Segment{Kind: sweep.Silence, Start: from + around, Len: to - from})
		}
	}
	until := -around
	for _, b := range busy {
		if b.from > until {
			after := min(until+gap, b.from)
			if until == -around {
				after = until
			}
			silence(until, after)
			silence(after, b.from)
		}
		until = max(until, b.to)
	}
	for _, s := range segments {
		out = append(out, sweep.Segment{Kind: s.Kind, Start: s.Start + around, Len: s.Len})
	}
	slices.SortStableFunc(out, func(a, b sweep.Segment) int { return a.Start - b.Start })
	return out
}

// bandOf returns the band about the strongest third octave in which a signal has power.
func bandOf(x []float64, fs float64) (low, high float64) {
	plan := fft.NewPlan(fft.FastLen(len(x)))
	padded := make([]float64, plan.Len())
	copy(padded, x)
	spectrum := plan.Forward(nil, padded)
	var edges, powers []float64
	lowest := max(10, 4*fs/float64(len(x)))
	for f := lowest; f < 0.495*fs; f *= math.Cbrt(2) {
		var sum float64
		for k := int(f / fs * float64(plan.Len())); k < min(len(spectrum),
			int(math.Cbrt(2)*f/fs*float64(plan.Len()))+1); k++ {
			sum += fft.Power(spectrum[k])
		}
		edges, powers = append(edges, f), append(powers, sum)
	}
	top := slices.Max(powers)
	first, last := slices.Index(powers, top), slices.Index(powers, top)
	for first > 0 && powers[first-1] > top*math.Pow(10, -bandBelow/10.0) {
		first--
	}
	for last < len(powers)-1 && powers[last+1] > top*math.Pow(10, -bandBelow/10.0) {
		last++
	}
	return edges[first], min(edges[last]*math.Cbrt(2), 0.495*fs)
}
