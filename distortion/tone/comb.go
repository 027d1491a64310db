package tone

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// line is a position in the spectrum: m times the first base frequency plus n times the second.
type line struct{ m, n int }

// comb is a sum of an offset and lines at whole combinations of one or two base frequencies,
//
//	y(t) = offset + Σ Re(c exp(jθt)),  θ = m ω₁ + n ω₂,
//
// with t in samples from the middle of the recording. With this origin amplitude, phase and
// frequency do not disturb one another, and cosines are orthogonal to sines.
type comb struct {
	lines  []line
	omega  [2]float64   // rad/sample; the second is 0 if there is one base
	offset float64      // C
	c      []complex128 // one per line
}

func (b *comb) angle(l line) float64 {
	return float64(l.m)*b.omega[0] + float64(l.n)*b.omega[1]
}

// amplitude returns that of line j.
func (b *comb) amplitude(j int) float64 { return cmplx.Abs(b.c[j]) }

// fit finds the comb nearest to x, by the squares of the differences weighted by w, which must be
// symmetric: linear in the amplitudes, Gauss–Newton in the frequencies, as the four-parameter fit
// of IEEE Std 1057-2017 does for one line. It returns the remainder, x − y.
//
// A frequency error δ puts line m off by mδ, so high lines join only once low ones have refined the
// frequency: first those with |m| + |n| ≤ reach, then four times as high, and so on.
func (b *comb) fit(x []float64, w window, reach int) ([]float64, error) {
	all := b.lines
	b.c = make([]complex128, 0, len(all))
	rest := make([]float64, len(x))
	for joined := 0; joined < len(all); reach *= 4 {
		for joined < len(all) && max(all[joined].m, -all[joined].m)+max(all[joined].n, -all[joined].n) <= reach {
			joined++
			b.c = append(b.c, 0)
		}
		if joined == 0 {
			continue
		}
		b.lines = all[:joined]
		// 1e-9 rad at the ends is −180 dB; below it the sum is rounding. A line that joins later
		// needs to be in reach only.
		angle := 1e-9
		if joined < len(all) {
			angle = 1e-3
		}
		if err := b.settle(rest, x, w, angle, joined == len(all)); err != nil {
			return nil, err
		}
	}
	b.subtract(rest, x)
	return rest, nil
}

// settle iterates until the frequencies move the ends by less than an angle in rad, and the
// amplitudes as little. If last is true, it also stops once the remaining error of the amplitudes
// is a thousandth of the noise: at constant frequencies one correction of the amplitudes is exact
// apart from rounding, and one by 1e-5 of the largest moves the frequencies by less than 1e-9 rad.
func (b *comb) settle(rest, x []float64, w window, angle float64, last bool) error {
	system, err := b.normal(w)
	if err != nil {
		return err
	}
	p, q := make([]complex128, len(b.lines)), make([]complex128, len(b.lines))
	weighted, timed := make([]float64, len(x)), make([]float64, len(x))
	for range 50 {
		b.subtract(rest, x)
		for i, v := range floats.MulTo(weighted, w.weight, rest) {
			timed[i] = float64(i%resync) * v
		}
		b.project(p, q, weighted, timed)
		turn := b.turn(q, w)
		moved, largest := system.correct(b, floats.Dot(w.weight, rest), p)
		swing := max(math.Abs(turn[0]), math.Abs(turn[1])) * float64(len(x))
		b.omega[0] += turn[0]
		b.omega[1] += turn[1]
		if !(math.Abs(b.omega[0]) < math.Pi && math.Abs(b.omega[1]) < math.Pi) {
			break
		}
		// left and noise: the remainder of the fit, and its approximate effect on an amplitude
		left := floats.Dot(weighted, rest)/w.total - float64(len(b.lines))*moved*moved
		noise := math.Sqrt(max(0, left) / float64(len(x)))
		still := moved <= 1e-2*angle*largest
		drowned := moved <= 1e-5*largest && swing*largest+moved*system.rounding() <= 1e-3*noise
		if swing < angle && (still || last && drowned) {
			return nil
		}
	}
	return fmt.Errorf("tone: the fit does not settle: %w at one frequency from beginning to end", ErrUnsteady)
}

// subtract sets rest = x − y.
func (b *comb) subtract(rest, x []float64) {
	for i, v := range x {
		rest[i] = v - b.offset
	}
	middle := float64(len(x)-1) / 2
	var t turned
	for j, l := range b.lines {
		theta := b.angle(l)
		t.by(theta)
		for from := 0; from < len(x); from += resync {
			z := b.c[j] * cmplx.Rect(1, theta*(float64(from)-middle))
			block := rest[from:min(from+resync, len(x))]
			floats.AddScaled(block, -real(z), t[0][:len(block)])
			floats.AddScaled(block, imag(z), t[1][:len(block)])
		}
	}
}

