package change

import (
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"example.com/earnest/internal/statistic"
)

const (
	// unlike is the ratio of variances, over an octave to either side, above which two conditions
	// are not taken to scatter alike. With two seatings chance alone passes it often, so that their
	// intervals are wider; but a guard that passes more lets one condition that scatters three
	// times as much as the other look like a change in 11 % of comparisons. The least and the
	// largest of several conditions differ more by chance.
	unlike, unlikeOfSeveral = 2, 4

	octave = perOctave // points to either side
)

// guard changes the estimate at frequencies where two conditions scatter unequally. There the
// variance comes from the two compared conditions alone, each with its own scatter, and the
// interval is Welch's (Biometrika 34, 1947), with degrees of freedom from the variances over an
// octave to either side. It is for seatings that share no placement and no day.
func (m *model) guard(e *estimate, a, b int, weights []float64, residuals *mat.Dense) {
	squares, freedom, factors := m.within(weights, residuals)
	if freedom[a] < 1 || freedom[b] < 1 {
		return // only the other conditions show its scatter
	}
	points := len(e.level)
	var least, largest []float64
	wide := make([][]float64, len(squares))
	for c, square := range squares {
		if freedom[c] < 1 {
			continue
		}
		wide[c] = around(square, octave)
		floats.Scale(1/freedom[c], wide[c])
		if least == nil {
			least, largest = slices.Clone(wide[c]), slices.Clone(wide[c])
		}
		for p, v := range wide[c] {
			least[p], largest[p] = min(least[p], v), max(largest[p], v)
		}
	}
	alike := e.groups
	e.groups = []group{{freedom[a], make([]float64, points)}, {freedom[b], make([]float64, points)},
		{e.freedom - freedom[a] - freedom[b], make([]float64, points)}}
	ratio := float64(unlike)
	if len(squares) > 2 {
		ratio = unlikeOfSeveral
	}
	everywhere := true
	for p := range points {
		if largest[p] <= ratio*least[p] {
			for k := range e.groups {
				e.groups[k].weight[p] = e.groups[k].freedom / e.freedom
			}
			continue
		}
		everywhere = false
		one, other := wide[a][p]*factors[a], wide[b][p]*factors[b]
		share := one / (one + other)
		if one+other == 0 { // and a third condition scatters
			share = 0.5
		}
		e.groups[0].weight[p], e.groups[1].weight[p] = share, 1-share
		welch := 1 / (share*share/freedom[a] + (1-share)*(1-share)/freedom[b])
		scale := student(welch) / student(e.freedom)
		e.variance[p] = squares[a][p]/freedom[a]*factors[a] + squares[b][p]/freedom[b]*factors[b]
		for i, c := range m.condition {
			factor := 0.0
			if c == a || c == b {
				factor = scale * math.Sqrt(factors[c]/freedom[c])
			}
			e.effects[i][p] = factor * residuals.At(i, p)
		}
	}
	if everywhere {
		e.groups = alike
	}
}

// within returns the sum of the squares of each condition's residuals, their degrees of freedom,
// and the factor from the condition's variance to that of the difference. With a drift, the degrees
// of freedom are the trace of the condition's part of the residual matrix, an approximation, since
// the residuals then depend a little on the other condition.
func (m *model) within(weights []float64, residuals *mat.Dense) (squares [][]float64, freedom, factors []float64) {
	for i, c := range m.condition {
		for len(squares) <= c {
			squares = append(squares, make([]float64, len(residuals.RawRowView(i))))
			freedom, factors = append(freedom, 0), append(factors, 0)
		}
		for p, v := range residuals.RawRowView(i) {
			squares[c][p] += v * v
		}
		freedom[c] += m.rest.At(i, i)
		factors[c] += weights[i] * weights[i]
	}
	for c, v := range freedom { // without a drift these are whole numbers
		if whole := math.Round(v); math.Abs(v-whole) < 1e-9 {
			freedom[c] = whole
		}
	}
	return squares, freedom, factors
}

// stepsPerOctave is the number of entries per octave of degrees of freedom in the table of
// Student's quantile.
const stepsPerOctave = 32

// student returns the 97.5 % quantile of Student's t, accurate to 0.02 %. It interpolates the
// reciprocal, which is nearly linear between the entries of the table.
func student(freedom float64) float64 {
	at := stepsPerOctave * math.Log2(freedom)
	table := students()
	k := int(max(0, at))
	if k+1 >= len(table) {
		return quantile(freedom)
	}
	share := at - float64(k)
	return 1 / ((1-share)/table[k] + share/table[k+1])
}

var students = sync.OnceValue(func() (table []float64) {
	for k := range 7 * stepsPerOctave {
		table = append(table, quantile(math.Exp2(float64(k)/stepsPerOctave)))
	}
	return table
})

func quantile(freedom float64) float64 { return statistic.StudentQuantile(0.975, freedom) }
