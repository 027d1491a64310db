package tone

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
)

// SteppedConfig describes tones one after another. The zero value is 20 Hz to
// 20 kHz in thirds of an octave at 48 kHz, to full scale.
//
// Take the headphones off your head before playing it, and start at the lowest level; the package
// comment says why.
type SteppedConfig struct {
	// Low and High are the ends of the band in Hz; 0 means 20 Hz and 20 kHz (or
	// 0.45 of the sample rate where that is lower).
	Low, High float64
	// PerOctave is how many tones there are to an octave; 0 means 3.
	PerOctave int
	// SampleRate in Hz; 0 means 48 kHz.
	SampleRate int
	// Level is the peak level of each tone in dBFS, at most 0.
	Level float64
	// Settle is how long each tone plays before it is measured, and Gap the silence after it. They
	// must be longer than delays, decay, and the drift between two clocks. 0 means 200 ms and 100 ms.
	Settle, Gap time.Duration
	// Hold is how long each tone is measured; 0 means 500 ms. A tone is held for at least 20 of its
	// periods.
	Hold time.Duration
	// Fade is the length of each raised-cosine fade, in and out; 0 means 10 ms.
	Fade time.Duration
	// Silence at each end; 0 means 1 s.
	Silence time.Duration
}

// Step is one of the stepped tones.
type Step struct {
	Frequency  float64 // Hz: a whole number of periods to Len samples
	Start, Len int     // samples, of the stretch that is measured
}

// Stepped is a stimulus of tones one after another. It does not change once made and may be shared.
type Stepped struct {
	c      SteppedConfig
	steps  []Step
	length int
}

// holdPeriods is the least number of periods for which a step is held: twice what the analysis needs,
// since the drift between two clocks moves the stretch that is analysed.
const holdPeriods = 2 * minPeriods

// NewStepped makes the stimulus, or returns an error that says what in the configuration cannot be.
func NewStepped(c SteppedConfig) (*Stepped, error) {
	c, err := c.complete()
	if err != nil {
		return nil, err
	}
	s := &Stepped{c: c, length: c.samples(c.Silence)}
	for _, f := range response.LogGrid(c.Low, c.High, c.PerOctave) {
		n := c.samples(max(c.Hold, duration.Of(holdPeriods/f)))
		fs := float64(c.SampleRate)
		step := Step{
			Frequency: math.Round(f*float64(n)/fs) * fs / float64(n),
			Start:     s.length + c.samples(c.Fade) + c.samples(c.Settle),
			Len:       n,
		}
		s.steps = append(s.steps, step)
		s.length = step.Start + n + c.samples(c.Fade) + c.samples(c.Gap)
		if float64(s.length)/fs > time.Hour.Seconds() {
			return nil, errors.New("tone: the steps would last more than an hour; take fewer to the octave, or hold them for less")
		}
	}
	if len(s.steps) == 0 {
		return nil, fmt.Errorf("tone: no step of the grid, %d to the octave about 1 kHz, lies between %v and %v Hz; widen the band",
			c.PerOctave, c.Low, c.High)
	}
	s.length += c.samples(c.Silence)
	return s, nil
}

func (c SteppedConfig) complete() (SteppedConfig, error) {
	orDefault(&c.SampleRate, 48000)
	orDefault(&c.Low, 20)
	orDefault(&c.High, min(20000, 0.45*float64(c.SampleRate)))
	orDefault(&c.PerOctave, 3)
	orDefault(&c.Settle, 200*time.Millisecond)
	orDefault(&c.Gap, 100*time.Millisecond)
	orDefault(&c.Hold, 500*time.Millisecond)
	orDefault(&c.Fade, 10*time.Millisecond)
	orDefault(&c.Silence, time.Second)
	if err := checkPlayed(c.SampleRate, c.Level, c.Settle, c.Gap, c.Hold, c.Fade, c.Silence); err != nil {
		return c, err
	}
	switch {
	case !(c.Low >= 1 && c.High >= c.Low && c.High < float64(c.SampleRate)/2):
		return c, fmt.Errorf("tone: steps from %v to %v Hz at a sample rate of %d Hz; "+
			"choose a band from 1 Hz up and below half the rate", c.Low, c.High, c.SampleRate)
	case c.PerOctave < 1 || c.PerOctave > 100:
		return c, fmt.Errorf("tone: %d steps per octave; choose 1 to 100", c.PerOctave)
	}
	return c, nil
}

func orDefault[T comparable](v *T, usual T) { *v = cmp.Or(*v, usual) }

// checkPlayed returns an error for a rate, a level or a length that no stimulus can have.
func checkPlayed(sampleRate int, level float64, lengths ...time.Duration) error {
	if sampleRate < 8000 || sampleRate > 384000 {
		return fmt.Errorf("tone: sample rate %d Hz; choose one from 8 kHz to 384 kHz", sampleRate)
	}
	if !(level <= 0 && level >= -120) {
		return fmt.Errorf("tone: level %v dBFS; choose one from −120 to 0 dBFS peak", level)
	}
	for _, d := range lengths {
		if d < 0 || d > 10*time.Minute {
			return fmt.Errorf("tone: a length of %v; choose one up to 10 min", d)
		}
	}
	return nil
}

func (c SteppedConfig) samples(d time.Duration) int { return samples(d, c.SampleRate) }

func samples(d time.Duration, sampleRate int) int {
	return int(math.Round(d.Seconds() * float64(sampleRate)))
}

// Steps returns the tones in order of time; the slice is the caller's.
func (s *Stepped) Steps() []Step { return append([]Step(nil), s.steps...) }

// Samples returns one channel, full scale being 1. The slice is the caller's.
func (s *Stepped) Samples() []float64 {
	x := make([]float64, s.length)
	amplitude := decibel.Amplitude(s.c.Level)
	fade, settle := s.c.samples(s.c.Fade), s.c.samples(s.c.Settle)
	for _, step := range s.steps {
		piece := x[step.Start-settle-fade : step.Start+step.Len+fade]
		for i := range piece {
			piece[i] = amplitude * sine(step.Frequency, i-settle-fade, s.c.SampleRate)
		}
		fadeEnds(piece, fade, fade)
	}
	return x
}

// sine is sample i of a sine of amplitude 1.
func sine(frequency float64, i, sampleRate int) float64 {
	cycles := frequency * float64(i) / float64(sampleRate)
	return math.Sin(2 * math.Pi * (cycles - math.Floor(cycles)))
}

// fadeEnds applies raised cosines of so many samples to the beginning and the end.
func fadeEnds(x []float64, in, out int) {
	for i := range min(in, len(x)) {
		x[i] *= taper.Rise((float64(i) + 0.5) / float64(in))
	}
	for i := range min(out, len(x)) {
		x[len(x)-1-i] *= taper.Rise((float64(i) + 0.5) / float64(out))
	}
}
