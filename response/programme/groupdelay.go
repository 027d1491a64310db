package programme

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"example.com/earnest/response"
)

// excess is the excess phase of the average: its phase less the minimum phase of the known
// magnitude, whose level is held beyond the known band. The columns of the design are the phases
// that may explain it, each per unit:
//
//	column 0      a delay of a sample,       −ω
//	column j      a step of a neper at ωj outside the known band,
//	              ± 1/π ln |(tan ω/2 + tan ωj/2)/(tan ω/2 − tan ωj/2)|
//	last column   a slope of a neper per octave above the band: the steps there
//
// The second is the Hilbert relation of a step; the addition theorem of the sine turns Bode's
// closed form into tangents. From memory.
type excess struct {
	phase  []float64 // radians, unwrapped
	turned bool      // half a turn was removed
	weight []float64 // inverse variances, from noise
	design *mat.Dense
	piece  []int // the piece of the band to which each bin belongs; see divide
	// prior holds the prior standard deviations in nepers of the columns from 1 on; slope is
	// the prior mean of the last.
	prior []float64
	slope float64
}

// unwrap sets the phase without jumps of 2π. Each bin lies within π of a running mean of the bins
// below it, and the line through all bins starts within π/2 of zero. An odd number of half turns
// means that the polarity was wrong, as when the device itself inverts most of the band.
func (e *excess) unwrap(cross []complex128) {
	e.phase = make([]float64, len(cross))
	const memory = 0.8 // of the mean, per bin
	var mean complex128
	var at float64 // phase of the mean
	var sw, sx, sy, sxx, sxy float64
	for i, c := range cross {
		e.phase[i] = at + cmplx.Phase(c*cmplx.Rect(1, -at))
		next := memory*mean + c
		at += cmplx.Phase(next * cmplx.Rect(1, -at))
		mean = next
		w, x, y := e.weight[i], e.design.At(i, 0), e.phase[i]
		sw, sx, sy, sxx, sxy = sw+w, sx+w*x, sy+w*y, sxx+w*x*x, sxy+w*x*y
	}
	turns := 0.0
	if d := sw*sxx - sx*sx; d > 0 {
		turns = math.Round((sxx*sy - sx*sxy) / d / math.Pi)
		e.turned = math.Mod(turns, 2) != 0
	}
	for i := range e.phase {
		e.phase[i] -= turns * math.Pi
	}
}

// divide divides the band into pieces of at most a third of an octave, smaller where the bins hold
// much information about the delay.
func (e *excess) divide() {
	info := func(i int) float64 { return e.weight[i] * e.design.At(i, 0) * e.design.At(i, 0) }
	var all, here float64
	for i := range e.weight {
		all += info(i)
	}
	e.piece = make([]int, len(e.weight))
	first := 0
	for i := 1; i < len(e.piece); i++ {
		e.piece[i] = e.piece[i-1]
		if here += info(i - 1); here >= all/pieces || e.design.At(i, 0) < e.design.At(first, 0)*math.Cbrt(2) {
			e.piece[i]++
			first, here = i, 0
		}
	}
}

// delay returns the delay averaged over the priors, and its standard uncertainty.
func (e *excess) delay() (delay, sigma float64) {
	overdispersion := make([]float64, e.piece[len(e.piece)-1]+1)
	for i := range overdispersion {
		overdispersion[i] = 1
	}
	n := e.normal(overdispersion)
	for range 2 {
		e.estimate(overdispersion, e.explain(n, 1, 0).x)
		n = e.normal(overdispersion)
	}
	var all []explanation
	for _, width := range []float64{1, 1. / 4, 1. / 16, 1. / 64} {
		all = append(all, e.explain(n, width, 0), e.explain(n, width, e.slope))
	}
	best := math.Inf(-1)
	for _, x := range all {
		best = max(best, x.evidence)
	}
	var weights, mean, square float64
	for _, x := range all {
		w := math.Exp(x.evidence - best)
		if !(w > 0) {
			continue
		}
		weights += w
		mean += w * x.x[0]
		square += w * (x.variance + x.x[0]*x.x[0])
	}
	if weights == 0 {
		return 0, math.NaN()
	}
	mean /= weights
	return mean, math.Sqrt(max(0, square/weights-mean*mean))
}

