package target

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Shape is a change of level against frequency that a target may be made of.
type Shape interface {
	// Level is the change in dB at f Hz.
	Level(f float64) float64
	// check says what makes the shape impossible.
	check() error
}

// Tilt rises by PerOctave dB per octave, and is 0 dB at Pivot Hz; 1 kHz if zero.
type Tilt struct{ PerOctave, Pivot float64 }

// LowShelf lifts what lies below Frequency (Hz) by Gain dB; at Frequency it has
// half of that. Q tells how steep it is; 0 stands for 1/√2, the steepest
// without a bump. It is the analogue prototype of the Audio EQ Cookbook,
//
//	A (s² + √A/Q s + A) / (A s² + √A/Q s + 1), A = 10^(Gain/40), s = jf/Frequency
type LowShelf struct{ Frequency, Gain, Q float64 }

// HighShelf lifts what lies above Frequency (Hz) by Gain dB: a LowShelf turned about it,
// with the same Q.
type HighShelf struct{ Frequency, Gain, Q float64 }

// Peak lifts what lies about Frequency (Hz) by up to Gain dB. Q tells how
// narrow it is; 0 stands for 1. It is the analogue prototype of the Audio EQ Cookbook,
//
//	(s² + A/Q s + 1) / (s² + s/(AQ) + 1), A = 10^(Gain/40), s = jf/Frequency
type Peak struct{ Frequency, Gain, Q float64 }

// Level is the change in dB at f Hz.
func (t Tilt) Level(f float64) float64 { return t.PerOctave * math.Log2(f/t.pivot()) }

func (t Tilt) pivot() float64 {
	if t.Pivot == 0 {
		return 1000
	}
	return t.Pivot
}

// Level is the change in dB at f Hz.
func (l LowShelf) Level(f float64) float64 {
	a, s := math.Pow(10, l.Gain/40), f/l.Frequency
	b := math.Sqrt(a) / quality(l.Q, math.Sqrt2/2) * s
	return decibel.OfAmplitude(a * math.Hypot(a-s*s, b) / math.Hypot(1-a*s*s, b))
}

// Level is the change in dB at f Hz.
func (h HighShelf) Level(f float64) float64 {
	return LowShelf{Frequency: 1, Gain: h.Gain, Q: h.Q}.Level(h.Frequency / f)
}

// Level is the change in dB at f Hz.
func (p Peak) Level(f float64) float64 {
	a, s, q := math.Pow(10, p.Gain/40), f/p.Frequency, quality(p.Q, 1)
	return decibel.OfAmplitude(math.Hypot(1-s*s, a/q*s) / math.Hypot(1-s*s, s/(a*q)))
}

func quality(q, usual float64) float64 {
	if q == 0 {
		return usual
	}
	return q
}

func (t Tilt) check() error {
	return checkShape(t.pivot(), t.PerOctave, 0)
}
func (l LowShelf) check() error  { return checkShape(l.Frequency, l.Gain, l.Q) }
func (h HighShelf) check() error { return checkShape(h.Frequency, h.Gain, h.Q) }
func (p Peak) check() error      { return checkShape(p.Frequency, p.Gain, p.Q) }

// mostGain in dB keeps a mistaken gain from becoming infinite.
const mostGain = 120

func checkShape(f, gain, q float64) error {
	switch {
	case !(f > 0) || math.IsInf(f, 0):
		return fmt.Errorf("its frequency is %v Hz; frequencies are above zero", f)
	case !(math.Abs(gain) <= mostGain):
		return fmt.Errorf("its gain is %v dB; give at most ±%d", gain, mostGain)
	case !(q >= 0) || math.IsInf(q, 0):
		return fmt.Errorf("its Q is %v; give a number above zero, or 0 for the usual", q)
	}
	return nil
}

// With returns the target with shapes added to its curve, under a name of its
// own: a tilt, shelves and peaks on any base. The points are those of the base
// and 48 to the octave.
//
// A target that departs from flat is somebody's choice for some rig, so the
// result no longer holds on any rig: set Curve.Rig unless the base has one.
func (t Target) With(name string, shapes ...Shape) (Target, error) {
	if strings.TrimSpace(name) == "" {
		return Target{}, fmt.Errorf("target: %q: a target made of it needs a name of its own, for the report to call it by", t.Name)
	}
	if err := check(t.Curve); err != nil {
		return Target{}, fmt.Errorf("target: %q: %w", t.Name, err)
	}
	for i, s := range shapes {
		if err := s.check(); err != nil {
			return Target{}, fmt.Errorf("target: %q: shape %d, %T: %w", name, i+1, s, err)
		}
	}
	const perOctave = 48
	band := known(t.Curve)
	grid := append(slices.Clone(t.Curve.Frequency), response.LogGrid(band.Low, band.High, perOctave)...)
	slices.Sort(grid)
	c := t.Curve.Resample(distinct(grid))
	for i, f := range c.Frequency {
		for _, s := range shapes {
			c.Level[i] += s.Level(f)
		}
	}
	out := t
	out.Name, out.Curve, out.AnyRig = name, c, t.AnyRig && len(shapes) == 0
	return out, nil
}
