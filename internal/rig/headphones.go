package rig

import (
	"math/cmplx"
	"time"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
)

// Side is left or right.
type Side int

// The sides, which are also the indices of the channels.
const (
	Left Side = iota
	Right
)

// String returns the side in words.
func (s Side) String() string {
	if s == Left {
		return "left"
	}
	return "right"
}

func (s Side) other() Side { return Right - s }

// Headphones are an invented pair.
type Headphones struct {
	Name        string
	Left, Right Driver
}

// Side returns the driver of one side.
func (h Headphones) Side(s Side) Driver {
	if s == Left {
		return h.Left
	}
	return h.Right
}

// Response returns the complex response of a side at f Hz to a signal small enough not to be
// distorted, for a simulation at a sample rate in Hz. (The cookbook's filters are bilinear, so they
// differ a little between rates.)
//
// Odd orders of distortion add to the tone itself, so that a sweep measures ResponseAt instead. The
// two differ, as a ratio to 1, by at most three times the third harmonic and ten times the fifth,
// relative to the fundamental: by 0.008 dB for a third harmonic at −70 dB.
func (h Headphones) Response(side Side, f, sampleRate float64) complex128 {
	return h.Side(side).response(f, sampleRate)
}

// ResponseAt returns the complex response at f Hz to a steady tone of a peak amplitude (full scale
// 1). The odd orders change it by 1 + 3 a3 u²/4 + 5 a5 u⁴/8, u being the amplitude behind Before.
// It is valid for f up to 0.45 of the sample rate.
func (h Headphones) ResponseAt(side Side, f, amplitude, sampleRate float64) complex128 {
	return h.Harmonic(side, 1, f, amplitude, sampleRate) / complex(amplitude, 0)
}

// Harmonic returns the n-th harmonic of a steady tone amplitude·sin(2πft): the phasor H of Im(H
// exp(j2πnft)), at the driver's output. Order 0 is the constant. It is not known (NaN) for n·f
// above 0.45 of the sample rate, where the simulated harmonics fade out.
func (h Headphones) Harmonic(side Side, order int, f, amplitude, sampleRate float64) complex128 {
	d := h.Side(side)
	n := float64(order)
	if n*f > passEdge*sampleRate {
		return cmplx.NaN()
	}
	before := chain(sampleRate, d.Before).Response(f, sampleRate)
	turn := cmplx.Rect(1, n*cmplx.Phase(before))
	return d.Distortion.Harmonic(order, amplitude*cmplx.Abs(before)) * turn * d.after(n*f, sampleRate)
}

// Driver is one side of a pair, from the electrical signal to the sound. The zero Driver changes
// nothing.
type Driver struct {
	// Before is the filters ahead of the distortion. They set where it is strong: a low shelf here,
	// and its opposite in Filters, makes the bass distort more without changing the response.
	Before []Filter
	// Distortion is added to the signal, with full scale 1.
	Distortion Polynomial
	// Filters are behind the distortion.
	Filters []Filter
	// Gain is in dB, behind the distortion.
	Gain float64
	// Delay is that of the driver.
	Delay time.Duration
	// Reflections are those inside the cup.
	Reflections []Reflection
}

func (d Driver) response(f, sampleRate float64) complex128 {
	return chain(sampleRate, d.Before).Response(f, sampleRate) * d.after(f, sampleRate)
}

// after returns the response of everything behind the distortion.
func (d Driver) after(f, sampleRate float64) complex128 {
	return complex(factor(d.Gain), 0) * chain(sampleRate, d.Filters).Response(f, sampleRate) * d.paths().response(f)
}

func (d Driver) paths() paths { return newPaths(d.Delay, d.Reflections) }

// play turns x into the driver's sound, without its delay and reflections.
func (d Driver) play(x []float64, o *oversampler, sampleRate float64) {
	chain(sampleRate, d.Before).Apply(x)
	o.distort(x, d.Distortion)
	chain(sampleRate, d.Filters).Apply(x)
	scale(x, d.Gain)
}

// scale raises x by gain dB.
func scale(x []float64, gain float64) {
	floats.Scale(decibel.Amplitude(gain), x)
}
