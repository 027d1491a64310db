package review

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// THD is the side's total harmonic distortion at the fundamental f Hz, the mean over its seatings,
// with the standard uncertainty of that mean; that of a single seating is the noise's alone, and has
// no degrees of freedom. Where a seating does not tell it from its floor neither does the mean, and
// the bound is the highest of the seatings'. The level is left open.
func (s *Side) THD(relative distortion.Relative, f float64) target.THD {
	out := target.THD{Frequency: f, Level: math.NaN(), Bound: math.Inf(-1),
		Percent: response.Figure{Value: math.NaN(), Uncertainty: math.NaN(), Unit: "%"}}
	var percents []float64
	for _, r := range s.Seatings {
		figure := r.Harmonics.THD(relative).Figure(f)
		if math.IsNaN(figure.Level) {
			continue
		}
		value := percent(figure.Level)
		percents = append(percents, value)
		// A small relative change of x is x ln(10)/20 for each dB.
		out.Percent.Uncertainty = value * math.Ln10 / 20 * figure.Uncertainty
		out.Below = out.Below || figure.Below
		out.Bound = max(out.Bound, percent(figure.Bound())) // not known where one is not
	}
	switch n := len(percents); {
	case n == 0:
		out.Bound = math.NaN()
	case n == 1:
		out.Percent.Value = percents[0]
	default:
		var sd float64
		out.Percent.Value, sd = stat.MeanStdDev(percents, nil)
		out.Percent.Uncertainty, out.Percent.DegreesOfFreedom = sd/math.Sqrt(float64(n)), float64(n-1)
	}
	return out
}

func percent(level float64) float64 { return 100 * math.Pow(10, level/20) }

// THDByOctave is THD at octaves of 1 kHz, from 62.5 Hz to 8 kHz.
func (s *Side) THDByOctave(relative distortion.Relative) []target.THD {
	var out []target.THD
	for _, f := range response.LogGrid(50, 8000, 1) {
		out = append(out, s.THD(relative, f))
	}
	return out
}

// thd has total harmonic distortion of the worse side at octaves of 1 kHz.
func (r *Results) thd(relative distortion.Relative) []target.THD {
	sound := math.NaN()
	if r.Sound != nil && r.Sound.SweepLevel.Known() {
		sound = r.Sound.SweepLevel.Value
	}
	var out []target.THD
	for _, f := range response.LogGrid(50, 8000, 1) {
		var worst target.THD
		for _, side := range r.Sides() {
			if t := side.THD(relative, f); t.Percent.Known() && !(t.Percent.Value <= worst.Percent.Value) {
				worst = t
			}
		}
		if worst.Frequency > 0 {
			worst.Level = sound
			out = append(out, worst)
		}
	}
	return out
}
