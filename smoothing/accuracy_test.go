package smoothing_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/smoothing"
)

// Fifty-digit arithmetic. The values were made with Python's decimal module:
//
//	from decimal import Decimal as D, getcontext
//	getcontext().prec = 50
//	f = [D(k) * 48000 / 4096 for k in range(1, 2049)]
//	y = [D(10) ** -abs(k % 24 - 12) for k in range(1, 2049)]
//	x = [v.ln() for v in f]
//	def mean(c, high):  # of the straight lines through (x, y), band symmetric about ln c
//	    c = D(c).ln(); h = min(D(high).ln() - c, c - x[0], x[-1] - c); s = D(0)
//	    for i in range(len(x) - 1):
//	        a, b = max(x[i], c - h), min(x[i + 1], c + h)
//	        if a < b:
//	            at = lambda u: y[i] + (y[i + 1] - y[i]) * (u - x[i]) / (x[i + 1] - x[i])
//	            s += (b - a) * (at(a) + at(b)) / 2
//	    return float(s / (2 * h))
//	octave = lambda c, n: mean(c, D(c) * D(2) ** (1 / (2 * D(n))))
//	def erb(c, m):
//	    w = m * (D('24.7') * (D('4.37') * c / 1000 + 1)); return mean(c, w / 2 + (D(c) ** 2 + w * w / 4).sqrt())
//	for c in (15, 100, 1000, 3333, 10000, 17000, 23900):
//	    print(c, octave(c, 3), octave(c, 24), erb(c, 1))
func TestPowerAgainstFiftyDigits(t *testing.T) {
	frequency := bins(2048, 48000.0/4096)
	power := make([]float64, len(frequency)) // 120 dB up and down every 24 bins
	for i := range power {
		power[i] = math.Pow10(-int(math.Abs(float64((i+1)%24 - 12))))
	}
	centre := []float64{15, 100, 1000, 3333, 10000, 17000, 23900}
	for _, c := range []struct {
		name string
		plan *smoothing.Plan
		want []float64
	}{
		{"third octave", octave(t, frequency, centre, 3), []float64{
			4.205294292027478e-11, 0.001285219346816009, 0.06297996352155122, 0.03729759579048841,
			0.049180498901024564, 0.050808972086486937, 4.16863324629355e-05}},
		{"24th octave", octave(t, frequency, centre, 24), []float64{
			4.205294292027478e-11, 0.0005931497027574366, 0.20632170163704797, 3.996161432600414e-06,
			0.04967029150391211, 0.02934476329769136, 4.16863324629355e-05}},
		{"auditory", erb(t, frequency, centre, 1), []float64{
			4.205294292027478e-11, 0.002783192635293344, 0.10978299654055086, 0.07272477670392612,
			0.05120983986077509, 0.053949564117398756, 4.16863324629355e-05}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := c.plan.Mean(nil, power)
			for i, want := range c.want {
				assert.InEpsilon(t, want, got[i], 1e-12, "at %v Hz", centre[i]) // rounding of the band's edges to float64 Hz
			}
		})
	}
}

// kahan is a compensated sum (Kahan, Comm. ACM 8(1), 40, 1965).
type kahan struct{ sum, c float64 }

func (k *kahan) add(x float64) {
	y := x - k.c
	t := k.sum + y
	k.c = (t - k.sum) - y
	k.sum = t
}

// plainMean goes through every segment of the grid for one output: the definition, without any
// shortcut.
func plainMean(f, y []float64, c, low, high float64) float64 {
	at := 0
	for at+1 < len(f) && f[at+1] <= c {
		at++
	}
	if c < f[0] || c > f[len(f)-1] || math.IsNaN(y[at]) || c > f[at] && math.IsNaN(y[at+1]) {
		return math.NaN()
	}
	first, last := at, at
	for first > 0 && !math.IsNaN(y[first-1]) {
		first--
	}
	for last+1 < len(f) && !math.IsNaN(y[last+1]) {
		last++
	}
	if ratio := min(c/f[first], f[last]/c); ratio < high/c {
		low, high = max(c/ratio, f[first]), min(c*ratio, f[last])
	}
	if low >= high {
		return y[at]
	}
	var integral, width kahan
	for i := first; i < last; i++ {
		a, b := max(f[i], low), min(f[i+1], high)
		if a >= b {
			continue
		}
		line := func(g float64) float64 {
			u := math.Log1p((g-f[i])/f[i]) / math.Log1p((f[i+1]-f[i])/f[i])
			return y[i]*(1-u) + y[i+1]*u
		}
		d := math.Log1p((b - a) / a)
		integral.add(d * (line(a) + line(b)) / 2)
		width.add(d)
	}
	return integral.sum / width.sum
}

func octaveEdges(n float64) func(c float64) (float64, float64) {
	// The formula is the same as the plan's, since the last digit of an edge between two bins 120
	// dB apart changes the mean by more than the error of the sum.
	return func(c float64) (float64, float64) { return c / math.Exp2(1/(2*n)), c * math.Exp2(1/(2*n)) }
}

func erbEdges(m float64) func(c float64) (float64, float64) {
	return func(c float64) (float64, float64) {
		w := m * 24.7 * (4.37*c/1000 + 1)
		high := w/2 + math.Sqrt(c*c+w*w/4)
		return c * c / high, high
	}
}

