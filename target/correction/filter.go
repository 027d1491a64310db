package correction

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/decibel"
)

// Shape is the kind of a filter; the zero value is peaking.
type Shape string

// The shapes.
const (
	Peaking   Shape = "peaking"
	LowShelf  Shape = "low shelf"
	HighShelf Shape = "high shelf"
)

// Filter is an equaliser filter of the Audio EQ Cookbook.
type Filter struct {
	Shape     Shape
	Frequency float64 // Hz: centre of a peaking filter, middle of a shelf
	Gain      float64 // dB
	Q         float64
}

// String writes the filter as a line of a table: "peaking at 3.2 kHz, −4.5 dB, Q 1.41".
func (f Filter) String() string {
	return fmt.Sprintf("%v at %.4g Hz, %+.1f dB, Q %.2f", cmp.Or(f.Shape, Peaking), f.Frequency, f.Gain, f.Q)
}

// ErrTooHigh is wrapped by the error about a filter at or above half the sample rate.
var ErrTooHigh = errors.New("at or above half the sample rate")

// Coefficients returns the filter's coefficients at a sample rate in Hz. Near half the sample rate
// the bilinear transform of the cookbook compresses frequency, so one filter differs a little
// between two rates there.
func (f Filter) Coefficients(sampleRate int) (Coefficients, error) {
	if err := f.check(sampleRate); err != nil {
		return Coefficients{}, fmt.Errorf("correction: %w", err)
	}
	return Coefficients(f.biquad(sampleRate)), nil
}

func (f Filter) check(sampleRate int) error {
	switch {
	case sampleRate <= 0:
		return fmt.Errorf("a sample rate of %v Hz; give it above zero", sampleRate)
	case !(f.Frequency > 0):
		return fmt.Errorf("a filter at %v Hz; frequencies are above zero", f.Frequency)
	case !(f.Frequency < float64(sampleRate)/2):
		return fmt.Errorf("%v: %w of %v Hz; leave it out or use a higher rate", f, ErrTooHigh, sampleRate)
	case !(f.Q > 0) || math.IsInf(f.Q, 0) || math.IsNaN(f.Gain) || math.IsInf(f.Gain, 0):
		return fmt.Errorf("%v: Q is above zero, and both are finite", f)
	}
	return nil
}

func (f Filter) biquad(sampleRate int) biquad.Filter {
	shape := biquad.Peaking
	switch f.Shape {
	case LowShelf:
		shape = biquad.LowShelf
	case HighShelf:
		shape = biquad.HighShelf
	}
	return biquad.New(shape, f.Frequency, f.Q, f.Gain, float64(sampleRate))
}

// Level returns the filter's gain in dB at a frequency in Hz, at a sample rate. It is NaN for an
// impossible filter, and above half the sample rate.
func (f Filter) Level(at float64, sampleRate int) float64 {
	return levelOf([]Filter{f}, at, sampleRate)
}

// Coefficients are those of a biquad at one sample rate, divided by a0:
//
//	y[n] = b0 x[n] + b1 x[n−1] + b2 x[n−2] − a1 y[n−1] − a2 y[n−2]
type Coefficients struct {
	B0, B1, B2, A1, A2 float64 // of the formula
}

// ratio is |H|² as numerator and denominator in phase.
type ratio [6]float64

func (r *ratio) parts(phase float64) (numerator, denominator float64) {
	return r[0] + phase*(r[1]+phase*r[2]), r[3] + phase*(r[4]+phase*r[5])
}

func (r *ratio) level(phase float64) float64 {
	n, d := r.parts(phase)
	return decibel.OfPower(n / d)
}

// phase returns sin²(πf/fs), in which |H|² is a ratio of polynomials.
func phase(f float64, sampleRate int) float64 {
	s := math.Sin(math.Pi * f / float64(sampleRate))
	return s * s
}

func polynomials(f Filter, sampleRate int) ratio {
	n, d := f.biquad(sampleRate).Squared()
	return ratio{n[0], n[1], n[2], d[0], d[1], d[2]}
}

// levelOf returns the gain in dB of filters in series.
func levelOf(filters []Filter, at float64, sampleRate int) float64 {
	return series(filters, sampleRate)(at)
}

// series returns a function that computes the gain in dB of filters in series at a frequency in Hz,
// as Level does of one.
func series(filters []Filter, sampleRate int) func(at float64) float64 {
	ratios, possible := make([]ratio, len(filters)), true
	for i, f := range filters {
		if possible = possible && f.check(sampleRate) == nil; possible {
			ratios[i] = polynomials(f, sampleRate)
		}
	}
	return func(at float64) float64 {
		if !possible || !(at >= 0 && at <= float64(sampleRate)/2) {
			return math.NaN()
		}
		x, power := phase(at, sampleRate), 1.0
		for i := range ratios {
			n, d := ratios[i].parts(x)
			power *= n / d
		}
		return decibel.OfPower(power)
	}
}
