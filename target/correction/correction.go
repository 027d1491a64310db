package correction

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/grid"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Correction is a set of filters and its result.
type Correction struct {
	// Filters are in order of frequency. There are none if none improves the deviation enough.
	Filters []Filter
	// Preamp is the gain in dB, zero or less, that has to precede the filters so that a full-scale
	// sine of any frequency does not clip. A programme may exceed a sine.
	Preamp float64
	// SampleRate is the rate in Hz for which the filters were fitted.
	SampleRate int
	// Level is the gain of the filters in dB, without Preamp.
	Level response.Curve
	// Before and After are the deviations from the target without and with the filters; a plot
	// shows their curves.
	Before, After target.Deviation
	// NewSeating is the rms deviation in dB to expect with the filters in a seating to which they
	// were not fitted. It is the mean over the seatings, each judged through filters that were
	// fitted to the others. It includes the errors of microphone and rig, which the filters
	// equalise too. After is too favourable, since the filters were fitted to its seatings.
	// NewSeating is not known with a single seating.
	NewSeating response.Figure
	// UnfilledDips are the narrow dips that were not filled.
	UnfilledDips []response.Band
	// Warnings are sentences to show beside the filters wherever they are shown.
	Warnings []string
}

// Fit finds filters, within limits, that bring the mean of a pair's seatings nearer to a target.
// The configuration o says how it is judged. Its band is the band to correct, as far as both curves
// are known, and its weights say where the correction matters most.
func Fit(seatings []response.Curve, t target.Target, o target.Config, c Config) (Correction, error) {
	c = c.withDefaults()
	if err := c.check(); err != nil {
		return Correction{}, fmt.Errorf("correction: %w", err)
	}
	k, err := fit(seatings, t, o, c)
	if err != nil {
		return Correction{}, fmt.Errorf("correction: %w", err)
	}
	k.Preamp = preamp(k.Filters, c.SampleRate)
	if k.After, k.Level, err = k.through(seatings, t, o); err != nil {
		return Correction{}, fmt.Errorf("correction: %w", err)
	}
	k.Warnings = k.After.Warnings
	k.NewSeating = newSeating(seatings, t, o, c)
	return k, nil
}

// through returns the deviation of seatings through the filters, and the gain of the filters.
func (k Correction) through(
	seatings []response.Curve, t target.Target, o target.Config) (target.Deviation, response.Curve, error) {
	level, err := levelCurve(k.Filters, k.SampleRate, seatings)
	if err != nil {
		return target.Deviation{}, level, err
	}
	corrected := make([]response.Curve, len(seatings))
	for i, s := range seatings {
		if corrected[i], err = s.Add(level); err != nil {
			return target.Deviation{}, level, err
		}
		corrected[i].Uncertainty = s.Uncertainty // a filter is exact
	}
	d, err := target.CompareSeatings(corrected, t, o)
	return d, level, err
}

// fit finds the filters for the mean of seatings.
func fit(seatings []response.Curve, t target.Target, o target.Config, c Config) (Correction, error) {
	before, err := target.CompareSeatings(seatings, t, o)
	if err != nil {
		return Correction{}, err
	}
	ft, dips := prepare(before, o.Weight, c)
	k := Correction{SampleRate: c.SampleRate, Before: before, UnfilledDips: dips, Filters: ft.fit()}
	slices.SortFunc(k.Filters, func(a, b Filter) int { return cmp.Compare(a.Frequency, b.Frequency) })
	return k, nil
}

// gridPerOctave is the number of points per octave at which the wanted gain is sampled.
const gridPerOctave = 24

// prepare samples the gain that the filters should have.
func prepare(d target.Deviation, w func(float64) float64, c Config) (*fitter, []response.Band) {
	if w == nil {
		w = target.PerOctave
	}
	band := d.Band.Intersect(response.Band{Low: 1, High: 0.98 * float64(c.SampleRate) / 2})
	f := response.LogGrid(band.Low, band.High, gridPerOctave)
	wanted, weight := make([]float64, len(f)), make([]float64, len(f))
	for i, at := range f {
		if v := d.Curve.At(at); !math.IsNaN(v) {
			wanted[i], weight[i] = -v, w(at)
		}
	}
	dips := excludeNarrowDips(f, wanted, weight)
	step := 1
	if c.MaxQ <= coarseQ {
		step = 2
	}
	ft := &fitter{Config: c}
	for i := 0; i < len(f); i += step {
		ft.phase, ft.wanted, ft.root = append(ft.phase, phase(f[i], c.SampleRate)), append(ft.wanted, wanted[i]),
			append(ft.root, math.Sqrt(weight[i]))
	}
	if norm := floats.Norm(ft.root, 2); norm > 0 {
		floats.Scale(1/norm, ft.root)
	}
	return ft, dips
}

