package distortion

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Reading is one distortion figure with its floor. The embedded Figure is the device's own
// distortion, with the floor's power subtracted. It is not known if nothing was read, if the floor
// is not known, or if the reading is below the floor.
type Reading struct {
	response.Figure
	// AsRead is the value as measured: the device, the noise and the rig together, in the unit of
	// the Figure. NaN if nothing was read.
	AsRead float64
	// Floor is the rms value that noise and rig alone would give; NaN if it is not known.
	Floor float64
	// Below reports that AsRead is within 6 dB of Floor, so that it is not the device's.
	Below bool
	// Bound is the value that the device's distortion does not exceed with 95 % confidence; NaN if
	// the floor is not known.
	Bound float64

	noise Noise
}

// NewReading returns the reading of a value with its floor. Both are levels (a unit that begins
// with dB) or both are proportional to an amplitude (any other unit).
//
// The bound holds in 95 of 100 recordings, above the margin or not. It is no less than half the
// floor, since a lower one would come from chance alone.
func NewReading(asRead, floor float64, unit string, n Noise) Reading {
	r := unbounded(asRead, floor, unit, n)
	x, noise := r.power()/(1-n.Rig), r.rms(floor)*math.Sqrt(1-n.Rig)
	var least, most float64 // the reading without the noise, and the largest value that it does not rule out
	switch {
	case math.IsNaN(r.power()):
		return r
	case n.Degrees == 0:
		most = r.rms(asRead) + 2*noise // a complex Gaussian is more than √3 of its rms once in e³ = 20
	case x > 1 && n.relative(x-1) < sure:
		least = r.rms(asRead) * math.Sqrt(1-1/x)
		most = least * (1 + n.relative(x-1)*n.coverage(0.95))
	default:
		least = noise * math.Sqrt(max(0, x-1))
		most = noise * n.amplitude(x, 0, 0.05)
	}
	r.Bound = r.of(max(r.rms(floor)/2, least+math.Hypot(most-least, n.coverage(0.95)*r.rig())))
	return r
}

// rig returns the standard uncertainty of the amplitude from the rig's own distortion: the rms of
// its component along the device's own, over all phases.
func (r Reading) rig() float64 { return r.rms(r.Floor) * math.Sqrt(r.noise.moving()/2) }

// common returns the relative standard uncertainty of the value from causes that repeat in every
// seating: the reference, the microphone, and the rig's own distortion.
func (r Reading) common() float64 { return math.Hypot(r.noise.Reference, r.rig()/r.rms(r.Value)) }

// with returns the reading with a value and its relative standard uncertainty.
func (r Reading) with(value, relative float64) Reading {
	r.Figure = response.Figure{Value: value, Uncertainty: value * relative, Unit: r.Unit}
	if r.level() {
		r.Uncertainty = decibel.PerNeper * relative
	}
	if r.noise.Degrees > 0 {
		r.Figure = r.WithEnds(ends(r))
	}
	return r
}

// power returns the power of the reading over that of the floor; NaN if either is not known.
func (r Reading) power() float64 {
	ratio := r.rms(r.AsRead) / r.rms(r.Floor)
	return ratio * ratio
}

// level reports whether values are levels in dB.
func (r Reading) level() bool { return strings.HasPrefix(r.Unit, "dB") }

// rms returns the amplitude of a value of the reading; of returns the value of an amplitude.
func (r Reading) rms(value float64) float64 {
	if r.level() {
		return decibel.Amplitude(value)
	}
	return value
}

func (r Reading) of(amplitude float64) float64 {
	if r.level() {
		return decibel.OfAmplitude(amplitude)
	}
	return amplitude
}

// WithRig returns the reading with the rig's own reading, in the unit of the reading, added to its
// floor. The phase is not taken into account. apart is the standard uncertainty in dB of the rig's
// and the microphone's response at the distortion relative to that at its reference.
func (r Reading) WithRig(own, apart float64) Reading {
	noise, rig, n := r.rms(r.Floor), r.rms(own), r.noise
	n.Reference = math.Hypot(n.Reference, apart/decibel.PerNeper)
	floor := math.Hypot(noise, rig)
	n.Rig, n.apart = rig*rig/(floor*floor), 0
	return NewReading(r.AsRead, r.of(floor), r.Unit, n)
}

// Percent converts a reading in dB to one in %.
func (r Reading) Percent() Reading {
	of := func(level float64) float64 { return 100 * decibel.Amplitude(level) }
	value, relative := of(r.Value), r.Uncertainty/decibel.PerNeper
	r.AsRead, r.Floor, r.Bound, r.Unit = of(r.AsRead), of(r.Floor), of(r.Bound), "%"
	out := r.with(value, relative)
	out.DegreesOfFreedom = r.DegreesOfFreedom // of a mean
	return out
}

// AtMost returns the largest value that the reading does not rule out: the figure if it is known,
// the bound if it is below the floor, +Inf if there is no bound, and NaN if nothing was read.
func (r Reading) AtMost() float64 {
	switch {
	case r.Known() || math.IsNaN(r.AsRead):
		return r.Value
	case math.IsNaN(r.Bound):
		return math.Inf(1)
	}
	return r.Bound
}

// String formats the reading: "−63.2 dB with u = 0.1 dB", u being its standard uncertainty; "below
// the floor of this measurement, −95.0 dB (at most −86.5 dB)"; or "not known".
func (r Reading) String() string {
	switch {
	case r.Below:
		return fmt.Sprintf("below the floor of this measurement, %s (at most %s)", r.written(r.Floor), r.written(r.Bound))
	case !r.Known() && !math.IsNaN(r.AsRead):
		return "not known, for the floor is not: " + r.written(r.AsRead) + " was read"
	case !r.Known():
		return "not known"
	case r.level():
		return fmt.Sprintf("%s with u = %.1f dB", r.written(r.Value), r.Uncertainty)
	}
	return r.Figure.String()
}

