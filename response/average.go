package response

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
)

// Average is the average of several curves of the same thing, such as the same pair put on the rig
// several times.
type Average struct {
	// Level is the mean of the levels in dB. Its uncertainty is the standard uncertainty of that
	// mean, spread/√n (JCGM 100:2008, 4.2.3), together with the components that its curves share.
	// For a single curve, whose spread is not known, it has the components of that curve, and is
	// nil without any.
	Level Curve
	// Power is the mean of the powers as a level in dB. It lies above Level where the curves
	// differ.
	Power Curve
	// Spread is the sample standard deviation of the levels in dB per frequency; nil for a single
	// curve.
	Spread []float64
	// Count is the number of curves.
	Count int
	// Outliers are the curves that differ from the others. They are named, not left out.
	Outliers []Outlier
	// Stragglers are the curves that differ from the others less surely than outliers do: in up to
	// a fifth of sound sessions there is one by chance (ISO 5725-2 has the word, from memory).
	Stragglers []Outlier
}

// AverageOf averages curves on the grid of the first, where all are known. Curves of two rigs give
// ErrOtherRig.
//
// The scatter of the curves becomes a component with n − 1 degrees of freedom. The i-th effect is
// (c_i − mean)/√(n(n−1)), so that any quantity that is linear in the curve has the standard error
// of that quantity over the single curves, whatever the correlation along frequency. Components
// that are common to more than one seating are kept; those of one seating show in the scatter
// already. An uncertainty that is stated without components is not kept.
func AverageOf(curves []Curve) (*Average, error) {
	if len(curves) == 0 {
		return nil, errors.New("response: nothing to average; give at least one curve")
	}
	levels, mean, err := aligned(curves)
	if err != nil {
		return nil, err
	}
	mean.Uncertainty, mean.Components = nil, nil
	a := &Average{Count: len(curves), Level: mean.clone(), Power: mean.clone()}
	if len(curves) > 1 {
		a.Spread = make([]float64, len(mean.Frequency))
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
	}
	if all := a.scatter(levels, carried(curves, mean.Frequency)); all != nil {
		a.Level = a.Level.withComponents(all)
	}
	a.Outliers, a.Stragglers = outliers(mean, levels)
	return a, nil
}

// scatter appends the scatter of the curves to other components.
func (a *Average) scatter(levels [][]float64, others []CurveComponent) []CurveComponent {
	n := float64(a.Count)
	if n < 2 {
		return others
	}
	added := CurveComponent{Cause: Cause{Name: ScatterOfSeatings, CommonTo: OneSide, DegreesOfFreedom: n - 1},
		Effects: make([][]float64, len(levels))}
	for k, level := range levels {
		effect := floats.SubTo(make([]float64, len(level)), level, a.Level.Level)
		floats.Scale(1/math.Sqrt(n*(n-1)), effect)
		added.Effects[k] = effect
	}
	added.Key = statistic.Fingerprint(added.Effects...)
	added.Estimate = added.Key
	return append(others, added)
}

// MeanLevel returns the mean level in dB of curves of different things, such as the two sides of a
// pair, on the grid of the first. Its uncertainty combines theirs as Add does; it is nil if any
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
	if mean.Components != nil {
		return mean.withComponents(addComponents(nil, 1/n, mean.Components)), nil
	}
	floats.Scale(1/n, mean.Uncertainty)
	return mean, nil
}

// carried returns the mean of the components of curves, without those that show in their scatter.
func carried(curves []Curve, frequency []float64) (all []CurveComponent) {
	for _, c := range curves {
		own := c.Resample(frequency).Components
		if len(curves) > 1 {
			own = slices.DeleteFunc(slices.Clone(own), func(one CurveComponent) bool { return one.CommonTo == OneSeating })
		}
		all = addComponents(all, 1/float64(len(curves)), own)
	}
	return all
}

// aligned resamples the curves to the grid of the first. The returned curve has that grid and the
// band that all share.
func aligned(curves []Curve) ([][]float64, Curve, error) {
	shared := curves[0]
	levels := make([][]float64, len(curves))
	for k, c := range curves {
		if c.Rig != shared.Rig {
			return nil, Curve{}, fmt.Errorf("response: %w: %q and %q; average curves of one rig",
				ErrOtherRig, shared.Rig, c.Rig)
		}
		shared.Valid = shared.Valid.Intersect(c.Valid)
		levels[k] = c.Resample(shared.Frequency).Level
	}
	return levels, shared, nil
}
