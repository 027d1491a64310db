package distortion

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// margin is how far in dB a reading must stand above its floor to be a
// reading of the device and not of the rig.
const margin = 6

// Figure is one distortion figure with what it takes to believe it. Levels are
// in dB relative to what the figure's maker says; what is not known is NaN.
type Figure struct {
	// Level as read.
	Level float64
	// Floor is the level that the rig alone would have shown.
	Floor float64
	// Uncertainty is the standard uncertainty (k = 1) of Level in dB; it means
	// little where Below is set.
	Uncertainty float64
	// Below says that Level is within 6 dB of Floor: the device's distortion is
	// below the floor of this measurement, and no higher than Bound.
	Below bool
}

func newFigure(level, floor, uncertainty float64) Figure {
	return Figure{Level: level, Floor: floor, Uncertainty: uncertainty, Below: level-floor < margin}
}

// Known tells whether Level is the device's own: there is a reading, and it is
// not below its floor.
func (f Figure) Known() bool { return !math.IsNaN(f.Level) && !f.Below }

// Bound is the level in dB that the device's distortion does not exceed with
// 95 % confidence, NaN when the floor is not known: the reading and twice the
// floor, added as amplitudes,
//
//	20 log10(10^(Level/20) + 2·10^(Floor/20)).
//
// For what the rig adds, d of amplitude D in some phase and noise of mean
// square N², hides no more of the device's distortion than D + √3 N in 95 % of
// cases (a complex Gaussian exceeds √3 of its rms once in e³ = 20), and that
// is no more than twice √(D² + N²), the floor.
func (f Figure) Bound() float64 {
	return decibel.OfAmplitude(decibel.Amplitude(f.Level) + 2*decibel.Amplitude(f.Floor))
}

// String writes the figure as a reader needs it: "−63.2 dB with u = 0.1 dB",
// u its standard uncertainty, "below the floor of this measurement, −95.0 dB
// (at most −86.5 dB)", "not known".
func (f Figure) String() string {
	switch {
	case math.IsNaN(f.Level):
		return "not known"
	case f.Below:
		return fmt.Sprintf("below the floor of this measurement, %s (at most %s)", inDecibels(f.Floor), inDecibels(f.Bound()))
	case math.IsNaN(f.Floor):
		return inDecibels(f.Level) + " (floor not known)"
	}
	return fmt.Sprintf("%s with u = %.1f dB", inDecibels(f.Level), f.Uncertainty)
}

// inDecibels writes a level with a proper minus sign.
func inDecibels(level float64) string {
	if level < 0 {
		return fmt.Sprintf("−%.1f dB", -level)
	}
	return fmt.Sprintf("%.1f dB", level)
}

// Figure is the n-th harmonic at the fundamental f Hz, interpolated between
// the points as a curve is; not known for an order that was not taken.
func (hs *HarmonicSet) Figure(n int, f float64) Figure {
	if n < 2 || n-2 >= len(hs.Orders) {
		return newFigure(math.NaN(), math.NaN(), math.NaN())
	}
	o := hs.Orders[n-2]
	return figureAt(hs.Fundamental, o.Level, o.Floor, o.Uncertainty, f)
}

// Below tells for each fundamental whether the level is within 6 dB of its
// floor, so that it is the floor's and not the device's.
func (o Order) Below() []bool {
	below := make([]bool, len(o.Level))
	for i := range o.Floor {
		below[i] = o.Level[i]-o.Floor[i] < margin
	}
	return below
}

// figureAt interpolates a figure from slices, of which the floor's and the
// uncertainty's may be nil.
func figureAt(frequency, level, floor, uncertainty []float64, f float64) Figure {
	at := func(values []float64) float64 {
		if values == nil {
			return math.NaN()
		}
		return response.Curve{Frequency: frequency, Level: values, Valid: response.AllFrequencies}.At(f)
	}
	return newFigure(at(level), at(floor), at(uncertainty))
}

// noiseUncertainty is the standard uncertainty in dB of a level in which the
// rig has a part of a level in dB, in no known phase: noise or a tone,
// resolved along the device's own, has 1/√2 of its rms, so
//
//	u = 20/ln 10 · 10^((floor − level)/20) / √2.
func noiseUncertainty(level, floor float64) float64 {
	return decibel.PerNeper * decibel.Amplitude(floor-level) / math.Sqrt2
}