// spectra spans 120 dB in the ways that are hardest for a running sum.
func spectra(rng *rand.Rand, n int) map[string][]float64 {
	s := map[string][]float64{"random": nil, "step down": nil, "step up": nil, "peak": nil, "falling": nil}
	for name := range s {
		y := make([]float64, n)
		for i := range y {
			switch u := float64(i) / float64(n-1); {
			case name == "random":
				y[i] = math.Pow(10, -12*rng.Float64())
			case name == "falling":
				y[i] = math.Pow(10, -12*u) * (0.5 + rng.Float64())
			case name == "step down" && u > 0.4, name == "step up" && u < 0.4, name == "peak" && i != n/10:
				y[i] = 1e-12 * (0.5 + rng.Float64())
			default:
				y[i] = 1
			}
		}
		s[name] = y
	}
	return s
}

func TestPowerAgainstPlainSum(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	frequency := bins(4096, 24000.0/4096)
	centre := append(logGrid(4, 25000, 97), frequency[0], frequency[1234], frequency[4095])
	for _, c := range []struct {
		name  string
		plan  *smoothing.Plan
		edges func(c float64) (float64, float64)
	}{
		{"octave", octave(t, frequency, centre, 1), octaveEdges(1)},
		{"12th octave", octave(t, frequency, centre, 12), octaveEdges(12)},
		{"96th octave", octave(t, frequency, centre, 96), octaveEdges(96)},
		{"auditory", erb(t, frequency, centre, 1), erbEdges(1)},
	} {
		for name, power := range spectra(rng, len(frequency)) {
			for _, gaps := range []int{0, 5} {
				y := append([]float64(nil), power...)
				for range gaps {
					y[rng.IntN(len(y))] = math.NaN()
				}
				got := c.plan.Mean(nil, y)
				for i, f := range centre {
					low, high := c.edges(f)
					assertClose(t, plainMean(frequency, y, f, low, high), got[i], 1e-12, "%s, %s, %d gaps, %v Hz", c.name, name, gaps, f) // rounding of edges beside a step of 120 dB
				}
			}
		}
	}
}

// assertClose is like InEpsilon but takes two NaN as equal.
func assertClose(t *testing.T, want, got, epsilon float64, format string, args ...any) {
	t.Helper()
	if math.IsNaN(want) {
		assert.True(t, math.IsNaN(got), append([]any{format + ": want NaN, got something"}, args...)...)
		return
	}
	assert.InEpsilon(t, want, got, epsilon, append([]any{format}, args...)...)
}

func TestLevelAgainstPlainSum(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	frequency := scattered(rng, 900)
	level := make([]float64, len(frequency))
	for i := range level {
		level[i] = 40 * rng.NormFloat64()
		if rng.IntN(30) == 0 {
			level[i] = math.NaN()
		}
	}
	got := octave(t, frequency, frequency, 6).Mean(nil, level)
	for i, f := range frequency {
		low, high := octaveEdges(6)(f)
		want := plainMean(frequency, level, f, low, high)
		if math.IsNaN(want) {
			assert.True(t, math.IsNaN(got[i]))
			continue
		}
		assert.InDelta(t, want, got[i], 1e-11) // dB; values of 40 dB, edges to the last place of float64
	}
}

func TestComplexIsPowerOfEachPart(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	frequency := logGrid(20, 20000, 500)
	re, im, h := make([]float64, 500), make([]float64, 500), make([]complex128, 500)
	for i := range h {
		re[i], im[i] = rng.NormFloat64(), rng.NormFloat64()
		if i == 77 {
			re[i], im[i] = math.NaN(), math.NaN()
		}
		h[i] = complex(re[i], im[i])
	}
	h[77] = complex(1, math.NaN()) // half known is not known
	p := octave(t, frequency, frequency, 3)
	got := p.Complex(nil, h)
	re, im = p.Mean(re, re), p.Mean(im, im)
	for i := range got {
		if i == 77 {
			assert.True(t, math.IsNaN(real(got[i])) && math.IsNaN(imag(got[i])))
			continue
		}
		assert.Equal(t, complex(re[i], im[i]), got[i])
	}
}

// A pure delay of T seconds is exp(−j2πfT); its mean over ln f from ln a to ln b
// is [Ci(z) − j Si(z)] from 2πaT to 2πbT, divided by ln(b/a). The integrals are
// from Abramowitz & Stegun, table 5.1 (from memory): Si(1) = 0.9460830704, Ci(1) = 0.3374039229,
// Si(2) = 1.6054129768, Ci(2) = 0.4229808288.
func TestComplexDelayAgainstSineIntegral(t *testing.T) {
	frequency := logGrid(100, 1000, 20001)
	delay := 1 / (2 * math.Pi * 200)
	h := make([]complex128, len(frequency))
	for i, f := range frequency {
		s, c := math.Sincos(2 * math.Pi * f * delay)
		h[i] = complex(c, -s)
	}
	got := octave(t, frequency, []float64{200 * math.Sqrt2}, 1).Complex(nil, h)  // the octave 200 … 400 Hz
	assert.InDelta(t, (0.4229808288-0.3374039229)/math.Ln2, real(got[0]), 1e-8)  // trapezoids of 1e-4 neper
	assert.InDelta(t, -(1.6054129768-0.9460830704)/math.Ln2, imag(got[0]), 1e-8) // the same
}
