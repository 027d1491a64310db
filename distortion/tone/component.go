package tone

import (
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// Component is a line in the spectrum: a reading in dB relative to the reference that its field
// states. The floor is the rms amplitude of noise alone.
type Component struct {
	Frequency float64 // Hz
	distortion.Reading
	// Reason says why nothing was read; empty if something was.
	Reason string
}

// reading is a fitted line with its noise: amplitudes, full scale = 1.
type reading struct {
	frequency float64
	c         complex128
	u         float64 // standard uncertainty of each quadrature
	known     float64 // degrees of freedom of u
}

func (r reading) amplitude() response.Figure { return ratio(cmplx.Abs(r.c), r.u) }

// floor returns the rms amplitude of two Gaussian quadratures.
func (r reading) floor() float64 { return math.Sqrt2 * r.u }

// relative returns the line relative to a reference amplitude, in % or as a level in dB.
func (r reading) relative(reference response.Figure, unit string) distortion.Reading {
	read, floor := cmplx.Abs(r.c)/reference.Value, r.floor()/reference.Value
	if unit == "%" {
		read, floor = 100*read, 100*floor
	} else {
		read, floor = decibel.OfAmplitude(read), decibel.OfAmplitude(floor)
	}
	return distortion.NewReading(read, floor, unit,
		distortion.Noise{Degrees: 2, Known: r.known, Reference: reference.Uncertainty / reference.Value})
}

// component returns the line relative to a reference amplitude, as a level.
func (r reading) component(reference response.Figure, unit string, maxFrequency float64) Component {
	c := Component{Frequency: r.frequency, Reading: nothing(unit)}
	switch {
	case r.frequency > maxFrequency:
		c.Reason = "above the maximum frequency"
	case math.IsNaN(r.u):
		c.Reason = "not resolved by this recording, or the microphone is not known there"
	default:
		c.Reading = r.relative(reference, unit)
	}
	return c
}

// tone returns the line in dBFS.
func (r reading) tone() Component { return r.component(ratio(1, 0), "dBFS", math.Inf(1)) }

// fitted is a comb that was found in a recording, its remainder, and the noise of that.
type fitted struct {
	comb
	*recording
	rest     []float64 // x − y
	residue  spectrum  // of rest
	readings []reading // one per line
	// corrected are the readings after subtraction of the microphone's response.
	corrected []reading
}

func (f *fitted) hertz(theta float64) float64 { return theta * f.rate / (2 * math.Pi) }

// near reports whether a frequency lies within the main lobe of a fitted line.
func (f *fitted) near(hz float64) bool {
	return slices.ContainsFunc(f.lines, func(l line) bool {
		return math.Abs(hz-f.hertz(f.angle(l))) < f.residue.reach()
	})
}

// spacing returns the least distance between two lines, in Hz.
func (f *fitted) spacing() float64 {
	least := f.rate
	for i, l := range f.lines {
		least = min(least, f.hertz(f.angle(l)))
		for _, other := range f.lines[:i] {
			least = min(least, math.Abs(f.hertz(f.angle(l)-f.angle(other))))
		}
	}
	return least
}

// base returns the first base frequency in Hz. Its uncertainty is that of the Gauss–Newton step
// under the noise around each line.
func (f *fitted) base() response.Figure {
	var noise, curvature float64
	for j, l := range f.lines {
		slope := float64(l.m*l.m) * real(f.c[j]*cmplx.Conj(f.c[j])) / 2
		variance := f.readings[j].u * f.readings[j].u / f.window.bandwidth(f.rate) * f.rate / 2
		noise += slope * variance * f.window.fourth
		curvature += slope * f.window.second
	}
	return figure(f.hertz(f.omega[0]), f.hertz(math.Sqrt(noise)/curvature), "Hz")
}

// total returns the mean square of the remainder within a band. It is exact if the band is the
// whole spectrum.
func (f *fitted) total(b response.Band) (power, uncertainty float64) {
	if b.Low > 0 || b.High < f.rate/2 {
		return f.residue.power(b, nil)
	}
	return statistic.MeanSquare(f.rest), math.Sqrt(2 / float64(len(f.rest)))
}

// fit fits the lines of a comb and reads the noise around each. Lines above half the sample rate
// must have been left out.
func (r *recording) fit(b comb, reach int) (*fitted, error) {
	rest, err := b.fit(r.x, r.window, reach)
	if err != nil {
		return nil, err
	}
	f := &fitted{comb: b, recording: r, rest: rest}
	f.residue = r.spectrum(rest)
	spacing := f.spacing()
	for j, l := range f.lines {
		at := f.hertz(f.angle(l))
		density, known := f.residue.noise(at, spacing, f.near)
		u, gain := math.Sqrt(density*r.window.bandwidth(f.rate)), r.config.gainAt(at)
		f.readings = append(f.readings, reading{at, f.c[j], u, known})
		f.corrected = append(f.corrected, reading{at, f.c[j] * complex(gain, 0), u * gain, known})
	}
	return f, nil
}

// nothing returns an empty reading.
func nothing(unit string) distortion.Reading {
	return distortion.NewReading(math.NaN(), math.NaN(), unit, distortion.Noise{})
}