// coarseQ is the largest Q for which half as many points represent a filter: the bandwidth of a Q
// of 5 is 0.29 octaves.
const coarseQ = 5

// Narrow dips: a wanted gain that rises by more than deep dB above that a quarter of an octave
// about it is left out, over the range in which it rises by more than shallow.
const (
	narrowOctaves = 0.25
	deep          = 3
	shallow       = 0.5
)

// excludeNarrowDips sets the weight of narrow dips of the response to zero, and returns their
// bands. The wanted gain without its narrow peaks is its morphological opening: the largest, over
// all windows that contain a point, of the smallest value in the window.
func excludeNarrowDips(f, wanted, weight []float64) []response.Band {
	const window = int(narrowOctaves * gridPerOctave)
	n := len(f)
	least, opened := make([]float64, n), make([]float64, n)
	for i := range f {
		least[i] = slices.Min(wanted[max(0, i-window/2):min(n, i+window/2+1)])
	}
	for i := range f {
		opened[i] = slices.Max(least[max(0, i-window/2):min(n, i+window/2+1)])
	}
	var alone []response.Band
	for i := 0; i < n; i++ {
		if !(wanted[i]-opened[i] > deep) || weight[i] == 0 {
			continue
		}
		from, to := i, i
		for from > 0 && wanted[from-1]-opened[from-1] > shallow {
			from--
		}
		for to+1 < n && wanted[to+1]-opened[to+1] > shallow {
			to++
		}
		for k := from; k <= to; k++ {
			weight[k] = 0
		}
		alone = append(alone, response.Band{Low: f[max(0, from-1)], High: f[min(n-1, to+1)]})
		i = to
	}
	return alone
}

// levelCurve returns the gain of the filters at the points of the seatings, and at 48 points to the
// octave. The error wraps ErrTooHigh if the seatings have no point up to half the sample rate.
func levelCurve(filters []Filter, sampleRate int, seatings []response.Curve) (response.Curve, error) {
	top := float64(sampleRate) / 2
	var own []float64
	for _, s := range seatings {
		own = append(own, s.Frequency...)
	}
	at := grid.Union(0, top, own, response.LogGrid(slices.Min(own), min(top, slices.Max(own)), 48))
	if len(at) == 0 {
		return response.Curve{}, fmt.Errorf("responses from %s up are %w of %s; use a higher sample rate",
			response.FormatFrequency(slices.Min(own)), ErrTooHigh, response.FormatFrequency(float64(sampleRate)))
	}
	c := response.Curve{Frequency: at, Level: make([]float64, len(at)), Uncertainty: make([]float64, len(at)),
		Reference: "unity gain",
		Valid:     response.Band{Low: at[0], High: at[len(at)-1]}}
	level := series(filters, sampleRate)
	for i, f := range at {
		c.Level[i] = level(f)
	}
	return c, nil
}

// preamp returns the gain in dB, zero or less, that keeps a sine within full scale.
func preamp(filters []Filter, sampleRate int) float64 {
	top := float64(sampleRate) / 2
	grid := append(response.LogGrid(1, top, 96), 0, top)
	for _, f := range filters {
		grid = append(grid, f.Frequency)
	}
	level := series(filters, sampleRate)
	var most, where float64
	for _, f := range grid {
		if v := level(f); v > most {
			most, where = v, f
		}
	}
	// The peak lies within a step of the highest point.
	for step := math.Exp2(1. / 96); step > 1+1e-6; step = math.Sqrt(step) {
		for _, f := range []float64{where / step, min(where*step, top)} {
			if v := level(f); v > most {
				most, where = v, f
			}
		}
	}
	return 0 - most // −0 looks odd
}
