package response

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/internal/decibel"
)

// Average is the average of several curves of the same thing, such as the same pair put on the rig
// several times.
type Average struct {
	// Level is the mean of the levels in dB. Its uncertainty is the standard uncertainty of that
	// mean, spread/√n (JCGM 100:2008, 4.2.3); it is nil for a single curve, whose spread is not
	// known.
	Level Curve
	// Power is the mean of the powers as a level in dB; it lies above Level wherever the curves
	// differ.
	Power Curve
	// Spread is the sample standard deviation of the levels in dB per frequency; nil for a single
	// curve.
	Spread []float64
	// Count is how many curves were averaged.
	Count int
	// Outliers are the curves that differ from the others. They are named, not left out.
	Outliers []Outlier
}

// AverageOf averages curves on the grid of the first, where all are known. Curves of two rigs give
// ErrOtherRig.
//
// The uncertainty of the curves is not carried over. Its random part shows in their spread; errors
// that they have in common, such as that of a microphone's calibration, do not average out and
// belong to the average, by Add or Sub.
func AverageOf(curves []Curve) (*Average, error) {
	if len(curves) == 0 {
		return nil, errors.New("response: nothing to average; give at least one curve")
	}
	levels, mean, err := aligned(curves)
	if err != nil {
		return nil, err
	}
	mean.Uncertainty = nil
	a := &Average{Count: len(curves), Level: mean.clone(), Power: mean.clone()}
	if len(curves) > 1 {
		a.Spread, a.Level.Uncertainty = make([]float64, len(mean.Frequency)), make([]float64, len(mean.Frequency))
	}
	column := make([]float64, len(curves))
	for i := range mean.Frequency {
		var power float64
		for k := range levels {
			column[k] = levels[k][i]
			power += decibel.Power(column[k]) / float64(len(curves))
		}
		a.Power.Level[i] = decibel.OfPower(power)
		if a.Spread == nil {
			a.Level.Level[i] = column[0]
			continue
		}
		a.Level.Level[i], a.Spread[i] = stat.MeanStdDev(column, nil)
		a.Level.Uncertainty[i] = a.Spread[i] / math.Sqrt(float64(len(curves)))
	}
	a.Outliers = outliers(mean, levels)
	return a, nil
}

// Confidence returns the half width in dB, per frequency, of the interval that holds the true mean
// with the given probability, such as 0.95: Student's t with n−1 degrees of freedom times spread/√n
// (JCGM 100:2008, G.3). It is nil for a single curve, and panics unless 0 < probability < 1.
func (a *Average) Confidence(probability float64) []float64 {
	checkProbability(probability)
	if a.Spread == nil {
		return nil
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(a.Count - 1)}.Quantile((1 + probability) / 2)
	half := make([]float64, len(a.Spread))
	for i, s := range a.Spread {
		half[i] = t * s / math.Sqrt(float64(a.Count))
	}
	return half
}

// MeanLevel is the mean level in dB of curves of different things, such as the two sides of a pair,
// on the grid of the first. Its uncertainty combines theirs as independent ones; it is nil if any
// curve has none.
func MeanLevel(curves ...Curve) (Curve, error) {
	if len(curves) == 0 {
		return Curve{}, errors.New("response: nothing to average; give at least one curve")
	}
	sum := curves[0]
	for _, c := range curves[1:] {
		var err error
		if sum, err = sum.Add(c); err != nil {
			return Curve{}, err
		}
	}
	n := float64(len(curves))
	mean := sum.clone()
	floats.Scale(1/n, mean.Level)
	floats.Scale(1/n, mean.Uncertainty)
	return mean, nil
}

// aligned brings the curves to the grid of the first; the curve returned has that grid and the band
// that all share.
func aligned(curves []Curve) ([][]float64, Curve, error) {
	shared := curves[0]
	levels := make([][]float64, len(curves))
	for k, c := range curves {
		if c.Rig != shared.Rig {
			return nil, Curve{}, fmt.Errorf("response: %w: %q and %q; average what was measured on one", ErrOtherRig, shared.Rig, c.Rig)
		}
		shared.Valid = shared.Valid.Intersect(c.Valid)
		levels[k] = c.Resample(shared.Frequency).Level
	}
	return levels, shared, nil
}
