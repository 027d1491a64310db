package response

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/smoothing"
)

// Smoothed returns the level in dB of the mean power over 1/fraction octave about each frequency of
// the grid (Hz, ascending), from the bins of the valid band and the one beyond each of its ends.
// See package smoothing for the weights of the mean, and for its errors. Frequencies outside the
// valid band are not known.
//
// If the noise of the response is known (Impulse.InNoise), its power is subtracted, which would
// raise a level by 0.4 dB at a signal-to-noise ratio of 10 dB. The remaining noise and the
// smoothing by the window are components of the curve.
func (t *Transfer) Smoothed(grid []float64, fraction float64) (Curve, error) {
	return t.smoothed(grid, octaveKernel(fraction))
}

// SmoothedERB is like Smoothed over factor times the equivalent rectangular bandwidth of hearing.
func (t *Transfer) SmoothedERB(grid []float64, factor float64) (Curve, error) {
	return t.smoothed(grid, kernel{
		plan:    func(bins, grid []float64) (*smoothing.Plan, error) { return smoothing.NewERB(bins, grid, factor) },
		width:   func(f float64) float64 { return factor * smoothing.ERBWidth(f) },
		octaves: max(1./24, factor/6), // of 1 kHz and above
		factor:  factor, erb: true,
	})
}

// SmoothedPhase returns the phase in radians, −π to π, of the mean of the complex response over
// 1/fraction octave about each frequency of the grid, NaN where it is not known. Smoothed gives the
// level. Phase that turns within a band cancels, so remove the bulk delay first (Delayed).
func (t *Transfer) SmoothedPhase(grid []float64, fraction float64) ([]float64, error) {
	h, _, plan, err := t.smoothing(octaveKernel(fraction), grid)
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

func (t *Transfer) smoothed(grid []float64, k kernel) (Curve, error) {
	h, bins, plan, err := t.smoothing(k, grid)
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
	c := Curve{Frequency: slices.Clone(grid), Level: level, Reference: t.Reference, Rig: t.Rig, Valid: t.Valid}
	if t.noise == nil {
		return c, nil
	}
	return t.withoutNoise(c, plan, k, power, bins)
}

// smoothing returns the bins of the valid band with the one beyond each end, their frequencies, and
// the kernel's plan.
func (t *Transfer) smoothing(
	k kernel, grid []float64) (h []complex128, bins []float64, plan *smoothing.Plan, err error) {
	first, end := t.bracketingBins()
	if end-first < 2 {
		return nil, nil, nil, fmt.Errorf("response: nothing to smooth: the response is known %v", t.Valid)
	}
	bins = make([]float64, end-first)
	for i := range bins {
		bins[i] = t.Frequency(first + i)
	}
	if plan, err = t.plan(k, grid, bins); err != nil {
		return nil, nil, nil, fmt.Errorf("response: %w", err)
	}
	return t.Bins[first:end], bins, plan, nil
}

// plan returns the plan of a kernel for the bins of the valid band with the one beyond each end.
func (t *Transfer) plan(k kernel, grid, bins []float64) (*smoothing.Plan, error) {
	first, end := t.bracketingBins()
	return planOf(smoothingKey{first, end, t.SampleRate, t.Len, k.factor, k.erb}, grid, bins, k)
}

func octaveKernel(fraction float64) kernel {
	return kernel{
		plan: func(bins, grid []float64) (*smoothing.Plan, error) {
			return smoothing.NewOctave(bins, grid, fraction)
		},
		width:   func(f float64) float64 { return 2 * f * math.Sinh(math.Ln2/2/fraction) },
		octaves: max(1./24, 1/fraction), factor: fraction,
	}
}
