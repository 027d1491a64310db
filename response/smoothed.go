package response

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/smoothing"
)

// Smoothed is the level in dB of the mean power over 1/fraction octave about
// each frequency of the grid (Hz, ascending), from the bins of the valid band
// and the one beyond each of its ends. See package smoothing for how the mean is
// weighed, and for its errors. Frequencies outside the valid band are not known.
func (t *Transfer) Smoothed(grid []float64, fraction float64) (Curve, error) {
	return t.smoothed(grid, func(bins []float64) (*smoothing.Plan, error) {
		return smoothing.NewOctaveAt(bins, grid, fraction)
	})
}

// SmoothedERB is Smoothed over factor times the equivalent rectangular
// bandwidth of hearing.
func (t *Transfer) SmoothedERB(grid []float64, factor float64) (Curve, error) {
	return t.smoothed(grid, func(bins []float64) (*smoothing.Plan, error) {
		return smoothing.NewERBAt(bins, grid, factor)
	})
}

func (t *Transfer) smoothed(grid []float64, newPlan func(bins []float64) (*smoothing.Plan, error)) (Curve, error) {
	first, end := t.bracketingBins()
	if end-first < 2 {
		return Curve{}, fmt.Errorf("response: nothing to smooth: the response is known %v", t.Valid)
	}
	bins, power := make([]float64, end-first), make([]float64, end-first)
	for i := range power {
		a := cmplx.Abs(t.Bins[first+i])
		bins[i], power[i] = t.Frequency(first+i), a*a
	}
	plan, err := newPlan(bins)
	if err != nil {
		return Curve{}, fmt.Errorf("response: %w", err)
	}
	level := plan.Power(nil, power)
	for i, p := range level {
		level[i] = math.NaN()
		if t.Valid.holds(grid[i]) {
			level[i] = decibel(p) / 2
		}
	}
	return Curve{Frequency: grid, Level: level, Reference: t.Reference, Rig: t.Rig, Valid: t.Valid}, nil
}
