package level_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// load is the circuit of a moving coil: its resistance, its inductance, and in series the resonance
// of the diaphragm as a parallel circuit,
//
//	Z = Re + jωL + Rp/(1 + jQ(f/f0 − f0/f))
type load struct{ re, l, rp, q, f0 float64 }

func (z load) at(f float64) complex128 {
	out := complex(z.re, 2*math.Pi*f*z.l)
	if z.rp > 0 {
		out += complex(z.rp, 0) / (1 + complex(0, z.q*(f/z.f0-z.f0/f)))
	}
	return out
}

var (
	dynamic  = load{re: 300, l: 2e-3, rp: 250, q: 1.5, f0: 90}
	low      = load{re: 32, l: 0.1e-3, rp: 20, q: 2, f0: 60}
	resistor = load{re: 100}
)

// through filters samples by a transfer function, as if the recording were one period.
func through(x []float64, h func(f float64) complex128) []float64 {
	p := fft.NewPlan(len(x))
	s := p.Forward(nil, x)
	for k := range s {
		if k == 0 {
			s[k] = 0
			continue
		}
		s[k] *= h(p.Frequency(k, rate))
	}
	return p.Inverse(nil, s)
}

// bridge records a load behind a series resistor: the inputs differ in gain and phase, and each has
// its own noise.
func bridge(z load, series, input float64, seconds, noiseRMS float64, seed uint64) (source, across []float64) {
	white := noise(seed, 0.1, seconds)
	mismatch := func(f float64) complex128 { return 1.05 / (1 + complex(0, f/60000)) }
	across = through(white, func(f float64) complex128 {
		v := z.at(f)
		if input > 0 {
			v = 1 / (1/v + complex(1/input, 0))
		}
		return mismatch(f) * v / (v + complex(series, 0))
	})
	return sum(white, noise(seed+1, noiseRMS, seconds)), sum(across, noise(seed+2, noiseRMS, seconds))
}

func ratio(t testing.TB, z load, series, input, noiseRMS float64, seed uint64) *level.Ratio {
	t.Helper()
	source, across := bridge(z, series, input, 5.12, noiseRMS, seed)
	r, err := level.RatioFromNoise(source, across, rate)
	require.NoError(t, err)
	return r
}

// The impedance of the circuit by circuit theory; the inputs differ by 0.4 dB, which the known
// resistor corrects.
func TestImpedanceOfAKnownCircuit(t *testing.T) {
	race.Skip(t)
	for _, c := range []struct {
		name          string
		z             load
		series, input float64
	}{
		{"300 Ω", dynamic, 330, 0},
		{"32 Ω", low, 47, 0},
		{"a resistor", load{re: 47}, 100, 0},
		{"600 Ω beside an input of 10 kΩ", load{re: 600, rp: 300, q: 1, f0: 100}, 470, 10000},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := level.Divider{
				Series: response.Figure{Value: c.series, Uncertainty: 0.005 * c.series, Unit: level.Ohm}, Known: response.Figure{Value: 100, Uncertainty: 0.5, Unit: level.Ohm},
				Reference: ratio(t, resistor, c.series, c.input, 1e-5, 10), InputImpedance: c.input,
			}
			z, err := d.Impedance(ratio(t, c.z, c.series, c.input, 1e-5, 20))
			require.NoError(t, err)
			assert.Empty(t, z.Findings)
			assert.True(t, z.PhaseKnown)
			worst := 0.0
			for i, f := range z.Frequency {
				if f < 20 || f > 20000 {
					continue
				}
				truth := c.z.at(f)
				worst = max(worst, cmplx.Abs(z.Ohms[i]-truth)/cmplx.Abs(truth))
				off := math.Abs(cmplx.Abs(z.Ohms[i]) - cmplx.Abs(truth))
				require.Less(t, off, 4*z.Uncertainty[i], "%.0f Hz; four standard uncertainties in 20 000 points", f)
				if f > 300 {
					require.Less(t, off, 0.002*cmplx.Abs(truth), "%.0f Hz; above the resonance, which bins of 1 Hz blur in five seconds", f)
				}
				require.Greater(t, z.Uncertainty[i], 0.003*cmplx.Abs(truth), "%.0f Hz; resistors of 0.5 %%", f)
			}
			t.Logf("worst error %.2f %%", 100*worst)
			require.False(t, cmplx.IsNaN(at(t, z, 1000)))
			assert.InEpsilon(t, cmplx.Abs(c.z.at(1000)), math.Pow(10, z.Curve().At(1000)/20), 0.01, "dB re 1 Ω")
		})
	}
}

