package level

import (
	"errors"
	"math"
	"math/cmplx"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Impedance is a complex impedance against frequency.
type Impedance struct {
	// Frequency is in Hz, above zero and ascending.
	Frequency []float64
	// Ohms is the impedance in Ω at each frequency, NaN where it is not known. If PhaseKnown is
	// false, it is the magnitude.
	Ohms       []complex128
	PhaseKnown bool
	// Uncertainty is the standard uncertainty (k = 1) of the magnitude in Ω, NaN where it is not
	// known; nil if it is not known at any frequency.
	Uncertainty []float64
	// Coherence is γ² between the two channels; nil for an impedance that was not measured with
	// noise.
	Coherence []float64
	// Valid is the band in which the impedance is known.
	Valid response.Band
	// Findings are remarks for the reader of the report.
	Findings []response.Finding
}

// Magnitude returns |Z| in Ω at each frequency.
func (z Impedance) Magnitude() []float64 {
	out := make([]float64, len(z.Ohms))
	for i, v := range z.Ohms {
		out[i] = cmplx.Abs(v)
	}
	return out
}

// curve returns 20 log10 |Z| in dB re 1 Ω, to be smoothed, drawn and compared like any curve.
func (z Impedance) curve() response.Curve {
	c := response.Curve{Frequency: slices.Clone(z.Frequency), Level: z.Magnitude(), Reference: "1 Ω", Valid: z.Valid}
	if z.Uncertainty != nil {
		c.Uncertainty = make([]float64, len(c.Level))
	}
	for i, v := range c.Level {
		c.Level[i] = decibel.OfAmplitude(v)
		if c.Uncertainty != nil {
			c.Uncertainty[i] = decibel.PerNeper * z.Uncertainty[i] / v
		}
	}
	return c
}

// At returns |Z| in Ω at f Hz, interpolated as Curve.At is: u(Z) = Z ln(10)/20 u(dB).
func (z Impedance) At(f float64) response.Figure {
	i := sort.SearchFloat64s(z.Frequency, f)
	from, to := max(0, i-1), min(len(z.Frequency), i+1)
	z.Frequency, z.Ohms = z.Frequency[from:to], z.Ohms[from:to]
	if z.Uncertainty != nil {
		z.Uncertainty = z.Uncertainty[from:to]
	}
	c := z.curve()
	ohms := decibel.Amplitude(c.At(f))
	return response.Figure{Value: ohms, Uncertainty: ohms / decibel.PerNeper * c.UncertaintyAt(f), Unit: Ohm}
}

// Lowest returns the lowest magnitude within a band, in Ω, and its frequency in Hz: it takes the
// greatest current from an amplifier. It is the lowest of means over 1/12 octave, and 16 Hz at
// least, since the lowest of many single points is the one that noise has lowered most. It is not
// known if no point of the band is.
func (z Impedance) Lowest(within response.Band) (magnitude response.Figure, frequency float64) {
	magnitude, frequency = response.NotKnown(Ohm), math.NaN()
	var at, ohms, uncertainty []float64
	for i, f := range z.Frequency {
		if v := cmplx.Abs(z.Ohms[i]); within.Contains(f) && z.Valid.Contains(f) && !math.IsNaN(v) {
			at, ohms, uncertainty = append(at, f), append(ohms, v), append(uncertainty, math.NaN())
			if z.Uncertainty != nil {
				uncertainty[len(at)-1] = z.Uncertainty[i]
			}
		}
	}
	reach, least := math.Exp2(1./24), 8.0 // Hz: 17 bins of a ratio, whose mean has a quarter of their noise
	from, to := 0, 0
	for i, f := range at {
		for at[from] < min(f/reach, f-least) {
			from++
		}
		for to < len(at) && at[to] <= max(f*reach, f+least) {
			to++
		}
		if v := stat.Mean(ohms[from:to], nil); !(v >= magnitude.Value) {
			// The uncertainty of the resistor is common to all points, that of noise is not: the
			// mean is an upper bound.
			magnitude.Value, magnitude.Uncertainty, frequency = v, stat.Mean(uncertainty[from:to], nil), at[i]
		}
	}
	return magnitude, frequency
}

// The faults of a measurement of impedance, for errors.Is.
var (
	ErrSeriesResistor = errors.New("series resistor")
	ErrSwapped        = errors.New("channels swapped")
	ErrReversed       = errors.New("one channel is of reversed polarity")
	ErrNoCurrent      = errors.New("no current through the load")
	ErrShorted        = errors.New("no voltage across the load")
	ErrNoSignal       = errors.New("no signal")
	ErrUnequal        = errors.New("recordings do not match")
)
