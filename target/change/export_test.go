package change

import (
	"errors"
	"math"

	"example.com/earnest/response"
)

var (
	Analyse = analyse
	Relabel = relabel
)

// light is a comparison of two conditions without the figures, a tenth of the work of Compare.
type light struct {
	c    *comparison
	d    *design
	diff response.Curve
	e    *estimate
}

func newLight(seatings []Seating, o Config) (l light) {
	var err [2]error
	l.c, err[0] = newComparison(seatings, o.withDefaults())
	l.d, err[1] = l.c.design(l.c.response, "dB")
	if err := errors.Join(err[:]...); err != nil {
		panic(err)
	}
	l.e = l.d.model.estimate(0, 1)
	l.diff = response.Curve{Frequency: l.c.grid, Level: l.e.level, Valid: response.AllFrequencies,
		Components: []response.CurveComponent{l.e.scatter()}}.Refreshed()
	return l
}

// Pointwise returns the change at a frequency in Hz, and the largest that is left possible.
func Pointwise(seatings []Seating, o Config, f float64) (response.Figure, float64) {
	l := newLight(seatings, o)
	c := Change{Simultaneous: make([]float64, len(l.diff.Level))}
	c.Curve = l.diff
	c.look(l.c.Confidence)
	return l.diff.Figure(f), c.Possible
}

// Called reports whether there is a change anywhere in the band (f is NaN) or at a frequency in Hz,
// by the simultaneous band. It ends a simulation as soon as the rest of it can no longer matter.
func Called(seatings []Seating, o Config, f float64) bool {
	l := newLight(seatings, o)
	alpha := 1 - l.c.Confidence
	var seen float64
	nearest := math.Inf(1)
	for p, v := range steadied(l.e.variance, make([]float64, len(l.e.level))) {
		t := math.Abs(l.e.level[p]) / math.Sqrt(v)
		if away := math.Abs(math.Log(l.c.grid[p] / f)); math.IsNaN(f) {
			seen = max(seen, t)
		} else if away < nearest {
			nearest, seen = away, t
		}
	}
	if l.e.freedom == 1 {
		t, _ := l.e.largest(alpha)
		return seen > t
	}
	var n, beyond int
	newFields(l.e.turns).each(l.e.groups, func(t, _ float64) bool {
		n++
		if t >= seen {
			beyond++
		}
		return float64(beyond) <= draws*cautious*alpha && n < draws
	})
	return float64(beyond) <= draws*cautious*alpha && seen > l.d.relabelled(0, 1, alpha)
}
