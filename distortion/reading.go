package distortion

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// margin is how far in dB a reading must stand above its floor to be the device's.
const margin = 6

// Reading is one distortion figure with its floor. The embedded Figure is the device's own
// distortion. It is not known if nothing was read, or if the reading is below the floor.
type Reading struct {
	response.Figure
	// AsRead is the value as measured: the device, the noise and the rig together, in the unit of
	// the Figure. NaN if nothing was read.
	AsRead float64
	// Floor is the value that noise and rig alone would show; NaN when it is not known.
	Floor float64
	// Below reports that AsRead is within 6 dB of Floor, so that it is not the device's.
	Below bool
	// Bound is the value that the device's distortion does not exceed with 95 % confidence; NaN
	// when the floor is not known.
	Bound float64
}

// newReading returns a reading in dB. Its bound is the reading and twice the floor, added as
// amplitudes,
//
//	20 log10(10^(reading/20) + 2·10^(floor/20)).
//
// What the rig adds, a tone of amplitude D in some phase and noise of mean square N², hides no more
// of the device's distortion than D + √3 N in 95 % of cases (a complex Gaussian exceeds √3 of its
// rms once in e³ = 20), and that is no more than twice √(D² + N²), the floor.
func newReading(level, floor, uncertainty float64) Reading {
	r := Reading{
		Figure: response.Figure{Value: level, Uncertainty: uncertainty, Unit: "dB"},
		AsRead: level, Floor: floor, Below: level-floor < margin,
		Bound: decibel.OfAmplitude(decibel.Amplitude(level) + 2*decibel.Amplitude(floor)),
	}
	if r.Below || !r.Known() {
		r.Figure = response.NotKnown("dB")
	}
	return r
}

// percent turns a reading in dB into one in %. A small relative change of an amplitude is
// ln(10)/20 times its change in dB.
func (r Reading) percent() Reading {
	of := func(level float64) float64 { return 100 * decibel.Amplitude(level) }
	value := of(r.Value)
	r.Figure = response.Figure{Value: value, Uncertainty: value / decibel.PerNeper * r.Uncertainty, Unit: "%"}
	r.AsRead, r.Floor, r.Bound = of(r.AsRead), of(r.Floor), of(r.Bound)
	return r
}

// AtMost returns the largest value that the reading does not rule out: the figure where it is
// known, below the floor the bound, and +Inf if there is no bound. NaN if nothing was read.
func (r Reading) AtMost() float64 {
	switch {
	case !r.Below:
		return r.Value
	case math.IsNaN(r.Bound):
		return math.Inf(1)
	}
	return r.Bound
}

// String writes the reading: "−63.2 dB with u = 0.1 dB", u being its standard uncertainty; "below
// the floor of this measurement, −95.0 dB (at most −86.5 dB)"; or "not known".
func (r Reading) String() string {
	switch {
	case r.Below:
		return fmt.Sprintf("below the floor of this measurement, %s (at most %s)", r.written(r.Floor), r.written(r.Bound))
	case !r.Known():
		return "not known"
	case math.IsNaN(r.Floor):
		return r.written(r.Value) + " (floor not known)"
	case r.Unit == "dB":
		return fmt.Sprintf("%s with u = %.1f dB", r.written(r.Value), r.Uncertainty)
	}
	return r.Figure.String()
}

// written is a value of the reading with its unit and a proper minus sign.
func (r Reading) written(v float64) string {
	switch {
	case r.Unit != "dB":
		return fmt.Sprintf("%.2g %s", v, r.Unit)
	case v < 0:
		return fmt.Sprintf("−%.1f dB", -v)
	}
	return fmt.Sprintf("%.1f dB", v)
}

// Readings are distortion in dB relative to the fundamental, against the frequency of the
// fundamental. Each slice has one value per fundamental.
type Readings struct {
	// Fundamental in Hz.
	Fundamental []float64
	// AsRead are the levels as measured: the device, the noise and the rig together; NaN where
	// nothing was read.
	AsRead []float64
	// Floor is the level that noise and rig alone would show; nil when it is not known.
	Floor []float64
	// Uncertainty is the standard uncertainty (k = 1) of AsRead in dB that the floor causes; nil
	// when the floor is not known.
	Uncertainty []float64
}

// Level returns the device's own level at each fundamental: AsRead, but NaN where that is within
// 6 dB of the floor. The slice is the caller's.
func (r Readings) Level() []float64 {
	level := slices.Clone(r.AsRead)
	for i, floor := range r.Floor {
		if level[i]-floor < margin {
			level[i] = math.NaN()
		}
	}
	return level
}

// At returns the reading at the fundamental f Hz, interpolated between the points as a curve is.
func (r Readings) At(f float64) Reading {
	at := func(values []float64) float64 {
		if values == nil {
			return math.NaN()
		}
		return response.Curve{Frequency: r.Fundamental, Level: values, Valid: response.AllFrequencies}.At(f)
	}
	return newReading(at(r.AsRead), at(r.Floor), at(r.Uncertainty))
}

// at returns the reading at the i-th fundamental.
func (r Readings) at(i int) Reading {
	if r.Floor == nil {
		return newReading(r.AsRead[i], math.NaN(), math.NaN())
	}
	return newReading(r.AsRead[i], r.Floor[i], r.Uncertainty[i])
}

// Curve returns the device's own level, as [Readings.Level] does, as a curve of its own.
func (r Readings) Curve() response.Curve {
	level := r.Level()
	return response.Curve{
		Frequency: slices.Clone(r.Fundamental), Level: level, Uncertainty: slices.Clone(r.Uncertainty),
		Reference: "fundamental", Valid: known(r.Fundamental, level),
	}
}

// known is the band from the first known level to the last.
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

// noiseUncertainty is the standard uncertainty in dB of a level of which the rig has a part of
// floor dB in no known phase. Resolved along the device's own, that part has 1/√2 of its rms, so
//
//	u = 20/ln 10 · 10^((floor − level)/20) / √2.
func noiseUncertainty(level, floor float64) float64 {
	return decibel.PerNeper * decibel.Amplitude(floor-level) / math.Sqrt2
}
