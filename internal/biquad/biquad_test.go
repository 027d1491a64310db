package biquad

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/testing/known"
)

var shapes = map[string]Shape{
	"peaking": Peaking, "low shelf": LowShelf, "high shelf": HighShelf, "low pass": LowPass, "high pass": HighPass,
}

// The cookbook's analogue prototypes through scipy's bilinear transform, and
// scipy's freqz and lfilter, by testdata/reference/biquad.py.
func TestFiltersEqualSciPy(t *testing.T) {
	var cases []struct {
		Shape                  string
		F, Q, Gain, SampleRate float64
		B, A                   []float64
		Frequency, Real, Imag  []float64
		Impulse                []float64
	}
	known.Values(t, "biquad.json", &cases)
	seen := map[string]bool{}
	for _, c := range cases {
		t.Run(c.Shape, func(t *testing.T) {
			seen[c.Shape] = true
			q := New(shapes[c.Shape], c.F, c.Q, c.Gain, c.SampleRate)
			want := append(c.B, c.A[1:]...)
			for i, v := range []float64{q.B0, q.B1, q.B2, q.A1, q.A2} {
				assert.InDelta(t, want[i], v, 1e-9, "coefficient %d; rounding, with poles near 1", i)
			}
			for i, f := range c.Frequency {
				h := complex(c.Real[i], c.Imag[i])
				assert.InDelta(t, 0, cmplx.Abs(q.Response(f, c.SampleRate)/h-1), 1e-6, "%g Hz; low frequencies magnify the coefficients' rounding", f)
			}
			x := make([]float64, len(c.Impulse))
			x[0] = 1
			q.Apply(x)
			for i := range x {
				assert.InDelta(t, c.Impulse[i], x[i], 1e-8, "sample %d of the impulse response", i)
			}
		})
	}
	assert.Len(t, seen, len(shapes), "every shape has a reference")
}

func TestShapesReachTheirGain(t *testing.T) {
	level := func(q Filter, f float64) float64 { return 20 * math.Log10(cmplx.Abs(q.Response(f, 48000))) }
	const tolerance = 1e-9 // dB; double precision
	assert.InDelta(t, 6, level(New(Peaking, 1000, 2, 6, 48000), 1000), tolerance, "peaking, at its centre")
	assert.InDelta(t, 0, level(New(Peaking, 1000, 2, 6, 48000), 24000), tolerance, "peaking, far away")
	assert.InDelta(t, -5, level(New(LowShelf, 100, 0.7, -5, 48000), 1e-3), 1e-6, "low shelf, below; the rounding of its coefficients")
	assert.InDelta(t, -2.5, level(New(LowShelf, 100, 0.7, -5, 48000), 100), tolerance, "low shelf, half-way at its frequency")
	assert.InDelta(t, 4, level(New(HighShelf, 5000, 0.7, 4, 48000), 24000), tolerance, "high shelf, above")
	assert.InDelta(t, 20*math.Log10(0.7), level(New(LowPass, 5000, 0.7, 0, 48000), 5000), tolerance, "low pass, Q at its frequency")
	assert.InDelta(t, 20*math.Log10(1.5), level(New(HighPass, 300, 1.5, 0, 48000), 300), tolerance, "high pass, Q at its frequency")
}

func TestSquaredMagnitudeIsThatOfTheResponse(t *testing.T) {
	for name, shape := range shapes {
		q := New(shape, 900, 1.3, -7, 48000)
		n, d := q.Squared()
		for _, f := range []float64{30, 400, 900, 5000, 23000} {
			phi := math.Pow(math.Sin(math.Pi*f/48000), 2)
			h := cmplx.Abs(q.Response(f, 48000))
			got := (n[0] + phi*(n[1]+phi*n[2])) / (d[0] + phi*(d[1]+phi*d[2]))
			assert.InDelta(t, 1, got/(h*h), 1e-8, "%s at %g Hz; both lose digits near a pole or a zero", name, f)
		}
	}
}

func TestChainIsItsFiltersInTurn(t *testing.T) {
	c := Chain{New(Peaking, 1000, 2, 6, 48000), New(HighPass, 40, 0.7, 0, 48000)}
	assert.InDelta(t, 0, cmplx.Abs(c.Response(500, 48000)-c[0].Response(500, 48000)*c[1].Response(500, 48000)), 1e-15, "a product")
	x, y := make([]float64, 50), make([]float64, 50)
	x[0], y[0] = 1, 1
	c.Apply(x)
	c[0].Apply(y)
	c[1].Apply(y)
	assert.Equal(t, y, x)
}

func TestFilterThatCannotBePanics(t *testing.T) {
	for name, p := range map[string][3]float64{
		"no frequency":         {0, 1, 48000},
		"half the sample rate": {24000, 1, 48000},
		"no quality":           {1000, 0, 48000},
		"not a number":         {math.NaN(), 1, 48000},
	} {
		assert.Panics(t, func() { New(Peaking, p[0], p[1], 0, p[2]) }, name)
	}
	assert.Panics(t, func() { New(Shape(99), 1000, 1, 0, 48000) })
}

func BenchmarkApply(b *testing.B) {
	c := Chain{New(Peaking, 1000, 2, 1, 48000), New(LowShelf, 100, 0.7, -1, 48000)}
	x := make([]float64, 48000)
	b.SetBytes(int64(8 * len(x)))
	b.ReportAllocs()
	for b.Loop() {
		x[0] = 1
		c.Apply(x)
	}
}