// Two recordings in noise at −30 dB: the scatter of |Z| equals its uncertainty, the resistors being
// exact.
func TestImpedanceScattersByItsUncertainty(t *testing.T) {
	var inside, all, insideBelow, below float64
	for seed := range uint64(2) {
		d := level.Divider{Series: exact(330, level.Ohm), Known: exact(100, level.Ohm), Reference: ratio(t, resistor, 330, 0, 0.003, 1000+10*seed)}
		z, err := d.Impedance(ratio(t, dynamic, 330, 0, 0.003, 2000+10*seed))
		require.NoError(t, err)
		for i, f := range z.Frequency {
			within := math.Abs(cmplx.Abs(z.Ohms[i])-cmplx.Abs(dynamic.at(f))) < z.Uncertainty[i]
			switch {
			case f >= 200 && f <= 20000:
				all++
				if within {
					inside++
				}
			case f >= 20 && f < 200:
				below++
				if within {
					insideBelow++
				}
			}
		}
	}
	assert.InDelta(t, 0.683, inside/all, 0.05, "68.3 % of a normal distribution lie within one standard deviation; noise on the source channel biases a little")
	assert.InDelta(t, 0.683, insideBelow/below, 0.12, "around the resonance: 360 points, whose neighbours are correlated")
}

func TestImpedanceWithoutAKnownResistorSaysSo(t *testing.T) {
	z, err := level.Divider{Series: exact(330, level.Ohm)}.Impedance(ratio(t, dynamic, 330, 0, 1e-5, 3))
	require.NoError(t, err)
	require.Len(t, z.Findings, 1)
	assert.Contains(t, z.Findings[0].What, "same gain")
	// 5 % of gain: Z = Rs T/(1 − T) has an error of at least 5 % · |1 + Z/Rs|.
	assert.Greater(t, cmplx.Abs(at(t, z, 1000))/cmplx.Abs(dynamic.at(1000)), 1.08, "the mismatch of the simulated inputs")
}

func TestImpedanceIsNotKnownInNoise(t *testing.T) {
	source, across := bridge(dynamic, 330, 0, 5.12, 1e-5, 5)
	hum := func(x []float64) []float64 { // noise as strong as the signal below 1 kHz
		return sum(x, through(noise(uint64(len(x))+uint64(1e6*x[7]), 0.1, 5.12), func(f float64) complex128 {
			if f < 1000 {
				return 1
			}
			return 0
		}))
	}
	r, err := level.RatioFromNoise(hum(source), hum(across), rate)
	require.NoError(t, err)
	z, err := level.Divider{Series: exact(330, level.Ohm)}.Impedance(r)
	require.NoError(t, err)
	assert.True(t, cmplx.IsNaN(at(t, z, 500)), "coherence below 10/11")
	assert.False(t, cmplx.IsNaN(at(t, z, 2000)))
}

func TestImpedanceMistakes(t *testing.T) {
	source, across := bridge(dynamic, 330, 0, 5, 1e-5, 5)
	silent := make([]float64, len(source))
	series := exact(330, level.Ohm)
	for _, c := range []struct {
		name         string
		source, load []float64
		d            level.Divider
		want         error
	}{
		{"channels swapped", across, source, level.Divider{Series: series}, level.ErrSwapped},
		{"one channel reversed", source, scaled(across, -1), level.Divider{Series: series}, level.ErrReversed},
		{"series resistor of zero", source, across, level.Divider{}, level.ErrSeriesResistor},
		{"series resistor is an input error", source, across, level.Divider{}, level.ErrInput},
		{"resistor bridged or no load", source, scaled(source, 0.9999), level.Divider{Series: series}, level.ErrNoCurrent},
		{"load shorted", scaled(source, 8), scaled(across, 1e-3), level.Divider{Series: series}, level.ErrShorted},
		{"load channel silent", source, silent, level.Divider{Series: series}, level.ErrNoSignal},
		{"source channel silent", silent, across, level.Divider{Series: series}, level.ErrNoSignal},
		{"unequal lengths", source, across[1:], level.Divider{Series: series}, level.ErrUnequal},
		{"too short", source[:4*rate], across[:4*rate], level.Divider{Series: series}, level.ErrNoSignal},
		{"two noises", noise(1, 0.1, 5), noise(2, 0.1, 5), level.Divider{Series: series}, level.ErrNoSignal},
		{"reference at other frequencies", source, across, level.Divider{Series: series, Known: series, Reference: &level.Ratio{}}, level.ErrUnequal},
		{"known resistor of zero", source, across, level.Divider{Series: series, Reference: &level.Ratio{}}, level.ErrInput},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := level.RatioFromNoise(c.source, c.load, rate)
			if err == nil {
				_, err = c.d.Impedance(r)
			}
			require.ErrorIs(t, err, c.want)
			assert.Contains(t, err.Error(), "level: ")
		})
	}
}