// normal forms the normal equations, with each piece's variance times its overdispersion.
func (e *excess) normal(overdispersion []float64) *normal {
	rows, columns := e.design.Dims()
	n := &normal{right: mat.NewVecDense(columns, nil)}
	scaled := mat.NewDense(rows, columns, nil)
	phases := mat.NewVecDense(rows, nil)
	for i, phase := range e.phase {
		root := math.Sqrt(e.weight[i] / overdispersion[e.piece[i]])
		phases.SetVec(i, root*phase)
		row := scaled.RawRowView(i)
		for j, b := range e.design.RawRowView(i) {
			row[j] = root * b
		}
	}
	n.matrix = mat.NewSymDense(columns, nil)
	n.matrix.SymOuterK(1, scaled.T())
	n.right.MulVec(scaled.T(), phases)
	n.squares = mat.Dot(phases, phases)
	return n
}

// estimate sets, per piece, the factor by which the residual phase variance of the piece and its
// neighbours exceeds the variance predicted from noise. Leakage across the ends of segments and
// errors of the magnitude shift the phase of whole pieces.
func (e *excess) estimate(overdispersion, x []float64) {
	miss, weight := make([]float64, len(overdispersion)), make([]float64, len(overdispersion))
	for i, phase := range e.phase {
		miss[e.piece[i]] += e.weight[i] * (phase - floats.Dot(e.design.RawRowView(i), x))
		weight[e.piece[i]] += e.weight[i]
	}
	for p := range overdispersion {
		var sum, count float64
		for q := max(0, p-1); q <= min(len(overdispersion)-1, p+1); q++ {
			sum += miss[q] * miss[q] / weight[q]
			count++
		}
		overdispersion[p] = max(1, sum/count)
	}
}

// explain solves the equations under a prior with a width relative to priorSpread and a mean
// slope.
func (e *excess) explain(n *normal, width, slope float64) explanation {
	columns := len(e.prior) + 1
	a, g := mat.NewSymDense(columns, nil), mat.NewVecDense(columns, nil)
	a.CopySym(n.matrix)
	g.CopyVec(n.right)
	last := columns - 1
	logs := 0.0
	for j, s := range e.prior {
		precision := 1 / (width * width * s * s)
		a.SetSym(1+j, 1+j, a.At(1+j, 1+j)+precision)
		logs += math.Log(precision)
		if 1+j == last {
			g.SetVec(last, g.AtVec(last)+precision*slope)
		}
	}
	s := width * e.prior[last-1]
	var c mat.Cholesky
	out := explanation{x: make([]float64, columns), variance: math.NaN(), evidence: math.Inf(-1)}
	if !c.Factorize(a) {
		return out
	}
	x, unit, column := mat.NewVecDense(columns, out.x), mat.NewVecDense(columns, nil), mat.NewVecDense(columns, nil)
	unit.SetVec(0, 1)
	if c.SolveVecTo(x, g) != nil || c.SolveVecTo(column, unit) != nil {
		return out
	}
	out.variance = column.AtVec(0)
	// The quadratic form at its minimum.
	least := n.squares + slope*slope/(s*s) - mat.Dot(x, g)
	out.evidence = (logs - c.LogDet() - least) / 2
	return out
}

// octaves is a step outside the band: the distance of its middle from the band, and its width, both
// in octaves.
type octaves struct{ at, width float64 }

// normal are the normal equations without the prior.
type normal struct {
	matrix  *mat.SymDense // Σ w b bᵀ
	right   *mat.VecDense // Σ w b φ
	squares float64       // Σ w φ²
}

// explanation is the fit of the phase under one prior.
type explanation struct {
	x        []float64 // the coefficient of each column
	variance float64   // of the delay
	evidence float64   // logarithm of the marginal likelihood of the phase
}

const (
	// priorSpread is the prior standard deviation in nepers by which ln|H| changes over an octave
	// that is not known, as a random walk. It is also that of its slope per octave.
	priorSpread = 12 * neper
	// stepsAbove and stepsBelow are the numbers of steps per octave beyond the band.
	stepsAbove, stepsBelow = 6, 2
	// pieces is the least number of pieces, of equal weight, into which the band is divided.
	pieces = 24
)