// project computes p = Σ w r exp(−jθt) and q = Σ w t r exp(−jθt) of each line. Within a block, time
// counts from its first sample: then the products with w, and with w and t, are common to all
// lines. The phasor at the beginning of a block is the previous block's, rotated. Its rounding
// errors are small beside the remainder r; those of the subtracted lines are not.
func (b *comb) project(p, q []complex128, weighted, timed []float64) {
	const restart = 32 // blocks
	middle := float64(len(weighted)-1) / 2
	var t turned
	for j, l := range b.lines {
		theta := -b.angle(l)
		t.by(theta)
		p[j], q[j] = 0, 0
		step, z := cmplx.Rect(1, theta*resync), complex128(1)
		for from := 0; from < len(weighted); from += resync {
			start := float64(from) - middle
			if z *= step; from%(restart*resync) == 0 {
				z = cmplx.Rect(1, theta*start)
			}
			to := min(from+resync, len(weighted))
			cos, sin := t[0][:to-from], t[1][:to-from]
			here := z * complex(floats.Dot(weighted[from:to], cos), floats.Dot(weighted[from:to], sin))
			later := z * complex(floats.Dot(timed[from:to], cos), floats.Dot(timed[from:to], sin))
			p[j] += here
			q[j] += later + complex(start, 0)*here
		}
	}
}

// turn returns the correction of the frequencies. The derivative of y with respect to ωᵢ is −t Σ mᵢ
// Im(c exp(jθt)), and these derivatives are nearly orthogonal to the lines.
func (b *comb) turn(q []complex128, w window) [2]float64 {
	var g [2]float64
	var h [3]float64 // h11, h12, h22
	for j, l := range b.lines {
		pull := -imag(b.c[j] * cmplx.Conj(q[j]))
		power := real(b.c[j])*real(b.c[j]) + imag(b.c[j])*imag(b.c[j])
		m, n := float64(l.m), float64(l.n)
		g[0] += m * pull
		g[1] += n * pull
		h[0] += m * m * power
		h[1] += m * n * power
		h[2] += n * n * power
	}
	half := w.second / 2
	switch det := h[0]*h[2] - h[1]*h[1]; {
	case det > 0:
		return [2]float64{(g[0]*h[2] - g[1]*h[1]) / (det * half), (g[1]*h[0] - g[0]*h[1]) / (det * half)}
	case h[0] > 0:
		return [2]float64{g[0] / (h[0] * half), 0}
	}
	return [2]float64{}
}

func (b *comb) normal(w window) (*normal, error) {
	k := len(b.lines)
	cos, sin := mat.NewSymDense(k+1, nil), mat.NewSymDense(k, nil)
	cos.SetSym(0, 0, w.at(0))
	for i, li := range b.lines {
		cos.SetSym(0, i+1, w.at(b.angle(li)))
		for j := i; j < k; j++ {
			less, more := w.at(b.angle(li)-b.angle(b.lines[j])), w.at(b.angle(li)+b.angle(b.lines[j]))
			cos.SetSym(i+1, j+1, (less+more)/2)
			sin.SetSym(i, j, (less-more)/2)
		}
	}
	var s normal
	if !s.cos.Factorize(cos) || !s.sin.Factorize(sin) {
		return nil, fmt.Errorf("tone: the recording is %w to tell neighbouring lines apart", ErrTooShort)
	}
	return &s, nil
}

// resync is the number of samples after which a rotating phasor is computed anew, so that its
// rounding does not accumulate.
const resync = 128

// turned is a phasor that turns by theta per sample, over one block: cosine and sine.
type turned [2][resync]float64

func (t *turned) by(theta float64) {
	step, z := cmplx.Rect(1, theta), complex128(1)
	for i := range resync {
		t[0][i], t[1][i] = real(z), imag(z)
		z *= step
	}
}

// normal holds the normal equations, one set for the offset and the cosines and one for the sines.
// They hardly change while the frequency settles, so they are factorised once and the corrections
// are iterated.
type normal struct{ cos, sin mat.Cholesky }

// rounding returns the relative error to which a correction is exact, from the larger condition
// number of the two.
func (s *normal) rounding() float64 {
	const epsilon = 0x1p-52
	return 100 * epsilon * max(s.cos.Cond(), s.sin.Cond())
}

// correct adds the remaining part of the lines in the remainder to the comb. It returns the largest
// movement of a line and the largest amplitude.
func (s *normal) correct(b *comb, mean float64, p []complex128) (moved, largest float64) {
	even, odd := mat.NewVecDense(len(p)+1, nil), mat.NewVecDense(len(p), nil)
	even.SetVec(0, mean)
	for j, v := range p {
		even.SetVec(j+1, real(v))
		odd.SetVec(j, imag(v))
	}
	// An ill-conditioned factor shows as a correction that never settles.
	_ = s.cos.SolveVecTo(even, even)
	_ = s.sin.SolveVecTo(odd, odd)
	b.offset += even.AtVec(0)
	for j := range b.c {
		d := complex(even.AtVec(j+1), odd.AtVec(j))
		b.c[j] += d
		moved, largest = max(moved, cmplx.Abs(d)), max(largest, cmplx.Abs(b.c[j]))
	}
	return moved, largest
}
