package sweep

import (
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/parallel"
)

// longest is the longest sweep.
const longest = 10 * time.Minute

// The lowest and the highest sample rate of a sweep, in Hz.
const (
	MinSampleRate = 8000
	MaxSampleRate = 384000
)

// Config describes a sweep. The zero value is the common case: 20 Hz to 20 kHz in about 6 s at 48
// kHz, at full scale.
type Config struct {
	// Start and Stop are the first and last frequency in Hz; 0 means 20 Hz and 20 kHz (or 0.45 of
	// the sample rate if that is lower).
	Start, Stop float64
	// Duration is the requested length; 0 means 6 s. The actual length is the nearest one for which
	// the sweep is synchronised, and differs by at most half of ln(Stop/Start)/Start seconds: see
	// Sweep.Duration.
	Duration time.Duration
	// SampleRate is in Hz, 8 kHz to 384 kHz; 0 means 48 kHz.
	SampleRate int
	// Level is the peak level in dBFS, at most 0. A full-scale sine is 0 dBFS peak and −3.01 dB
	// rms.
	Level float64
	// FadeIn and FadeOut are the lengths of the raised-cosine fades; 0 means one period of Start,
	// and 5 ms; a negative length means none. With a long fade the sweep has little power at that
	// end of the band, where noise then dominates.
	FadeIn, FadeOut time.Duration
	// TimeConstant is L in seconds, the time in which the frequency grows by a factor of e, for a
	// sweep from another program. The sweep then lasts L ln(Stop/Start), synchronised or not, and
	// Duration is ignored. 0 means that Duration counts.
	TimeConstant float64
	// Phase is that of the sine at the first sample in radians; 0 for a synchronised sweep.
	Phase float64
}

func (c Config) withDefaults() Config {
	if c.SampleRate == 0 {
		c.SampleRate = 48000
	}
	if c.Start == 0 {
		c.Start = 20
	}
	if c.Stop == 0 {
		c.Stop = min(20000, 0.45*float64(c.SampleRate))
	}
	if c.Duration == 0 {
		c.Duration = 6 * time.Second
	}
	if c.FadeIn == 0 && c.Start > 0 {
		c.FadeIn = time.Duration(float64(time.Second) / c.Start)
	}
	if c.FadeOut == 0 {
		c.FadeOut = 5 * time.Millisecond
	}
	return c
}

func (c Config) check() error {
	switch {
	case c.SampleRate < MinSampleRate || c.SampleRate > MaxSampleRate:
		return fmt.Errorf("sweep: sample rate %d Hz; choose one from %d to %d Hz", c.SampleRate, MinSampleRate,
			MaxSampleRate)
	case !(c.Start >= 0.1) || math.IsInf(c.Start, 0):
		return fmt.Errorf("sweep: start frequency %v Hz; choose one of at least 0.1 Hz", c.Start)
	case !(c.Stop > c.Start):
		return fmt.Errorf("sweep: stop frequency %v Hz is not above the start, %v Hz", c.Stop, c.Start)
	case !(c.Stop <= float64(c.SampleRate)/2):
		return fmt.Errorf("sweep: stop frequency %v Hz is above half the sample rate, %v Hz; "+
			"lower it or raise the sample rate", c.Stop, float64(c.SampleRate)/2)
	case c.Duration < 0 || c.Duration > longest:
		return fmt.Errorf("sweep: duration %v; choose one up to 10 min", c.Duration)
	case !(c.TimeConstant >= 0 && c.TimeConstant*math.Log(c.Stop/c.Start) <= longest.Seconds()):
		return fmt.Errorf("sweep: a time constant of %v s; choose one above zero, for a sweep of up to 10 min",
			c.TimeConstant)
	case c.Phase-c.Phase != 0:
		return fmt.Errorf("sweep: a starting phase of %v; it is a number of radians", c.Phase)
	case !(c.Level <= 0 && c.Level >= -120):
		return fmt.Errorf("sweep: level %v dBFS; choose one from −120 to 0 dBFS peak", c.Level)
	}
	return nil
}

// Sweep is a synchronised exponential sine sweep,
//
//	x(t) = A w(t) sin(2π f1 L (exp(t/L) − 1) + φ0),  0 ≤ t < T,
//
// where w(t) contains the fades. Unless Config has a TimeConstant or a Phase, f1 L is a whole
// number and φ0 is 0, so that every harmonic starts in phase. It does not change once made, and may
// be shared.
type Sweep struct {
	start, stop     float64 // Hz
	timeConstant    float64 // L, seconds
	phase           float64 // φ0, turns
	sampleRate      int
	level           float64 // dBFS peak
	fadeIn, fadeOut float64 // seconds
	samples         func() []float64
}

