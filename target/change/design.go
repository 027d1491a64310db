package change

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// model is a straight-line model of what was measured: a level for each condition, one for each
// placement or day that conditions share, and a drift in the order of the seatings,
//
//	y_i = μ_condition(i) + β_block(i) + δ·i + e_i.
//
// The least-squares fit gives every difference of two conditions as a weighted sum of the seatings;
// the residuals give the scatter. Without blocks and drift it is the analysis of variance in one
// way; with two conditions in every block it is the paired t-test.
type model struct {
	inverse   *mat.Dense // the pseudo-inverse of the design, parameters × seatings
	design    *mat.Dense
	rest      *mat.Dense // the matrix from levels to residuals, seatings × seatings
	freedom   float64
	levels    *mat.Dense // seatings × frequencies
	condition []int
	apart     bool // the conditions share no block
}

// newModel fits the levels of curves on one grid. Conditions and blocks are counted from 0; a block
// of −1 is none.
func newModel(curves [][]float64, condition, block []int, drift bool) *model {
	n, conditions := len(curves), slices.Max(condition)+1
	columns := conditions + slices.Max(block) + 1
	if drift {
		columns++
	}
	m := &model{design: mat.NewDense(n, columns, nil), levels: mat.NewDense(n, len(curves[0]), nil),
		condition: condition, apart: slices.Max(block) < 0}
	for i, c := range curves {
		m.levels.SetRow(i, c)
		m.design.Set(i, condition[i], 1)
		if block[i] >= 0 {
			m.design.Set(i, conditions+block[i], 1)
		}
		if drift {
			m.design.Set(i, columns-1, float64(i)-float64(n-1)/2)
		}
	}
	var svd mat.SVD
	svd.Factorize(m.design, mat.SVDThin)
	values := svd.Values(nil)
	rank := 0
	for rank < len(values) && values[rank] > 1e-9*values[0] {
		rank++
	}
	var u, v mat.Dense
	svd.UTo(&u)
	svd.VTo(&v)
	m.inverse, m.rest = mat.NewDense(columns, n, nil), mat.NewDense(n, n, nil)
	for k := range rank {
		m.inverse.RankOne(m.inverse, 1/values[k], v.ColView(k), u.ColView(k))
	}
	m.rest.Mul(m.design, m.inverse)
	m.rest.Scale(-1, m.rest)
	for i := range n {
		m.rest.Set(i, i, m.rest.At(i, i)+1)
	}
	m.freedom = float64(n - rank)
	return m
}

// weights returns the weights of the seatings in condition b minus condition a. It returns nil if
// the design cannot separate the conditions from blocks or drift.
func (m *model) weights(a, b int) []float64 {
	_, columns := m.design.Dims()
	contrast := mat.NewVecDense(columns, nil)
	contrast.SetVec(a, -1)
	contrast.SetVec(b, 1)
	var w, back mat.VecDense
	w.MulVec(m.inverse.T(), contrast)
	back.MulVec(m.design.T(), &w)
	if !mat.EqualApprox(&back, contrast, 1e-9) {
		return nil
	}
	return w.RawVector().Data
}

// estimate returns condition b minus condition a. It returns nil if the design cannot separate
// them. Without degrees of freedom only the level is known.
func (m *model) estimate(a, b int) *estimate {
	weights := m.weights(a, b)
	if weights == nil {
		return nil
	}
	var level mat.VecDense
	level.MulVec(m.levels.T(), mat.NewVecDense(len(weights), weights))
	e := &estimate{level: level.RawVector().Data, freedom: m.freedom, groups: []group{{freedom: m.freedom}}}
	if m.freedom == 0 {
		return e
	}
	residuals := m.residuals()
	factor := floats.Norm(weights, 2) / math.Sqrt(m.freedom)
	e.variance = make([]float64, len(e.level))
	for i := range weights {
		effect := floats.ScaleTo(make([]float64, len(e.level)), factor, residuals.RawRowView(i))
		for p, v := range effect {
			e.variance[p] += v * v
		}
		e.effects = append(e.effects, effect)
	}
	e.turns = turning(e.effects, e.freedom)
	if m.apart {
		m.guard(e, a, b, weights, residuals)
	}
	return e
}

// residuals returns the residual of each seating after the fit.
func (m *model) residuals() *mat.Dense {
	var out mat.Dense
	out.Mul(m.rest, m.levels)
	return &out
}

// estimate is one condition less another, with the scatter of the seatings.
type estimate struct {
	level []float64 // dB
	// variance of level by the scatter, and effects of the seatings. Student's interval from the
	// effects and freedom is that of one frequency; with unequal scatter it is Welch's.
	variance, turns []float64
	effects         [][]float64
	freedom         float64
	groups          []group
}

// scatter is the scatter of the seatings as a component of the uncertainty.
func (e *estimate) scatter() response.CurveComponent {
	return response.CurveComponent{Cause: response.Cause{Name: response.ScatterOfSeatings, CommonTo: response.OnePair,
		DegreesOfFreedom: e.freedom, Estimate: statistic.Fingerprint(e.effects...)}, Effects: e.effects}
}

// known returns a mean with all components of its uncertainty except the scatter of its seatings.
func known(c response.Curve) response.Curve {
	c.Components = slices.DeleteFunc(append([]response.CurveComponent{}, c.Components...),
		func(one response.CurveComponent) bool { return one.Name == response.ScatterOfSeatings })
	return c.Refreshed()
}

// single reports whether the seatings are independent: the conditions share no block and no drift.
func single(block []int, drift bool) bool { return !drift && slices.Max(block) < 0 }
