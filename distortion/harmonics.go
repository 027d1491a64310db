package distortion

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"time"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// ErrOrders is returned when more harmonics are asked for than a deconvolution
// has room for.
var ErrOrders = errors.New("more harmonics than the deconvolution has room for")

// Config says which harmonics to take and how far to believe them. The zero
// value takes every order that there is room for.
type Config struct {
	// Orders is the highest harmonic, from 2; 0 means all there is room for.
	Orders int
	// PerOctave is the number of points to an octave of the fundamental; 0
	// means 24.
	PerOctave int
	// Ceiling is the highest frequency in Hz at which a harmonic can be
	// believed, such as the end of the microphone's range; 0 means 0.95 of half
	// the sample rate.
	Ceiling float64
	// Silence is a recording of nothing by the same rig at the same gain, from
	// which the noise floor is known; without it the floor is not known.
	Silence []float64
}

// HarmonicSet is distortion by order against the frequency of the fundamental.
type HarmonicSet struct {
	// Fundamental holds the frequencies of the fundamental in Hz, those of
	// response.LogGrid over the sweep's band.
	Fundamental []float64
	// Linear is the linear response |H1| in dB at each fundamental, full scale
	// per full scale.
	Linear []float64
	// Orders are the harmonics, from the second.
	Orders []Order
}

// Order is one harmonic. Each slice has one value per fundamental; NaN where
// it is not known.
type Order struct {
	// N is the order; 2 is the second harmonic, at twice the frequency.
	N int
	// Level in dB relative to the fundamental.
	Level []float64
	// Phase in radians of the harmonic as a sine, where the fundamental as
	// played is a sine of phase 0 and the delay of the linear peak is taken
	// out.
	Phase []float64
	// Floor is the level in dB relative to the fundamental that noise alone
	// shows on average; nil when no silence was given.
	Floor []float64
	// Valid is the band of the fundamental within which Level is known.
	Valid response.Band
}

// edgeOctaves is how far above the sweep's start a harmonic is first believed.
// The n-th harmonic is a sweep from n·f1 whose own beginning ripples: measured
// on exact harmonics of a 20 Hz–20 kHz, 6 s sweep, up to 0.14 dB at 1.25 f1,
// below 0.02 dB from 1.5 f1 on.
const edgeOctaves = 0.5

// Harmonics takes the harmonics out of a recording that was taken apart: order
// n stands L ln n before the linear response, is cut out by a window that
// reaches 0.4 of the way to the order before it in time (n+1) and 0.55 of the
// way to the one after it (n−1), and is read at n times the frequency of the
// fundamental (Farina 2000; Novak et al. 2015).
//
// A harmonic above the ceiling is not known. It gives ErrOrders when there is
// no room for the orders asked for.
func Harmonics(sep *response.Separated, c Config) (*HarmonicSet, error) {
	c, err := c.complete(sep)
	if err != nil {
		return nil, err
	}
	delay, err := sep.Linear.Delay()
	if err != nil {
		return nil, err
	}
	window, err := sep.Linear.Window(0, 0)
	if err != nil {
		return nil, err
	}
	linear := window.Transfer().Delayed(-delay)
	s := sep.Sweep
	hs := &HarmonicSet{Fundamental: response.LogGrid(s.Start(), s.Stop(), c.PerOctave)}
	for _, f := range hs.Fundamental {
		hs.Linear = append(hs.Linear, decibel(cmplx.Abs(linear.At(f))))
	}
	noise := newNoise(c.Silence, s)
	for n := 2; n <= c.Orders; n++ {
		hs.Orders = append(hs.Orders, hs.order(sep, n, delay, c.Ceiling, noise))
	}
	return hs, nil
}

func (c Config) complete(sep *response.Separated) (Config, error) {
	if c.Orders == 0 {
		c.Orders = sep.Orders
	}
	if c.Orders < 2 || c.Orders > sep.Orders {
		return c, fmt.Errorf("distortion: %w: order %d asked for, room for 2 to %d; make the deconvolver with more Orders", ErrOrders, c.Orders, sep.Orders)
	}
	if c.PerOctave == 0 {
		c.PerOctave = 24
	}
	if c.PerOctave < 1 || c.PerOctave > 1000 {
		return c, fmt.Errorf("distortion: %d points per octave; choose 1 to 1000", c.PerOctave)
	}
	top := 0.95 * float64(sep.Sweep.SampleRate()) / 2
	if c.Ceiling == 0 {
		c.Ceiling = top
	}
	if !(c.Ceiling > 0) {
		return c, fmt.Errorf("distortion: a ceiling of %v Hz; give the highest frequency to believe, above zero", c.Ceiling)
	}
	c.Ceiling = min(c.Ceiling, top)
	return c, nil
}

// order cuts out and reads the n-th harmonic.
func (hs *HarmonicSet) order(sep *response.Separated, n int, delay, ceiling float64, noise *noise) Order {
	at := delay - sep.Sweep.HarmonicAdvance(n)
	before, after := orderWindow(sep.Sweep, n)
	cut := sep.Harmonics.WindowAt(at, before, after)
	// Bins twice as fine as the window needs, so that a line between two of
	// them is the spectrum.
	t := cut.TransferN(powerOfTwo(2 * len(cut.Samples))).Delayed(-at)
	t.Valid = response.Band{Low: 0, High: ceiling}
	o := Order{N: n, Valid: response.Band{
		Low:  max(sep.Sweep.Start()*math.Exp2(edgeOctaves), 1/after.Seconds()/float64(n)),
		High: min(sep.Sweep.Stop(), ceiling/float64(n)),
	}}
	for i, f := range hs.Fundamental {
		h := cmplx.NaN()
		if o.Valid.Contains(f) {
			h = t.At(float64(n) * f)
		}
		o.Level = append(o.Level, decibel(cmplx.Abs(h))-hs.Linear[i])
		o.Phase = append(o.Phase, cmplx.Phase(h))
		if noise != nil {
			o.Floor = append(o.Floor, noise.level(float64(n)*f, before, after)-hs.Linear[i])
		}
	}
	return o
}

// orderWindow is the window of the n-th harmonic before and after its place.
func orderWindow(s *sweep.Sweep, n int) (before, after time.Duration) {
	earlier := s.HarmonicAdvance(n+1) - s.HarmonicAdvance(n)
	later := s.HarmonicAdvance(n) - s.HarmonicAdvance(n-1)
	return seconds(0.4 * earlier), seconds(0.55 * later)
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }

func powerOfTwo(n int) int {
	p := 1
	for p < n {
		p *= 2
	}
	return p
}

// decibel is 20 log10 of an amplitude; nothing at all has no level.
func decibel(amplitude float64) float64 {
	if amplitude == 0 {
		return math.NaN()
	}
	return 20 * math.Log10(amplitude)
}