// A delay of 30 µs between the inputs turns the ratio by 108° at 10 kHz: the resistance seems
// negative up there, and the magnitude is wrong below as well.
func TestNegativeResistanceIsSuspicious(t *testing.T) {
	source, across := bridge(resistor, 100, 0, 5, 1e-5, 5)
	r, err := level.RatioFromNoise(source, through(across, func(f float64) complex128 { return cmplx.Rect(1, -2*math.Pi*f*30e-6) }), rate)
	require.NoError(t, err)
	r.Valid.High = 12000
	z, err := level.Divider{Series: exact(100, level.Ohm)}.Impedance(r)
	require.NoError(t, err)
	assert.Contains(t, fmt.Sprint(z.Findings), "below zero")
	assert.True(t, cmplx.IsNaN(at(t, z, 10000)))
	assert.Contains(t, fmt.Sprint(z.Findings), "not known at any frequency")
	assert.True(t, cmplx.IsNaN(at(t, z, 200)), "the delay turns the ratio there too")
	assert.False(t, z.At(200).Known())
}

// The lowest of a magnitude, by hand.
func TestLowestImpedance(t *testing.T) {
	z := magnitudes([]float64{20, 100, 1000, 20000}, []float64{310, 500, 300, 350})
	lowest, f := z.Lowest(response.AllFrequencies)
	assert.Equal(t, 300.0, lowest.Value)
	assert.Equal(t, 1000.0, f)
	assert.True(t, math.IsNaN(lowest.Uncertainty))
	lowest, _ = z.Lowest(response.Band{Low: 30000, High: 40000})
	assert.False(t, lowest.Known())
}

// magnitudes returns an impedance of which only the magnitude is known.
func magnitudes(frequency, ohms []float64) level.Impedance {
	z := level.Impedance{Frequency: frequency, Valid: response.Band{Low: frequency[0], High: frequency[len(frequency)-1]}}
	for _, v := range ohms {
		z.Ohms = append(z.Ohms, complex(v, 0))
	}
	return z
}

// at returns the impedance at one of its own frequencies.
func at(t *testing.T, z level.Impedance, f float64) complex128 {
	t.Helper()
	i := floats.NearestIdx(z.Frequency, f)
	require.InDelta(t, f, z.Frequency[i], 1e-6, "Hz")
	if !z.Valid.Contains(f) {
		return cmplx.NaN()
	}
	return z.Ohms[i]
}

