package tone

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// State says what is known of a line in the spectrum.
type State int

// The states.
const (
	Known      State = iota // measured
	BelowFloor              // within 6 dB of what noise alone would show
	OutOfRange              // above the ceiling: not known
	Unresolved              // not known: nothing tells it from what lies beside it
)

// String is the state in words.
func (s State) String() string {
	switch s {
	case Known:
		return "known"
	case BelowFloor:
		return "below the floor of this measurement"
	case OutOfRange:
		return "not known: above the ceiling"
	case Unresolved:
		return "not known: not resolved by this recording"
	}
	return fmt.Sprintf("State(%d)", int(s))
}

// Component is a line in the spectrum. Levels are in dB relative to what the
// field it stands in says.
type Component struct {
	Frequency float64 // Hz
	State     State
	// Level in dB; NaN unless State is Known.
	Level Figure
	// Floor in dB: what noise alone shows here, root mean square. NaN where nothing is known.
	Floor float64
	// Bound in dB: the component is no higher, in 95 cases of 100 of Gaussian
	// noise. It is never below the floor. NaN where nothing is known.
	Bound float64
}

// margin is the ratio of amplitudes, 6 dB, by which a line must stand above the
// floor to be reported.
const margin = 2

// oneSided is the 95 % point of the Gaussian distribution.
const oneSided = 1.645

// reading is a fitted line with its noise: amplitudes, full scale = 1.
type reading struct {
	frequency float64
	c         complex128
	u         float64 // standard uncertainty of each quadrature
}

func (r reading) amplitude() Figure { return Figure{cmplx.Abs(r.c), r.u} }

// floor is the root mean square of the amplitude of two Gaussian quadratures.
func (r reading) floor() float64 { return math.Sqrt2 * r.u }

func (r reading) above() bool { return cmplx.Abs(r.c) > margin*r.floor() }

// bound: an amplitude is at least its projection on the true phase, and that is
// Gaussian around the true amplitude.
func (r reading) bound() float64 { return max(r.floor(), cmplx.Abs(r.c)+oneSided*r.u) }

// component states a reading relative to a reference amplitude.
func (r reading) component(reference Figure, ceiling float64) Component {
	c := Component{Frequency: r.frequency, Level: notKnown}
	if r.frequency > ceiling || math.IsNaN(r.u) {
		c.State, c.Floor, c.Bound = OutOfRange, math.NaN(), math.NaN()
		if r.frequency <= ceiling {
			c.State = Unresolved
		}
		return c
	}
	c.Floor = decibel.PerNeper * math.Log(r.floor()/reference.Value)
	c.Bound = decibel.PerNeper * math.Log(r.bound()/reference.Value)
	if !r.above() {
		c.State = BelowFloor
		return c
	}
	c.Level = r.amplitude().over(reference).inDecibels()
	return c
}

// fitted is a comb that was found in a recording, what is left of it, and how
// noisy that is.
type fitted struct {
	comb
	window   window
	rate     float64   // Hz
	rest     []float64 // x − y
	residue  spectrum  // of rest
	readings []reading // one per line
}

// newFitted fits the lines and reads the noise around each. Lines above half
// the sample rate must have been left out.
func (a *Analyser) newFitted(x []float64, w window, b comb, reach int) (*fitted, error) {
	rest, err := b.fit(x, w, reach)
	if err != nil {
		return nil, err
	}
	f := &fitted{comb: b, window: w, rate: float64(a.sampleRate), rest: rest}
	f.residue = newSpectrum(rest, w, a.sampleRate, &a.plans)
	spacing := f.spacing()
	for j, l := range f.lines {
		at := f.hertz(f.angle(l))
		s := f.residue.noise(at, spacing, f.near)
		f.readings = append(f.readings, reading{at, f.c[j], math.Sqrt(s * w.bandwidth(f.rate))})
	}
	return f, nil
}

func (f *fitted) hertz(theta float64) float64 { return theta * f.rate / (2 * math.Pi) }

// near tells whether a frequency lies within the main lobe of a fitted line.
func (f *fitted) near(hz float64) bool {
	for _, l := range f.lines {
		if math.Abs(hz-f.hertz(f.angle(l))) < f.residue.reach() {
			return true
		}
	}
	return false
}

// spacing is the least distance between two lines, in Hz.
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

// base is the first base frequency in Hz. Its uncertainty is that of the
// Gauss–Newton step under the noise around each line.
func (f *fitted) base() Figure {
	var noise, curvature float64
	for j, l := range f.lines {
		slope := float64(l.m*l.m) * real(f.c[j]*cmplx.Conj(f.c[j])) / 2
		variance := f.readings[j].u * f.readings[j].u / f.window.bandwidth(f.rate) * f.rate / 2
		noise += slope * variance * f.window.fourth
		curvature += slope * f.window.second
	}
	return Figure{f.hertz(f.omega[0]), f.hertz(math.Sqrt(noise) / curvature)}
}

// total is the mean square of the remainder within a band: exactly, when the
// band is all there is.
func (f *fitted) total(b response.Band) (power, uncertainty float64) {
	if b.Low > 0 || b.High < f.rate/2 {
		return f.residue.power(b, unweighted)
	}
	return statistic.MeanSquare(f.rest), math.Sqrt(2 / float64(len(f.rest)))
}
