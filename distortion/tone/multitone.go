package tone

import (
	"fmt"
	"math"
	"time"

	"example.com/earnest/response"
)

// MultitoneConfig describes many tones at once. The zero value is 20 Hz to
// 20 kHz, three to the octave, at 48 kHz, to full scale.
//
// Take the headphones off your head before playing it, and start at the lowest level; the package
// comment says why.
type MultitoneConfig struct {
	// Low and High are the ends of the band in Hz; 0 means 20 Hz and 20 kHz (or
	// 0.45 of the sample rate where that is lower).
	Low, High float64
	// PerOctave is how many tones there are to an octave; 0 means 3. There are fewer at the low end,
	// since tones are at least four times the repetition frequency apart.
	PerOctave int
	// SampleRate in Hz; 0 means 48 kHz.
	SampleRate int
	// Level is the peak level of the sum in dBFS, at most 0.
	Level float64
	// Period is the number of samples after which the stimulus repeats, so that tones and distortion
	// lie on multiples of SampleRate/Period, the repetition frequency; 0 means the shortest power of
	// two that lasts a third of a second.
	Period int
	// Periods is how many periods are played to be measured, after one more to settle; 0 means 8, and
	// as many more as Steady removes. Distortion is told from noise in 7 periods or more.
	Periods int
	// Silence at each end; 0 means 1 s.
	Silence time.Duration
}

// Multitone is a stimulus of many tones. It does not change once made and may be
// shared.
type Multitone struct {
	c         MultitoneConfig
	multiples []int     // of the repetition frequency
	period    []float64 // one period at the level asked for
}

// apart is the least distance between tones in multiples of the repetition
// frequency.
const apart = 4

// NewMultitone makes the stimulus, or returns an error that says what in the configuration cannot be.
//
// Tones lie on odd multiples of the repetition frequency. Products of even orders then lie on even
// multiples and never on a tone. A product of an odd order that lies exactly on a tone cannot be told
// from it and is not counted.
func NewMultitone(c MultitoneConfig) (*Multitone, error) {
	c, err := c.complete()
	if err != nil {
		return nil, err
	}
	m := &Multitone{c: c}
	base := m.base()
	last := -apart
	for _, f := range response.LogGrid(c.Low, c.High, c.PerOctave) {
		k := 2*int(math.Round((f/base-1)/2)) + 1
		if k >= last+apart && float64(k) < float64(c.Period)/2-2 {
			m.multiples = append(m.multiples, k)
			last = k
		}
	}
	if len(m.multiples) < 2 {
		return nil, fmt.Errorf("tone: fewer than two tones, %d to the octave, lie between %v and %v Hz; "+
			"widen the band or lengthen the period", c.PerOctave, c.Low, c.High)
	}
	m.layOut()
	return m, nil
}

func (c MultitoneConfig) complete() (MultitoneConfig, error) {
	orDefault(&c.SampleRate, 48000)
	orDefault(&c.Low, 20)
	orDefault(&c.High, min(20000, 0.45*float64(c.SampleRate)))
	orDefault(&c.PerOctave, 3)
	if c.Period == 0 {
		for c.Period = 1; 3*c.Period < c.SampleRate; c.Period *= 2 {
		}
	}
	orDefault(&c.Periods, 8+int(math.Ceil(0.25*float64(c.SampleRate)/float64(max(c.Period, 1)))))
	orDefault(&c.Silence, time.Second)
	if err := checkPlayed(c.SampleRate, c.Level, c.Silence); err != nil {
		return c, err
	}
	switch {
	case !(c.Low >= 1 && c.High > c.Low && c.High < float64(c.SampleRate)/2):
		return c, fmt.Errorf("tone: tones from %v to %v Hz at a sample rate of %d Hz; "+
			"choose a band from 1 Hz up and below half the rate", c.Low, c.High, c.SampleRate)
	case c.PerOctave < 1 || c.PerOctave > 48:
		return c, fmt.Errorf("tone: %d tones per octave; choose 1 to 48", c.PerOctave)
	case c.Period < 256 || c.Period > 1<<20:
		return c, fmt.Errorf("tone: a period of %d samples; choose 256 to %d", c.Period, 1<<20)
	case c.Low*float64(c.Period) < float64(c.SampleRate):
		return c, fmt.Errorf("tone: %v Hz does not fit into a period of %d samples at %d Hz; choose one of at least %.0f",
			c.Low, c.Period, c.SampleRate, math.Ceil(float64(c.SampleRate)/c.Low))
	case c.Periods < 2 || c.Periods > 1000:
		return c, fmt.Errorf("tone: %d periods; choose 2 to 1000", c.Periods)
	}
	return c, nil
}

// Repeating describes tones that repeat together after so many samples, of which each frequency in Hz
// is a multiple of the sample rate divided by that number: the analysis of a stimulus that was made
// elsewhere.
func Repeating(sampleRate, period int, frequencies []float64) *Multitone {
	m := &Multitone{c: MultitoneConfig{SampleRate: sampleRate, Period: period}}
	for _, f := range frequencies {
		m.multiples = append(m.multiples, int(math.Round(f/m.base())))
	}
	return m
}

// base is the repetition frequency in Hz.
func (m *Multitone) base() float64 { return float64(m.c.SampleRate) / float64(m.c.Period) }

// Tones returns the frequencies in Hz; the slice is the caller's.
func (m *Multitone) Tones() []float64 {
	f := make([]float64, len(m.multiples))
	for i, k := range m.multiples {
		f[i] = float64(k) * m.base()
	}
	return f
}

// Samples returns one channel, full scale being 1: silence, a period to settle,
// those to be measured, and silence. The first half of the settling period and
// the last 20 ms are faded. The slice is the caller's.
func (m *Multitone) Samples() []float64 {
	silence, fade := samples(m.c.Silence, m.c.SampleRate), m.c.Period/2
	x := make([]float64, (m.c.Periods+1)*m.c.Period+2*silence)
	sound := x[silence : len(x)-silence]
	for at := 0; at < len(sound); at += m.c.Period {
		copy(sound[at:], m.period)
	}
	fadeEnds(sound, fade, min(samples(20*time.Millisecond, m.c.SampleRate), fade))
	return x
}
