package outside

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
)

// curve is a device without memory, y = at(x), that both programs run at four times the sample rate
// so that nothing folds back. finish applies the program's other effects.
type curve struct {
	at func(x float64) float64
	// finish returns the amplitude of order n of the whole device from that of the curve, for a
	// tone of amplitude a at f Hz; nil if the curve is the whole device.
	finish func(c complex128, n int, a, f float64) complex128
}

// coefficients returns the complex amplitudes of orders 0 to n of the curve for a sine:
//
//	c[k] = 2/N Σ y(a sin φ) exp(−jkφ),  φ = 2πi/N,
//
// which is exact, since the sum over one period of a smooth function converges faster than any
// power of N.
func (c *curve) coefficients(a float64, n int) []complex128 {
	const points = 1024
	out := make([]complex128, n+1)
	for i := range points {
		phi := 2 * math.Pi * float64(i) / points
		y := c.at(a * math.Sin(phi))
		for k := range out {
			out[k] += complex(2*y/points, 0) * cmplx.Rect(1, -float64(k)*phi)
		}
	}
	return out
}

// amplitudes returns the magnitudes of orders 1 to n of the whole device for a tone of amplitude a
// at f Hz; index 0 is not used.
func (c *curve) amplitudes(a, f float64, n int) []float64 {
	out := make([]float64, n+1)
	for k, v := range c.coefficients(a, n) {
		if k > 0 && c.finish != nil {
			v = c.finish(v, k, a, f)
		}
		out[k] = cmplx.Abs(v)
	}
	return out
}

// softClips are the curves of ffmpeg's asoftclip between thresholds of ±1 (its source,
// libavfilter/af_asoftclip.c, from memory).
var softClips = []struct {
	name string
	at   func(x, p float64) float64
}{
	{"tanh", func(x, p float64) float64 { return math.Tanh(p * x) }},
	{"atan", func(x, p float64) float64 { return 2 / math.Pi * math.Atan(p*x) }},
	{"cubic", func(x, _ float64) float64 {
		if math.Abs(x) >= 1.5 {
			return math.Copysign(1, x)
		}
		return x - 0.1481*x*x*x
	}},
	{"exp", func(x, _ float64) float64 { return 2/(1+math.Exp(-2*x)) - 1 }},
	{"alg", func(x, p float64) float64 { return x / math.Sqrt(p+x*x) }},
	{"quintic", func(x, _ float64) float64 {
		if math.Abs(x) >= 1.25 {
			return math.Copysign(1, x)
		}
		return x - 0.08192*x*x*x*x*x
	}},
	{"sin", func(x, _ float64) float64 { return math.Sin(max(-math.Pi/2, min(math.Pi/2, x))) }},
	{"erf", func(x, _ float64) float64 { return math.Erf(x) }},
}

// softClip returns one of ffmpeg's, shifted by an offset, so that there are even orders too.
func softClip(r *rand.Rand, rate int) effect {
	kind := softClips[r.IntN(len(softClips))]
	threshold, p, offset := rounded(between(r, 0.2, 0.9)), rounded(between(r, 0.6, 1.8)), rounded(between(r, -0.1, 0.1))
	inner := fmt.Sprintf("dcshift=%g,aformat=channel_layouts=stereo,asoftclip=type=%s:threshold=%g:param=%g", offset, kind.name, threshold, p)
	return effect{
		ffmpeg: thereFFmpeg(rate, 4*rate, inner),
		curve:  &curve{at: func(x float64) float64 { return threshold * kind.at((x+offset)/threshold, p) }},
	}
}

// overdrive returns that of sox (src/overdrive.c, from memory): a cubic with an offset, behind
// which the mean is blocked, plus half of the input,
//
//	d = g x + colour/200,  q(d) = d − d³/3 up to ±2/3,  y = x/2 + 3/4 B q,
//	B = (1 − z⁻¹)/(1 − 0.995 z⁻¹).
func overdrive(r *rand.Rand, rate int) effect {
	level, colour := rounded(between(r, 2, 14)), rounded(between(r, 1, 60))
	g := math.Pow(10, level/20)
	c := &curve{at: func(x float64) float64 {
		d := g*x + colour/200
		if math.Abs(d) >= 1 {
			return math.Copysign(2./3, d)
		}
		return d - d*d*d/3
	}}
	c.finish = func(v complex128, n int, a, f float64) complex128 {
		z := cmplx.Rect(1, -2*math.Pi*float64(n)*f/float64(4*rate))
		v *= 0.75 * (1 - z) / (1 - 0.995*z)
		if n == 1 {
			v += complex(0, -a/2) // a sine is −j
		}
		return v
	}
	return effect{sox: there(rate, 4*rate, "overdrive", fmt.Sprint(level), fmt.Sprint(colour)), curve: c}
}

// contrast returns that of sox (src/contrast.c, from memory): y = sin(d + c/750 sin 4d), d = πx/2,
// shifted by an offset.
func contrast(r *rand.Rand, rate int) effect {
	amount, offset := rounded(between(r, 5, 90)), rounded(between(r, -0.1, 0.1))
	return effect{
		sox: there(rate, 4*rate, "dcshift", fmt.Sprint(offset), "contrast", fmt.Sprint(amount)),
		curve: &curve{at: func(x float64) float64 {
			d := (x + offset) * math.Pi / 2
			return math.Sin(d + amount/750*math.Sin(4*d))
		}},
	}
}
