package response

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/smoothing"
)

// Smoothed is the level in dB of the mean power over 1/fraction octave about each frequency of the
// grid (Hz, ascending), from the bins of the valid band and the one beyond each of its ends. See
// package smoothing for how the mean is weighed, and for its errors. Frequencies outside the valid
// band are not known.
func (t *Transfer) Smoothed(grid []float64, fraction float64) (Curve, error) {
	return t.smoothed(grid, func(bins []float64) (*smoothing.Plan, error) {
		return smoothing.NewOctaveAt(bins, grid, fraction)
	})
}

// SmoothedERB is Smoothed over factor times the equivalent rectangular bandwidth of hearing.
func (t *Transfer) SmoothedERB(grid []float64, factor float64) (Curve, error) {
	return t.smoothed(grid, func(bins []float64) (*smoothing.Plan, error) {
		return smoothing.NewERBAt(bins, grid, factor)
	})
}

// SmoothedPhase is the phase in radians, −π to π, of the mean of the complex response over
// 1/fraction octave about each frequency of the grid, as Smoothed is its level. Phase that turns
// within a band cancels, so take the bulk delay out first (Delayed). NaN where it is not known.
func (t *Transfer) SmoothedPhase(grid []float64, fraction float64) ([]float64, error) {
	h, plan, err := t.smoothing(func(bins []float64) (*smoothing.Plan, error) {
		return smoothing.NewOctaveAt(bins, grid, fraction)
	})
	if err != nil {
		return nil, err
	}
	phase := make([]float64, len(grid))
	for i, mean := range plan.Complex(nil, h) {
		phase[i] = math.NaN()
		if t.Valid.holds(grid[i]) && mean != 0 {
			phase[i] = cmplx.Phase(mean)
		}
	}
	return phase, nil
}

func (t *Transfer) smoothed(grid []float64, newPlan func(bins []float64) (*smoothing.Plan, error)) (Curve, error) {
	h, plan, err := t.smoothing(newPlan)
	if err != nil {
		return Curve{}, err
	}
	power := make([]float64, len(h))
	for i, v := range h {
		a := cmplx.Abs(v)
		power[i] = a * a
	}
	level := plan.Mean(nil, power)
	for i, p := range level {
		level[i] = math.NaN()
		if t.Valid.holds(grid[i]) {
			level[i] = decibel.OfPower(p)
		}
	}
	return Curve{Frequency: slices.Clone(grid), Level: level, Reference: t.Reference, Rig: t.Rig, Valid: t.Valid}, nil
}

// smoothing returns the bins of the valid band with the one beyond each end, and the plan that
// newPlan makes for their frequencies.
func (t *Transfer) smoothing(newPlan func(bins []float64) (*smoothing.Plan, error)) ([]complex128, *smoothing.Plan, error) {
	first, end := t.bracketingBins()
	if end-first < 2 {
		return nil, nil, fmt.Errorf("response: nothing to smooth: the response is known %v", t.Valid)
	}
	bins := make([]float64, end-first)
	for i := range bins {
		bins[i] = t.Frequency(first + i)
	}
	plan, err := newPlan(bins)
	if err != nil {
		return nil, nil, fmt.Errorf("response: %w", err)
	}
	return t.Bins[first:end], plan, nil
}
