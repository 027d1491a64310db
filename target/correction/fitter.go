package correction

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"

	"example.com/earnest/internal/decibel"
)

// fitter finds filters whose levels add up to the wanted gain, up to a constant.
type fitter struct {
	Config
	phase  []float64 // of the frequencies, see phase
	wanted []float64 // dB
	root   []float64 // square root of the weight, whose sum is 1; 0 where no gain is wanted

	memory []float64 // of residuals
}

// gentle is the cost, in dB² of mean square, of a filter's gain per dB², and of a parameter near
// its limit. It separates filters that would only cancel each other, and is too small to show in a
// fit.
const gentle = 1e-5

// filters makes filters of the given shapes from free parameters.
func (ft *fitter) filters(shapes []Shape, u []float64) []Filter {
	out := make([]Filter, len(shapes))
	for i, shape := range shapes {
		s := ft.spans(shape)
		out[i] = Filter{Shape: shape, Frequency: math.Exp2(s[0].at(u[3*i])), Gain: s[1].at(u[3*i+1]),
			Q: math.Exp2(s[2].at(u[3*i+2]))}
	}
	return out
}

// places is the inverse of filters.
func (ft *fitter) places(filters []Filter) []float64 {
	var u []float64
	for _, f := range filters {
		s := ft.spans(f.Shape)
		u = append(u, s[0].place(math.Log2(f.Frequency)), s[1].place(f.Gain), s[2].place(math.Log2(f.Q)))
	}
	return u
}

// left returns the residual after the filters in dB, weighted: its norm is the rms.
func (ft *fitter) left(filters []Filter) []float64 {
	out := slices.Clone(ft.wanted)
	if len(filters) == 0 {
		return ft.weighted(out)
	}
	power := make([]float64, len(out)) // gain of all filters, as one logarithm is slower than all products
	for i := range power {
		power[i] = 1
	}
	for _, f := range filters {
		p := polynomials(f, ft.SampleRate)
		for k, at := range ft.phase {
			n, d := p.parts(at)
			power[k] *= n / d
		}
	}
	for k, root := range ft.root {
		if root > 0 {
			out[k] -= decibel.OfPower(power[k])
		}
	}
	return ft.weighted(out)
}

// weighted subtracts the weighted mean, and multiplies by the root of the weight, in place.
func (ft *fitter) weighted(v []float64) []float64 {
	var mean float64
	for k, root := range ft.root {
		mean += root * root * v[k]
	}
	for k, root := range ft.root {
		v[k] = root * (v[k] - mean)
	}
	return v
}

// rms returns the rms of the residual after the filters in dB.
func (ft *fitter) rms(filters []Filter) float64 { return floats.Norm(ft.left(filters), 2) }

// residuals returns the vector to be minimised: the residual after the filters, and the cost of
// their gains and free parameters. The columns of the second result are its derivatives with
// respect to each parameter. Both are valid until the next call.
func (ft *fitter) residuals(shapes []Shape, u []float64) ([]float64, [][]float64) {
	filters := ft.filters(shapes, u)
	n, columns := len(ft.wanted), make([][]float64, len(u))
	rows := n + len(filters) + len(u)
	ft.memory = slices.Grow(ft.memory[:0], (1+len(u))*rows)[:(1+len(u))*rows]
	clear(ft.memory)
	residual, all := ft.memory[:rows], ft.memory[rows:]
	copy(residual, ft.left(filters))
	for i := range columns {
		columns[i], all = all[:rows], all[rows:]
		residual[n+len(filters)+i], columns[i][n+len(filters)+i] = math.Sqrt(gentle/10)*u[i], math.Sqrt(gentle/10)
	}
	for i, f := range filters {
		spans := ft.spans(f.Shape)
		slopes := [3]float64{spans[0].slope(u[3*i]), spans[1].slope(u[3*i+1]), spans[2].slope(u[3*i+2])}
		ft.differentiate(f, slopes, columns[3*i:3*i+3])
		residual[n+i], columns[3*i+1][n+i] = math.Sqrt(gentle)*f.Gain, math.Sqrt(gentle)*slopes[1]
	}
	return residual, columns
}

// differentiate fills the columns of a filter's three parameters. The polynomials of |H|² are
// differentiated by central differences, their ratio in closed form.
func (ft *fitter) differentiate(f Filter, slopes [3]float64, columns [][]float64) {
	const step = 1e-4
	here := polynomials(f, ft.SampleRate)
	var changes [3]ratio
	for i := range changes {
		at := func(step float64) ratio {
			moved := f
			switch i {
			case 0:
				moved.Frequency *= math.Exp2(step)
			case 1:
				moved.Gain += step
			case 2:
				moved.Q *= math.Exp2(step)
			}
			return polynomials(moved, ft.SampleRate)
		}
		change, down := at(step), at(-step)
		for k := range change {
			change[k] = -10 / math.Ln10 * slopes[i] * (change[k] - down[k]) / (2 * step)
		}
		changes[i] = change
	}
	x, y, z := columns[0], columns[1], columns[2]
	for k, phase := range ft.phase {
		if !(ft.root[k] > 0) {
			continue
		}
		n, d := here.parts(phase)
		n, d = 1/n, 1/d
		dn, dd := changes[0].parts(phase)
		x[k] = dn*n - dd*d
		dn, dd = changes[1].parts(phase)
		y[k] = dn*n - dd*d
		dn, dd = changes[2].parts(phase)
		z[k] = dn*n - dd*d
	}
	for _, column := range columns {
		ft.weighted(column)
	}
}

var (
	coarse = precision{15, 1e-2}
	fine   = precision{100, 1e-4}
)

// refine moves filters to the least squares, by Newton's method with the Gauss–Newton Hessian. It
// returns them and their cost in dB²: the mean square of the residual, and the gentle terms.
func (ft *fitter) refine(filters []Filter, p precision) ([]Filter, float64) {
	if len(filters) == 0 {
		return filters, math.Pow(ft.rms(nil), 2)
	}
	shapes := make([]Shape, len(filters))
	for i, f := range filters {
		shapes[i] = f.Shape
	}
	var at, residual []float64 // the last point that was evaluated, and its residual
	var columns [][]float64
	look := func(u []float64) {
		if !slices.Equal(at, u) {
			at = slices.Clone(u)
			residual, columns = ft.residuals(shapes, u)
		}
	}
	problem := optimize.Problem{
		Func: func(u []float64) float64 {
			look(u)
			return floats.Dot(residual, residual)
		},
		Grad: func(grad, u []float64) {
			look(u)
			for i := range u {
				grad[i] = 2 * floats.Dot(columns[i], residual)
			}
		},
		Hess: func(hess *mat.SymDense, u []float64) {
			look(u)
			for i := range u {
				for k := i; k < len(u); k++ {
					hess.SetSym(i, k, 2*floats.Dot(columns[i], columns[k]))
				}
			}
		},
	}
	start := ft.places(filters)
	result, err := optimize.Minimize(problem, start, &optimize.Settings{
		MajorIterations: p.iterations,
		Converger:       &optimize.FunctionConverge{Absolute: 1e-8, Relative: p.relative, Iterations: 3},
	}, &optimize.Newton{})
	if cost := problem.Func(start); result == nil || err != nil && !(result.F <= cost) {
		return filters, cost
	}
	return ft.filters(shapes, result.X), result.F
}

// precision says when a refinement ends.
type precision struct {
	iterations int
	relative   float64
}
