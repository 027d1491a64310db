package correction

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"

	"example.com/earnest/internal/decibel"
)

// fitter finds filters whose levels add up to what is wanted, up to a constant.
type fitter struct {
	limits Limits
	f      []float64 // Hz
	phase  []float64
	weight []float64 // sums to one; zero where nothing is wanted
	wanted []float64 // dB

	// The last place that was looked at, and what is there.
	at       []float64
	residual []float64   // √weight times what is left, without its mean
	jacobian [][]float64 // of residual, per parameter
}

// gentle weighs, in dB² of mean square, what a filter's gain costs per dB², and
// a parameter's nearness to its limit. It parts filters that would only cancel
// each other, and is too small to be seen in a fit.
const gentle = 1e-5

func newFitter(l Limits, f, weight, wanted []float64) *fitter {
	ft := &fitter{limits: l, f: f, weight: weight, wanted: wanted, phase: make([]float64, len(f)), residual: make([]float64, len(f))}
	for i := range f {
		ft.phase[i] = phase(f[i], l.SampleRate)
	}
	return ft
}

// filters reads filters of the given shapes from free parameters.
func (ft *fitter) filters(shapes []Shape, u []float64) []Filter {
	out := make([]Filter, len(shapes))
	for i, shape := range shapes {
		s := ft.limits.spans(shape)
		out[i] = Filter{Shape: shape, Frequency: math.Exp2(s[0].at(u[3*i])), Gain: s[1].at(u[3*i+1]), Q: math.Exp2(s[2].at(u[3*i+2]))}
	}
	return out
}

// places is the inverse of filters.
func (ft *fitter) places(filters []Filter) []float64 {
	var u []float64
	for _, f := range filters {
		s := ft.limits.spans(f.Shape)
		u = append(u, s[0].place(math.Log2(f.Frequency)), s[1].place(f.Gain), s[2].place(math.Log2(f.Q)))
	}
	return u
}

// left is what filters leave over, in dB, without its weighted mean.
func (ft *fitter) left(filters []Filter) []float64 {
	out := make([]float64, len(ft.f))
	copy(out, ft.wanted)
	for _, f := range filters {
		p := polynomials(f, ft.limits.SampleRate)
		for k, at := range ft.phase {
			if ft.weight[k] > 0 {
				out[k] -= p.level(at)
			}
		}
	}
	ft.level(out)
	return out
}

// level takes the weighted mean off.
func (ft *fitter) level(v []float64) {
	var mean float64
	for k, w := range ft.weight {
		mean += w * v[k]
	}
	for k := range v {
		v[k] -= mean
	}
}

// rms of what filters leave over.
func (ft *fitter) rms(filters []Filter) float64 {
	var sum float64
	for k, v := range ft.left(filters) {
		sum += ft.weight[k] * v * v
	}
	return math.Sqrt(sum)
}

// look computes residual and jacobian at a place.
func (ft *fitter) look(shapes []Shape, u []float64) {
	if len(ft.at) == len(u) {
		same := true
		for i := range u {
			same = same && ft.at[i] == u[i]
		}
		if same {
			return
		}
	}
	ft.at = append(ft.at[:0], u...)
	for len(ft.jacobian) < len(u) {
		ft.jacobian = append(ft.jacobian, make([]float64, len(ft.f)))
	}
	copy(ft.residual, ft.wanted)
	for i, f := range ft.filters(shapes, u) {
		s := ft.limits.spans(f.Shape)
		ft.add(f, s, u[3*i:3*i+3], ft.jacobian[3*i:3*i+3])
	}
	ft.level(ft.residual)
	for _, column := range ft.jacobian[:len(u)] {
		ft.level(column)
	}
}

