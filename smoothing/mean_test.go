package smoothing_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/smoothing"
)

// The transform of a rectangular window W octaves wide attenuates a ripple of
// period P octaves by sin(πW/P)/(πW/P).
func TestLevelRippleAgainstSinc(t *testing.T) {
	const perOctave = 4000
	frequency := logGrid(50, 50*1024, 10*perOctave+1)
	centre := logGrid(400, 6400, 401)
	for _, c := range []struct{ fraction, period float64 }{
		{1, 3}, {1, 1}, {3, 1}, {3, 0.5}, {3, 0.22}, {12, 0.1}, {24, 0.06},
	} {
		level := make([]float64, len(frequency))
		for i, f := range frequency {
			level[i] = math.Cos(2 * math.Pi * math.Log2(f/1000) / c.period)
		}
		x := math.Pi / (c.fraction * c.period)
		got := octave(t, frequency, centre, c.fraction).Mean(nil, level)
		for i, f := range centre {
			want := math.Sin(x) / x * math.Cos(2*math.Pi*math.Log2(f/1000)/c.period)
			tolerance := math.Pow(2*math.Pi/(perOctave*c.period), 2) / 8 // linear interpolation: h²·max|y″|/8
			require.InDelta(t, want, got[i], tolerance+1e-12, "1/%v octave, ripple of %v octaves, %v Hz", c.fraction, c.period, f)
		}
	}
}

func TestLevelKeepsSlope(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	grids := map[string][]float64{
		"linear":      bins(3000, 8),
		"logarithmic": logGrid(20, 20000, 200),
		"scattered":   scattered(rng, 700),
		"two points":  {100, 5000},
	}
	for name, frequency := range grids {
		last := frequency[len(frequency)-1]
		centre := append(logGrid(frequency[0]*1.0001, last*0.9999, 333), frequency...)
		for _, gaps := range []int{0, len(frequency) / 40} {
			level := make([]float64, len(frequency))
			for i, f := range frequency {
				level[i] = 90 - 12*math.Log2(f)
			}
			for range gaps {
				level[rng.IntN(len(level))] = math.NaN()
			}
			for width, p := range map[string]*smoothing.Plan{
				"two octaves":  octave(t, frequency, centre, 0.5),
				"third octave": octave(t, frequency, centre, 3),
				"96th octave":  octave(t, frequency, centre, 96),
				"auditory":     erb(t, frequency, centre, 1),
			} {
				got, kept := p.Mean(nil, level), 0
				for i, f := range centre {
					if !math.IsNaN(got[i]) {
						kept++
						require.InDelta(t, 90-12*math.Log2(f), got[i], 1e-11, "%s, %s, %v Hz", name, width, f) // dB; rounding of 100 dB
					}
				}
				assert.Greater(t, kept, len(centre)*8/10, "%s, %s: most centres are known", name, width)
			}
		}
	}
}

// A linear and a logarithmic grid describe the same resonance.
func TestPowerSameOnLinearGridAsOnLogarithmic(t *testing.T) {
	resonance := func(f []float64) []float64 {
		p := make([]float64, len(f))
		for i, f := range f {
			x := f/3000 - 3000/f
			p[i] = 1 / (1 + 25*x*x)
		}
		return p
	}
	linear, logarithmic := bins(65536, 24000.0/65536), logGrid(1, 24000, 20000)
	centre := logGrid(200, 15000, 100)
	a := octave(t, linear, centre, 3).Mean(nil, resonance(linear))
	b := octave(t, logarithmic, centre, 3).Mean(nil, resonance(logarithmic))
	for i := range a {
		assert.InEpsilon(t, a[i], b[i], 1e-5) // both grids interpolate linearly, h²·y″/8
	}
}

func TestConstantIsKeptExactly(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	frequency := append([]float64{0}, scattered(rng, 1000)...)
	centre := frequency[1:]
	for _, p := range []*smoothing.Plan{octave(t, frequency, centre, 3), octave(t, frequency, centre, 48), erb(t, frequency, centre, 2)} {
		for _, v := range []float64{0, 0.1, -37.3, 1e-300, 1e300, -1e300} {
			y := make([]float64, len(frequency))
			for i := range y {
				y[i] = v
			}
			for _, got := range p.Mean(nil, y) {
				require.Equal(t, v, got)
			}
			h := make([]complex128, len(y))
			for i := range h {
				h[i] = complex(v, -v)
			}
			for _, got := range p.Complex(nil, h) {
				require.Equal(t, complex(v, -v), got)
			}
		}
	}
}

func TestConstantPartBesideALoudOne(t *testing.T) {
	frequency := bins(65536, 24000.0/65536)
	power := make([]float64, len(frequency))
	for i := range power {
		power[i] = 0.1
		if frequency[i] < 1000 {
			power[i] = 1e11
		}
	}
	for i, got := range octave(t, frequency, logGrid(1500, 23999, 2000), 3).Mean(nil, power) {
		require.InEpsilon(t, 0.1, got, 1e-13, "output %d", i) // a plain running sum would lose it whole to rounding
	}
}

func TestResultStaysInRange(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for trial := range 200 {
		frequency := scattered(rng, 1+rng.IntN(60))
		y := make([]float64, len(frequency))
		base := math.Pow(10, 20*rng.Float64()-10)
		for i := range y {
			y[i] = base * (1 + float64(rng.IntN(3))*1e-16) // neighbours in the last place
			if trial%2 == 0 {
				y[i] = rng.NormFloat64() * math.Pow(10, 12*rng.Float64())
			}
		}
		low, high := floats.Min(y), floats.Max(y)
		for _, p := range []*smoothing.Plan{octave(t, frequency, frequency, 3), octave(t, frequency, frequency, 1e-4), erb(t, frequency, frequency, 1)} {
			for _, got := range p.Mean(nil, y) {
				require.GreaterOrEqual(t, got, low)
				require.LessOrEqual(t, got, high)
			}
		}
	}
}

// The geometric mean does not exceed the arithmetic one.
func TestLevelIsNotAbovePower(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	frequency := bins(2000, 10)
	power, level := make([]float64, 2000), make([]float64, 2000)
	for i := range power {
		power[i] = rng.ExpFloat64()
		level[i] = 10 * math.Log10(power[i])
	}
	p := octave(t, frequency, logGrid(500, 15000, 50), 3)
	power, level = p.Mean(nil, power), p.Mean(nil, level)
	for i := range power {
		assert.Less(t, level[i], 10*math.Log10(power[i]))
	}
	// Exponentially distributed power: mean of ln is −γ, so −2.507 dB (Euler's constant 0.57722).
	assert.InDelta(t, -2.507, level[49]-10*math.Log10(power[49]), 1) // three times 5.57 dB/√300, of 300 bins
}