// groupDelay returns the group delay in samples that all segments have in common beyond the minimum
// phase of the magnitude, and its standard uncertainty, NaN if fewer than two bins are known.
//
// The unknown magnitude beyond the known band contributes to the phase within it, mostly as a delay
// would; but only a delay contributes in exact proportion to frequency. So both are fitted to the
// phase together. The prior for the magnitude is a random walk, from its last known value or along
// its slope there. The width of the walk is estimated too: each of a few widths is weighted by its
// evidence (Bayesian model averaging). The uncertainty contains all of this.
func (s *segments) groupDelay(a *average) (delay, sigma float64) {
	logs, low, high := a.logMagnitude()
	if high <= low {
		return 0, math.NaN()
	}
	e := s.excess(a, logs, low, high)
	if e.turned {
		s.sign = -s.sign
	}
	return e.delay()
}

// excess forms the excess phase over the bins from low to high, and the design to explain it.
func (s *segments) excess(a *average, logs []float64, low, high int) *excess {
	n := s.plan.Len()
	t := response.Transfer{Bins: make([]complex128, len(logs)), SampleRate: s.direct.SampleRate, Len: n,
		Valid: response.Band{High: float64(s.direct.SampleRate) / 2}}
	for k, l := range logs {
		t.Bins[k] = complex(math.Exp(l), 0)
	}
	least, _ := t.MinimumPhase()
	tan := func(k float64) float64 { return math.Tan(math.Pi * k / float64(n)) }

	e := &excess{slope: slopeBelow(logs, high)}
	var steps []float64 // tan ωj/2
	above, below := beyond(float64(n)/2/float64(high), stepsAbove), beyond(float64(low), stepsBelow)
	for _, o := range above {
		steps, e.prior = append(steps, tan(float64(high)*math.Exp2(o.at))), append(e.prior, priorSpread*math.Sqrt(o.width))
	}
	for _, o := range below {
		steps, e.prior = append(steps, tan(float64(low)*math.Exp2(-o.at))), append(e.prior, priorSpread*math.Sqrt(o.width))
	}
	e.prior = append(e.prior, priorSpread)

	columns := 2 + len(steps)
	var rows []float64
	var cross []complex128
	for k := low; k <= high; k++ {
		size := cmplx.Abs(a.ht[k])
		if size == 0 {
			continue
		}
		cross = append(cross, a.ht[k]*cmplx.Rect(1, -least[k]))
		e.weight = append(e.weight, 2*a.count*size)
		here := tan(float64(k))
		row := append(rows, make([]float64, columns)...)[len(rows):]
		row[0] = -2 * math.Pi * float64(k) / float64(n)
		for j, there := range steps {
			row[1+j] = math.Log(math.Abs((here+there)/(here-there))) / math.Pi
			if j < len(above) {
				row[columns-1] += above[j].width * row[1+j]
			} else {
				row[1+j] = -row[1+j]
			}
		}
		rows = append(rows, row...)
	}
	e.design = mat.NewDense(len(cross), columns, rows)
	e.unwrap(cross)
	e.divide()
	return e
}

// beyond divides the range between two frequencies, given by their ratio, into equal steps in
// octaves.
func beyond(ratio, perOctave float64) []octaves {
	all := math.Log2(ratio)
	if all <= 0 {
		return nil
	}
	out := make([]octaves, max(1, int(math.Round(all*perOctave))))
	for i := range out {
		width := all / float64(len(out))
		out[i] = octaves{at: (float64(i) + 0.5) * width, width: width}
	}
	return out
}

// slopeBelow returns the slope in nepers per octave over the third of an octave below a bin, by
// least squares through the level at the bin.
func slopeBelow(logs []float64, bin int) float64 {
	var xy, xx float64
	for k := max(1, int(float64(bin)/math.Exp2(1.0/3))); k < bin; k++ {
		x := math.Log2(float64(k) / float64(bin))
		xy += x * (logs[k] - logs[bin])
		xx += x * x
	}
	if xx == 0 {
		return 0
	}
	const steepest = 48 * neper
	return max(-steepest, min(steepest, xy/xx))
}
