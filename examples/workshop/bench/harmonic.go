package bench

import (
	"fmt"
	"math"
	"sort"
	"time"

	"example.com/earnest/distortion"
)

// ringing is the assumed decay time of the pair. It decides how many harmonics a sweep separates.
const ringing = 10 * time.Millisecond

func (r *Result) aboutHarmonics() []Remark {
	n := distortion.MaxOrders(r.Sweep, ringing)
	if n >= Orders {
		return nil
	}
	need := distortion.MinDuration(r.Sweep.Start(), r.Sweep.Stop(), Orders, ringing).Seconds()
	what := fmt.Sprintf("A sweep of %.2g s separates harmonics up to order %d if the pair rings for %d ms; "+
		"higher ones overlap.", r.Sweep.Duration(), n, ringing.Milliseconds())
	if n < 2 {
		what = fmt.Sprintf("A sweep of %.2g s separates no harmonics if the pair rings for %d ms.",
			r.Sweep.Duration(), ringing.Milliseconds())
	}
	return []Remark{{n < 3 && !math.IsInf(r.Settings.Third, -1), "Harmonics",
		what, fmt.Sprintf("Use a sweep of %.2g s to separate %d.", need, Orders)}}
}

func (r *Result) aboutSecond() []Remark {
	const f = 1000
	if r.Harmonics == nil {
		return nil // aboutHarmonics says why
	}
	figure, truth := r.Harmonics.Harmonic(2, f), r.TrueHarmonic(2, f)
	m := Remark{Topic: "Distortion"}
	switch {
	case math.IsNaN(figure.AsRead):
		return nil
	case figure.Below:
		m.Wrong = true
		m.What = fmt.Sprintf("The second harmonic at %s reads %.1f dB, but noise alone would read %.1f dB: "+
			"it is noise. The pair's own is at most %.1f dB; in truth %.1f dB.",
			hz(f), figure.AsRead, figure.Floor, figure.Bound, truth)
		m.Remedy = "Lower the noise, or sweep longer; a louder sweep distorts more as well."
	default:
		m.Wrong = math.Abs(figure.AsRead-truth) > max(1, 2*figure.Uncertainty)
		m.What = fmt.Sprintf("The second harmonic at %s reads %v, %.1f dB above the noise; in truth %.1f dB.",
			hz(f), figure, figure.AsRead-figure.Floor, truth)
	}
	return []Remark{m}
}

// TrueHarmonic returns the true level of the n-th harmonic at a fundamental of f Hz, in dB re the
// fundamental; NaN if it is not known or does not exist.
func (r *Result) TrueHarmonic(n int, f float64) float64 {
	if n < 2 || n-2 >= len(r.TrueHarmonics) {
		return math.NaN()
	}
	return at(r.Harmonics.Fundamental, r.TrueHarmonics[n-2], f)
}

// at returns the value at the point nearest to x; NaN if there is none.
func at(points, values []float64, x float64) float64 {
	i := sort.SearchFloat64s(points, x)
	if i > 0 && (i == len(points) || x-points[i-1] < points[i]-x) {
		i--
	}
	if i >= len(values) {
		return math.NaN()
	}
	return values[i]
}
