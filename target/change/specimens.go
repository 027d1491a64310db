package change

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/response"
)

// Variance is the variance between specimens, separated from that between seatings. It is a one-way
// analysis of variance with random effects, from the unweighted means of the specimens (Thomas and
// Hultquist, Annals of Statistics 6, 1978; from memory). If all specimens were seated equally
// often, it is the usual analysis.
type Variance struct {
	// BetweenSquare and WithinSquare are the mean squares, in the unit squared. BetweenFreedom and
	// WithinFreedom are their degrees of freedom.
	BetweenSquare, WithinSquare   float64
	BetweenFreedom, WithinFreedom float64
	// Between is the standard deviation of specimens and Within that of seatings of one specimen.
	// The interval of Between is Williams's (Biometrika 49, 1962; from memory). They are not known
	// if no specimen was seated twice.
	Between, Within response.Figure
	// Next is the expected result of one more specimen, seated as often: the mean of all, with a
	// prediction interval.
	Next response.Figure

	often float64 // seatings of a specimen, the harmonic mean
}

// betweenEnds has the ends of the interval of Between.
type betweenEnds struct{ Variance }

func (v betweenEnds) Ends(probability float64) (low, high float64) {
	end := func(p float64) float64 {
		f := distuv.F{D1: v.BetweenFreedom, D2: v.WithinFreedom}.Quantile(p)
		chi := distuv.ChiSquared{K: v.BetweenFreedom}.Quantile(p) / v.BetweenFreedom
		return math.Sqrt(max(0, (v.BetweenSquare-v.WithinSquare*f)/(v.often*chi)))
	}
	return end((1 + probability) / 2), end((1 - probability) / 2)
}

// Specimens describes how much specimens of one model differ.
type Specimens struct {
	// Names of the specimens, in the order in which they first came.
	Names []string
	// Frequency in Hz, and the variance at each.
	Frequency []float64
	Variance  []Variance
	// Figures holds the variance of each figure by name, in the figure's unit.
	Figures map[string]Variance
	// Mean is the mean of the specimens, and Deviations are those of each specimen from it, in dB.
	Mean       response.Curve
	Deviations []response.Curve
	// Notes are sentences that belong beside the result wherever it is shown.
	Notes []string
}

// AcrossSpecimens analyses seatings whose Condition is the name of the specimen, over a band: 40 Hz
// to 10 kHz if it is zero. It needs two specimens, and one of them seated twice to separate
// specimens from seatings. Seatings of two rigs give an error that wraps [response.ErrOtherRig].
func AcrossSpecimens(seatings []Seating, over response.Band) (Specimens, error) {
	c, err := newComparison(seatings, Config{Band: cmp.Or(over, Config{}.withDefaults().Band), Random: true})
	if err != nil {
		return Specimens{}, fmt.Errorf("change: specimens: %w", err)
	}
	d, err := c.design(c.response, "dB")
	if err != nil {
		return Specimens{}, fmt.Errorf("change: specimens: %w", err)
	}
	s := Specimens{Names: c.conditions, Frequency: c.grid, Figures: map[string]Variance{}}
	groups := func(of *design, i int) [][]float64 {
		out := make([][]float64, len(c.conditions))
		for k, curve := range of.curves {
			out[of.condition[k]] = append(out[of.condition[k]], curve.Level[i])
		}
		return out
	}
	var means []response.Curve
	for i := range c.grid {
		s.Variance = append(s.Variance, analyse(groups(d, i), "dB"))
	}
	for k := range c.conditions {
		a, err := d.average(k)
		if err != nil {
			return Specimens{}, fmt.Errorf("change: specimens: %w", err)
		}
		means = append(means, a.Level)
	}
	all, err := response.AverageOf(means)
	if err != nil {
		return Specimens{}, fmt.Errorf("change: specimens: %w", err)
	}
	s.Mean = all.Level
	for _, m := range means {
		apart, err := m.Sub(s.Mean)
		if err != nil {
			return Specimens{}, fmt.Errorf("change: specimens: %w", err)
		}
		s.Deviations = append(s.Deviations, apart)
	}
	for _, name := range c.names() {
		one, err := c.design(number(name), c.unit(name))
		if errors.Is(err, errMissing) {
			continue
		} else if err != nil {
			return Specimens{}, fmt.Errorf("change: specimens: %s: %w", name, err)
		}
		s.Figures[name] = analyse(groups(one, 0), one.unit)
	}
	if !slices.ContainsFunc(d.counts, func(n int) bool { return n > 1 }) {
		s.Notes = append(s.Notes, "Every specimen was seated once: specimens cannot be separated from seatings.")
	}
	if n := len(c.conditions); n < 5 {
		s.Notes = append(s.Notes, fmt.Sprintf("%d specimens say little about all specimens of the model.", n))
	}
	return s, nil
}

// At returns the variance at the frequency nearest to f Hz.
func (s Specimens) At(f float64) Variance {
	var nearest int
	for i, at := range s.Frequency {
		if math.Abs(math.Log(at/f)) < math.Abs(math.Log(s.Frequency[nearest]/f)) {
			nearest = i
		}
	}
	return s.Variance[nearest]
}

// analyse takes the values of each specimen.
func analyse(specimens [][]float64, unit string) Variance {
	v := Variance{BetweenFreedom: float64(len(specimens) - 1)}
	var means []float64
	var inverse float64
	for _, s := range specimens {
		mean := stat.Mean(s, nil)
		for _, x := range s {
			v.WithinSquare += (x - mean) * (x - mean)
		}
		v.WithinFreedom += float64(len(s) - 1)
		means, inverse = append(means, mean), inverse+1/float64(len(s))
	}
	k := float64(len(specimens))
	mean, square := stat.MeanVariance(means, nil)
	v.often = k / inverse
	v.BetweenSquare = v.often * square
	v.WithinSquare /= v.WithinFreedom
	next := math.Sqrt(square * (1 + 1/k))
	v.Next = response.Figure{Value: mean, Uncertainty: next, DegreesOfFreedom: k - 1, Unit: unit}
	v.Between, v.Within = response.NotKnown(unit), response.NotKnown(unit)
	if v.WithinFreedom > 0 {
		// u is the standard uncertainty of the variance between specimens; u/2σ is that of the
		// standard deviation σ. Near zero, where this grows without bound, √u stands for σ.
		u := math.Sqrt(2*(v.BetweenSquare*v.BetweenSquare/v.BetweenFreedom+
			v.WithinSquare*v.WithinSquare/v.WithinFreedom)) / v.often
		between := math.Sqrt(max(0, (v.BetweenSquare-v.WithinSquare)/v.often))
		v.Between = response.Figure{Value: between, Uncertainty: u / (2 * max(between, math.Sqrt(u))),
			Unit: unit}.WithEnds(betweenEnds{v})
		within := math.Sqrt(v.WithinSquare)
		v.Within = response.Figure{Value: within, Uncertainty: within / math.Sqrt(2*v.WithinFreedom), Unit: unit}
	}
	return v
}
