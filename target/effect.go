package target

import (
	"fmt"
	"math"

	"example.com/earnest/internal/grid"
	"example.com/earnest/response"
)

// UncertaintyComponents are errors that do not average out over frequency or over seatings,
// such as a microphone's calibration. Each curve is one cause of error: by how
// many dB, with its sign, the response would be off everywhere at once, were
// that cause off by one standard uncertainty. The causes are independent of each
// other, so that at one frequency their squares add up to the variance, and
// between two frequencies their products add up to the covariance.
//
// The correlation matters: an error of 0.3 dB that is the same at all
// frequencies changes no tilt, one that grows with frequency does, and one that
// changes sign every third of an octave hardly does.
type UncertaintyComponents struct {
	// Name is how a report calls them: "calibration".
	Name string
	// Curves hold one standard uncertainty of each cause, in dB.
	Curves []response.Curve
	// DegreesOfFreedom is the number of degrees of freedom behind them; 0 stands for so
	// many that it does not matter, as for a certificate.
	DegreesOfFreedom float64
}

// Correlated makes effects of a curve's uncertainty when all that is known
// besides is over how many octaves an error keeps together: errors at one
// frequency and at another that many octaves away have nothing to do with each
// other. With math.Inf(1) octaves there is one error for all frequencies.
//
// Knots x_j stand that many octaves L apart, each with an error of its own that
// reaches to its neighbours as cos(π/2·|x − x_j|/L). Since cos² + sin² = 1, the
// variance is that of the curve at every frequency.
func Correlated(name string, c response.Curve, octaves float64) (UncertaintyComponents, error) {
	const least = 1. / 24
	if c.Uncertainty == nil {
		return UncertaintyComponents{}, fmt.Errorf("target: %s: the curve does not state its uncertainty; set Uncertainty", name)
	}
	if err := check(c); err != nil {
		return UncertaintyComponents{}, fmt.Errorf("target: %s: %w", name, err)
	}
	if !(octaves >= least) {
		return UncertaintyComponents{}, fmt.Errorf("target: %s: errors that keep together over %v octaves; say at least 1/24", name, octaves)
	}
	for i, u := range c.Uncertainty {
		if u < 0 || math.IsInf(u, 0) {
			return UncertaintyComponents{}, fmt.Errorf("target: %s: an uncertainty of %v dB at %s; it is finite and zero or more", name, u, response.FormatFrequency(c.Frequency[i]))
		}
	}
	e := UncertaintyComponents{Name: name}
	band := known(c)
	if math.IsInf(octaves, 1) || octaves >= band.Octaves() {
		// Within less than one step of the knots all moves together.
		e.Curves = []response.Curve{stated(c, c.Frequency, func(float64) float64 { return 1 })}
		return e, nil
	}
	at := distinct(grid.Union(0, math.Inf(1), c.Frequency, response.LogGrid(band.Low, band.High, max(24, int(math.Ceil(16/octaves))))))
	start := math.Log2(band.Low)
	for j := range int(math.Ceil(band.Octaves()/octaves)) + 1 {
		knot := start + float64(j)*octaves
		e.Curves = append(e.Curves, stated(c, at, func(f float64) float64 {
			return math.Cos(math.Pi / 2 * min(1, math.Abs(math.Log2(f)-knot)/octaves))
		}))
	}
	return e, nil
}

// stated is a curve's uncertainty times a factor, as levels.
func stated(c response.Curve, at []float64, factor func(f float64) float64) response.Curve {
	out := c
	out.Frequency, out.Level, out.Uncertainty = at, make([]float64, len(at)), nil
	for i, f := range at {
		out.Level[i] = c.UncertaintyAt(f) * factor(f)
	}
	return out
}

// scatter makes effects of how curves scatter about their mean: the i-th effect
// is (c_i − mean)/√(n(n−1)). At every frequency their squares add up to s²/n,
// the variance of the mean (JCGM 100:2008, 4.2.3), and they move any figure that
// is linear in the curve by what the figures of the single curves scatter, so
// that Student's t with n − 1 degrees of freedom holds whatever the correlation
// across frequency.
func scatter(name string, curves []response.Curve, mean response.Curve) UncertaintyComponents {
	n := float64(len(curves))
	e := UncertaintyComponents{Name: name, DegreesOfFreedom: n - 1, Curves: make([]response.Curve, len(curves))}
	for i, c := range curves {
		shift := mean
		shift.Uncertainty = nil
		shift.Level = make([]float64, len(mean.Level))
		for k, f := range mean.Frequency {
			shift.Level[k] = (c.At(f) - mean.Level[k]) / math.Sqrt(n*(n-1))
		}
		e.Curves[i] = shift
	}
	return e
}

// meanOf is the mean level of curves at the points of all, where all are known.
func meanOf(curves []response.Curve) (response.Curve, error) {
	mean := curves[0]
	if len(curves) == 1 {
		return mean, nil
	}
	grids := [][]float64{mean.Frequency}
	for i, c := range curves[1:] {
		if c.Rig != mean.Rig {
			return response.Curve{}, fmt.Errorf("seatings 1 and %d: %w: %q and %q; average what was measured on one", i+2, response.ErrOtherRig, mean.Rig, c.Rig)
		}
		mean.Valid = mean.Valid.Intersect(c.Valid)
		grids = append(grids, c.Frequency)
	}
	mean.Frequency = distinct(grid.Union(0, math.Inf(1), grids...))
	mean.Level, mean.Uncertainty = make([]float64, len(mean.Frequency)), nil
	for i, f := range mean.Frequency {
		for _, c := range curves {
			mean.Level[i] += c.At(f) / float64(len(curves))
		}
	}
	return mean, nil
}

// pooled is the standard uncertainty of independent variances together, with
// its degrees of freedom by Welch and Satterthwaite (JCGM 100:2008, G.4.1).
func pooled(parts, freedoms []float64) (u, freedom float64) {
	var square, fourth float64
	for i, v := range parts {
		square += v
		if freedoms[i] > 0 {
			fourth += v * v / freedoms[i]
		}
	}
	if fourth > 0 {
		freedom = square * square / fourth
	}
	return math.Sqrt(square), freedom
}