// Circuit theory: a load of Z behind Zo. 300 Ω behind 120 Ω: −2.92 dB; the resonance of 500 Ω:
// −1.87 dB; 32 Ω behind 10 Ω: −2.36 dB.
func TestOutputLoss(t *testing.T) {
	for _, c := range []struct {
		name         string
		z            complex128
		output, want float64
	}{
		{"300 Ω", 300, 120, -2.9226},
		{"500 Ω", 500, 120, -1.8684},
		{"32 Ω", 32, 10, -2.3620},
		{"none", 32, 0, 0},
		{"an inductance in quadrature, 3-4-5", 40i, 30, 20 * math.Log10(0.8)},
	} {
		t.Run(c.name, func(t *testing.T) {
			z := level.Impedance{Frequency: []float64{100, 1000}, Ohms: []complex128{c.z, c.z}, PhaseKnown: true, Uncertainty: []float64{0, 0}, Valid: response.AllFrequencies}
			loss, err := level.OutputLoss(z, exact(c.output, level.Ohm))
			require.NoError(t, err)
			assert.InDelta(t, c.want, loss.At(1000), 1e-4, "digits of the reference")
			assert.InDelta(t, 0, loss.UncertaintyAt(1000), 1e-12, "exact inputs")
		})
	}
	t.Run("a magnitude alone leaves the phase open", func(t *testing.T) {
		z := magnitudes([]float64{100, 1000}, []float64{40, 40})
		z.Uncertainty = []float64{0, 0}
		loss, err := level.OutputLoss(z, exact(30, level.Ohm))
		require.NoError(t, err)
		assert.InDelta(t, 20*math.Log10(4.0/7), loss.At(100), 1e-9, "resistive")
		assert.InDelta(t, 20*math.Log10(0.8/(4.0/7))/math.Sqrt(3), loss.UncertaintyAt(100), 1e-9, "2.9 dB of range")
		z.Uncertainty = nil
		loss, err = level.OutputLoss(z, exact(30, level.Ohm))
		require.NoError(t, err)
		assert.Nil(t, loss.Uncertainty)
	})
	t.Run("uncertainty of both", func(t *testing.T) {
		// d(dB) = 20/ln 10 · Zo/(Z + Zo) · √((u(Z)/Z)² + (u(Zo)/Zo)²), 10 Ω of 32 Ω with 5 % each:
		// 0.146 dB.
		z := level.Impedance{Frequency: []float64{100, 1000}, Ohms: []complex128{32, 32}, PhaseKnown: true, Uncertainty: []float64{1.6, 1.6}, Valid: response.AllFrequencies}
		loss, err := level.OutputLoss(z, response.Figure{Value: 10, Uncertainty: 0.5, Unit: level.Ohm})
		require.NoError(t, err)
		assert.InDelta(t, 0.1462, loss.UncertaintyAt(100), 0.001, "second order of 5 %")
	})
	_, err := level.OutputLoss(level.Impedance{}, exact(-1, level.Ohm))
	assert.ErrorIs(t, err, level.ErrInput)
}

func TestRatioAtARateThatNoRecorderHas(t *testing.T) {
	for _, hertz := range []int{-1, 0, 100, 1 << 31} {
		_, err := level.RatioFromNoise(noise(1, 0.1, 5), noise(2, 0.1, 5), hertz)
		assert.ErrorIs(t, err, level.ErrInput, "%d Hz", hertz)
	}
}

// A straight line in dB over the logarithm of frequency is a geometric mean in ohm half-way, by
// hand: √(100 · 400) = 200, with the mean of the relative uncertainties, 1 % and 3 %.
func TestImpedanceBetweenPoints(t *testing.T) {
	z := level.Impedance{Frequency: []float64{500, 2000, 4000}, Ohms: []complex128{100, 400i, 50}, Uncertainty: []float64{1, 12, 1},
		Valid: response.Band{Low: 500, High: 4000}}
	got := z.At(1000)
	assert.InDelta(t, 200, got.Value, 1e-9, "rounding")
	assert.InDelta(t, 4, got.Uncertainty, 1e-9, "rounding")
	assert.InDelta(t, 400, z.At(2000).Value, 1e-9, "rounding")
	assert.False(t, z.At(5000).Known())
}

// Of a hundred points with noise of 1 % the lowest is 2.5 % low (the expected extreme of a hundred
// normal values is 2.51 deviations); the lowest of means over 1/12 octave is not.
func TestLowestIsNotTheLowestOfTheNoise(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	frequency, ohms := make([]float64, 100), make([]float64, 100)
	for i := range frequency {
		frequency[i], ohms[i] = 1000+float64(i), 50+0.5*r.NormFloat64()
	}
	lowest, _ := magnitudes(frequency, ohms).Lowest(response.AllFrequencies)
	assert.InDelta(t, 50, lowest.Value, 0.4, "Ω; the ends have means of 29 points, whose deviation is 0.1")
	for i := range frequency {
		frequency[i] = 20 + float64(i)
	}
	lowest, _ = magnitudes(frequency, ohms).Lowest(response.AllFrequencies)
	assert.InDelta(t, 50, lowest.Value, 0.6, "Ω; the ends have means of 9 points, whose deviation is 0.17; of single points it would be 1.25 off")
}

func BenchmarkRatioFromNoise(b *testing.B) {
	source, across := bridge(dynamic, 330, 0, 30, 1e-5, 1)
	b.SetBytes(int64(16 * len(source)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := level.RatioFromNoise(source, across, rate); err != nil {
			b.Fatal(err)
		}
	}
}