// written formats a value of the reading with its unit and a proper minus sign.
func (r Reading) written(v float64) string {
	switch {
	case !r.level():
		return fmt.Sprintf("%.2g %s", v, r.Unit)
	case v < 0:
		return fmt.Sprintf("−%.1f %s", -v, r.Unit)
	}
	return fmt.Sprintf("%.1f %s", v, r.Unit)
}

// ends computes the ends of the interval of a reading. Near the floor it is not symmetric about the
// value, and may reach down to zero distortion.
type ends Reading

// Ends implements response.Ends.
func (e ends) Ends(probability float64) (low, high float64) {
	r := Reading(e)
	value, share := r.rms(r.Value), 1-r.noise.Rig
	low, high = r.noise.interval(r.power()/share, margin/share, probability)
	others := r.common() * r.noise.coverage((1+probability)/2)
	least := value * max(0, 1-math.Hypot(1-low, others))
	if low = r.of(least); least == 0 && r.level() {
		low = math.Inf(-1) // the interval reaches down to zero
	}
	return low, r.of(value * (1 + math.Hypot(high-1, others)))
}

// Readings are distortion in dB relative to the fundamental, against the frequency of the
// fundamental. Each slice has one value per fundamental, NaN where it is not known.
type Readings struct {
	// Fundamental holds the frequencies in Hz.
	Fundamental []float64
	// AsRead holds the levels as measured: the device, the noise and the rig together.
	AsRead []float64
	// Floor holds the levels of noise and rig alone; nil if they are not known at any frequency.
	Floor []float64
	// Uncertainty is the standard uncertainty (k = 1) in dB of the device's own level from the
	// floor.
	Uncertainty []float64

	noise []Noise
}

// newReadings returns empty readings with room for n.
func newReadings(n int) Readings {
	all := make([]float64, 4*n)
	part := func(i int) []float64 { return all[i*n : i*n : (i+1)*n] }
	return Readings{
		Fundamental: part(0), AsRead: part(1), Floor: part(2), Uncertainty: part(3), noise: make([]Noise, 0, n),
	}
}

// add appends a reading in dB at the fundamental f Hz, which is above those before.
func (r *Readings) add(f float64, x Reading) {
	r.Fundamental = append(r.Fundamental, f)
	r.AsRead = append(r.AsRead, x.AsRead)
	r.Floor = append(r.Floor, x.Floor)
	r.Uncertainty = append(r.Uncertainty, x.Uncertainty)
	r.noise = append(r.noise, x.noise)
}

// Level returns the device's own level at each fundamental: AsRead less the floor's power. It is
// NaN where AsRead is within 6 dB of the floor, or the floor is not known. The slice is the
// caller's.
func (r Readings) Level() []float64 {
	level := make([]float64, len(r.AsRead))
	for i := range level {
		level[i] = r.read(i).Value
	}
	return level
}

// At returns the reading at the fundamental f Hz, interpolated between the points as a curve is.
func (r Readings) At(f float64) Reading {
	at := func(values []float64) float64 {
		if len(values) == 0 {
			return math.NaN()
		}
		return response.Curve{Frequency: r.Fundamental, Level: values, Valid: response.AllFrequencies}.At(f)
	}
	i, _ := slices.BinarySearch(r.Fundamental, f)
	return NewReading(at(r.AsRead), at(r.Floor), "dB", r.noiseOf(i))
}

// read returns the reading at the i-th fundamental without its bound.
func (r Readings) read(i int) Reading { return unbounded(r.AsRead[i], r.floor(i), "dB", r.noiseOf(i)) }

func (r Readings) floor(i int) float64 {
	if r.Floor == nil {
		return math.NaN()
	}
	return r.Floor[i]
}

// noiseOf returns the noise of the i-th reading, or of the last: that of one line unless add set
// another.
func (r Readings) noiseOf(i int) Noise {
	if len(r.noise) == 0 {
		return Noise{Degrees: 2}
	}
	return r.noise[min(i, len(r.noise)-1)]
}

// unbounded is like NewReading but leaves out the bound, which takes longer than the rest.
func unbounded(asRead, floor float64, unit string, n Noise) Reading {
	r := Reading{Figure: response.NotKnown(unit), AsRead: asRead, Floor: floor, Bound: math.NaN(), noise: n}
	x := r.power()
	r.Below = x <= margin
	switch {
	case !(x > margin):
		return r
	case n.Degrees == 0:
		return r.with(asRead, n.relative(x))
	}
	x /= 1 - n.Rig
	value := r.rms(asRead) * math.Sqrt(1-1/x)
	// With almost no noise, rounding may turn the smaller amplitude into the higher level in dB.
	return r.with(min(asRead, r.of(value)), math.Hypot(math.Hypot(n.relative(x-1), r.rig()/value), n.Reference))
}

// known returns the band from the first known level to the last.
func known(f, level []float64) response.Band {
	var b response.Band
	for i, v := range level {
		if math.IsNaN(v) {
			continue
		}
		if b.Low == 0 {
			b.Low = f[i]
		}
		b.High = f[i]
	}
	return b
}

// noiseUncertainty returns the standard uncertainty in dB of a level that contains a part of the
// rig at level floor, of unknown phase. The component of that part along the device's own has 1/√2
// of its rms, so
//
//	u = 20/ln 10 · 10^((floor − level)/20) / √2.
func noiseUncertainty(level, floor float64) float64 {
	return decibel.PerNeper * decibel.Amplitude(floor-level) / math.Sqrt2
}
