package response

import (
	"fmt"
	"math/cmplx"

	"example.com/earnest/smoothing"
)

// Smoothed is the level in dB of the mean power over 1/fraction octave about
// each frequency of the grid (Hz, ascending), from the bins of the valid band.
// See package smoothing for how the mean is weighed. Frequencies outside the
// valid band are not known.
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
	first, end := t.validBins()
	if end-first < 2 {
		return Curve{}, fmt.Errorf("response: nothing to smooth: the response is known %v", t.Valid)
	}
	plan, err := newPlan(t.Frequencies())
	if err != nil {
		return Curve{}, fmt.Errorf("response: %w", err)
	}
	power := make([]float64, end-first)
	for i := range power {
		a := cmplx.Abs(t.Bins[first+i])
		power[i] = a * a
	}
	level := plan.Power(nil, power)
	for i, p := range level {
		level[i] = decibel(p) / 2
	}
	return Curve{Frequency: grid, Level: level, Reference: t.Reference, Rig: t.Rig, Valid: t.Valid}, nil
}