// add takes one filter's level from the residual and fills the columns of its
// three parameters. The polynomials of |H|² are differentiated by central
// differences, their ratio in closed form.
func (ft *fitter) add(f Filter, s [3]span, u []float64, columns [][]float64) {
	const step = 1e-4
	p := polynomials(f, ft.limits.SampleRate)
	var change [3]ratio
	for i := range change {
		up, down := f, f
		switch i {
		case 0:
			up.Frequency, down.Frequency = f.Frequency*math.Exp2(step), f.Frequency*math.Exp2(-step)
		case 1:
			up.Gain, down.Gain = f.Gain+step, f.Gain-step
		case 2:
			up.Q, down.Q = f.Q*math.Exp2(step), f.Q*math.Exp2(-step)
		}
		a, b := polynomials(up, ft.limits.SampleRate), polynomials(down, ft.limits.SampleRate)
		for k := range change[i] {
			change[i][k] = (a[k] - b[k]) / (2 * step) * s[i].slope(u[i])
		}
	}
	for k, at := range ft.phase {
		if ft.weight[k] == 0 {
			columns[0][k], columns[1][k], columns[2][k] = 0, 0, 0
			continue
		}
		n, d := p.parts(at)
		ft.residual[k] -= decibel.OfPower(n / d)
		for i := range change {
			dn, dd := change[i].parts(at)
			columns[i][k] = -10 / math.Ln10 * (dn/n - dd/d)
		}
	}
}

// precision is how long a refinement goes on.
type precision struct {
	iterations int
	relative   float64
}

var (
	coarse = precision{15, 1e-2}
	fine   = precision{100, 1e-4}
)

// refine moves filters to the least squares, by Newton's method with the
// Gauss–Newton Hessian, and returns them with what they cost: the mean square
// in dB² that is left, and the gentle terms.
func (ft *fitter) refine(filters []Filter, p precision) ([]Filter, float64) {
	if len(filters) == 0 {
		return filters, math.Pow(ft.rms(nil), 2)
	}
	shapes := make([]Shape, len(filters))
	for i, f := range filters {
		shapes[i] = f.Shape
	}
	start := ft.places(filters)
	problem := optimize.Problem{
		Func: func(u []float64) float64 {
			ft.look(shapes, u)
			return ft.cost(shapes, u, ft.residual)
		},
		Grad: func(grad, u []float64) {
			ft.look(shapes, u)
			for i := range u {
				grad[i] = 2 * ft.dot(ft.jacobian[i], ft.residual)
			}
			ft.gentleGradient(grad, shapes, u)
		},
		Hess: func(hess *mat.SymDense, u []float64) {
			ft.look(shapes, u)
			for i := range u {
				for k := i; k < len(u); k++ {
					hess.SetSym(i, k, 2*ft.dot(ft.jacobian[i], ft.jacobian[k]))
				}
			}
			ft.gentleHessian(hess, shapes, u)
		},
	}
	result, err := optimize.Minimize(problem, start, &optimize.Settings{
		MajorIterations: p.iterations,
		Converger:       &optimize.FunctionConverge{Absolute: 1e-8, Relative: p.relative, Iterations: 3},
	}, &optimize.Newton{})
	if result == nil || err != nil && !(result.F <= ft.costAt(shapes, start)) {
		return filters, ft.costAt(shapes, start)
	}
	return ft.filters(shapes, result.X), result.F
}

func (ft *fitter) costAt(shapes []Shape, u []float64) float64 {
	ft.look(shapes, u)
	return ft.cost(shapes, u, ft.residual)
}

func (ft *fitter) dot(a, b []float64) float64 {
	var sum float64
	for k, w := range ft.weight {
		sum += w * a[k] * b[k]
	}
	return sum
}

// cost is the mean square of what is left, with the gentle terms.
func (ft *fitter) cost(shapes []Shape, u, left []float64) float64 {
	sum := ft.dot(left, left)
	for i, v := range u {
		sum += gentle * v * v / 10
		if i%3 == 1 {
			g := ft.limits.spans(shapes[i/3])[1].at(v)
			sum += gentle * g * g
		}
	}
	return sum
}

func (ft *fitter) gentleGradient(grad []float64, shapes []Shape, u []float64) {
	for i, v := range u {
		grad[i] += gentle * v / 5
		if i%3 == 1 {
			s := ft.limits.spans(shapes[i/3])[1]
			grad[i] += 2 * gentle * s.at(v) * s.slope(v)
		}
	}
}

func (ft *fitter) gentleHessian(hess *mat.SymDense, shapes []Shape, u []float64) {
	for i, v := range u {
		add := gentle / 5
		if i%3 == 1 {
			slope := ft.limits.spans(shapes[i/3])[1].slope(v)
			add += 2 * gentle * slope * slope
		}
		hess.SetSym(i, i, hess.At(i, i)+add)
	}
}