// New makes a sweep. It returns an error for an impossible configuration.
func New(c Config) (*Sweep, error) {
	c = c.withDefaults()
	if err := c.check(); err != nil {
		return nil, err
	}
	if c.TimeConstant == 0 {
		span := math.Log(c.Stop / c.Start)
		cycles := math.Round(c.Start * c.Duration.Seconds() / span)
		if cycles < 1 {
			return nil, fmt.Errorf("sweep: %v is too short to start at %g Hz and stop at %g Hz; take at least %.3g s",
				c.Duration, c.Start, c.Stop, span/c.Start)
		}
		c.TimeConstant = cycles / c.Start
	}
	s := &Sweep{
		start: c.Start, stop: c.Stop,
		timeConstant: c.TimeConstant,
		phase:        c.Phase / (2 * math.Pi),
		sampleRate:   c.SampleRate,
		level:        c.Level,
		fadeIn:       max(0, c.FadeIn.Seconds()),
		fadeOut:      max(0, c.FadeOut.Seconds()),
	}
	if s.fadeIn+s.fadeOut > s.Duration() {
		return nil, fmt.Errorf("sweep: fades of %v and %v do not fit into a sweep of %.3g s; shorten them",
			c.FadeIn, c.FadeOut, s.Duration())
	}
	s.samples = sync.OnceValue(s.compute)
	return s, nil
}

// Start returns the first frequency in Hz.
func (s *Sweep) Start() float64 { return s.start }

// Stop returns the last frequency in Hz.
func (s *Sweep) Stop() float64 { return s.stop }

// SampleRate returns the sample rate in Hz.
func (s *Sweep) SampleRate() int { return s.sampleRate }

// Level returns the peak level in dBFS.
func (s *Sweep) Level() float64 { return s.level }

// Amplitude returns the peak amplitude A, with full scale 1.
func (s *Sweep) Amplitude() float64 { return decibel.Amplitude(s.level) }

// Len returns the number of samples.
func (s *Sweep) Len() int { return int(math.Round(s.Duration() * float64(s.sampleRate))) }

// Samples returns the samples of the sweep, with full scale 1. The first call computes and keeps
// them; the slice is a copy.
func (s *Sweep) Samples() []float64 { return slices.Clone(s.samples()) }

// AtLevel returns the same sweep at another peak level in dBFS, which may lie above that of Config.
// It panics for a level above 0.
func (s *Sweep) AtLevel(level float64) *Sweep {
	if !(level <= 0) {
		panic("sweep: a level above full scale")
	}
	out, gain := *s, decibel.Amplitude(level-s.level)
	out.level = level
	out.samples = sync.OnceValue(func() []float64 {
		x := s.Samples()
		for i := range x {
			x[i] *= gain
		}
		return x
	})
	return &out
}

// compute fills the two halves concurrently.
func (s *Sweep) compute() []float64 {
	x := make([]float64, s.Len())
	parallel.Do(2, func(half int) {
		from, to := half*len(x)/2, (half+1)*len(x)/2
		s.fill(x[from:to], from)
	})
	return x
}

// fill sets x to the sweep from sample first on.
func (s *Sweep) fill(x []float64, first int) {
	amplitude, period := s.Amplitude(), 1/float64(s.sampleRate)
	fadesOut := s.Duration() - s.fadeOut
	for i := range x {
		t := float64(first+i) * period
		// Subtract the whole cycles first: a sine of 2^20 rad loses six digits.
		cycles := s.cyclesAt(t)
		x[i] = amplitude * math.Sin(2*math.Pi*(cycles-math.Floor(cycles)))
		if t < s.fadeIn || t > fadesOut {
			x[i] *= s.fade(t)
		}
	}
}

// fade returns the raised-cosine weight w(t).
func (s *Sweep) fade(t float64) float64 {
	w := 1.0
	if t < s.fadeIn {
		w *= 0.5 - 0.5*math.Cos(math.Pi*t/s.fadeIn)
	}
	if rest := s.Duration() - t; rest < s.fadeOut {
		w *= 0.5 - 0.5*math.Cos(math.Pi*max(0, rest)/s.fadeOut)
	}
	return w
}
