package response_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/known"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
)

// Filters with published coefficients, by freqz, grpdelay, rceps and filter of GNU
// Octave: testdata/reference/response.m.
func TestFiltersEqualOctave(t *testing.T) {
	race.Skip(t)
	var reference struct {
		Filters []struct {
			SampleRate                                               float64
			B, A                                                     []float64
			Frequency, Level, Phase, GroupDelaySamples, MinimumPhase []float64
			Step                                                     []float64
		}
	}
	known.Values(t, "response.json", &reference)
	require.Len(t, reference.Filters, 5)
	for _, c := range reference.Filters {
		q := biquad.Filter{B0: c.B[0], B1: c.B[1], B2: c.B[2], A1: c.A[1], A2: c.A[2]}
		h := &response.Impulse{Samples: make([]float64, 1<<13), SampleRate: int(c.SampleRate), Valid: response.AllFrequencies}
		h.Samples[0] = 1
		q.Apply(h.Samples)
		for i, want := range c.Step {
			assert.InDelta(t, want, h.Step(nil)[20*i], 1e-11, "step, sample %d; rounding of 200 additions", 20*i)
		}
		tr := h.TransferAbout(0, int(c.SampleRate)) // bins of 1 Hz
		magnitude, phase, delay := tr.Magnitude(), tr.Phase(), tr.GroupDelay()
		least, _ := tr.MinimumPhase()
		excess, _ := tr.ExcessPhase()
		for i, f := range c.Frequency {
			k := int(f) - 1
			require.InDelta(t, f, tr.Frequencies()[k], 1e-9)
			assert.InDelta(t, c.Level[i], magnitude.Level[k], 1e-9, "%g Hz; rounding", f)
			assert.InDelta(t, 0, math.Remainder(c.Phase[i]-phase[k], 2*math.Pi), 1e-9, "%g Hz; rounding", f)
			assert.InDelta(t, c.GroupDelaySamples[i], delay[k]*c.SampleRate, 1e-4, "samples, %g Hz; a difference over 2 Hz for a slope", f)
			assert.InDelta(t, 0, math.Remainder(c.MinimumPhase[i]-least[k], 2*math.Pi), 1e-5, "%g Hz; both fold a cepstrum that is cut somewhere", f)
			assert.InDelta(t, 0, math.Remainder(c.Phase[i]-c.MinimumPhase[i]-excess[k], 2*math.Pi), 1e-5, "%g Hz; the same", f)
		}
	}
}

// A curve between its points and its mean over a band, by interp1 and trapz of GNU
// Octave: testdata/reference/response.m.
func TestCurveEqualsOctave(t *testing.T) {
	var reference struct {
		Curve struct {
			Frequency, Level, At, Between []float64
			Mean                          float64
		}
	}
	known.Values(t, "response.json", &reference)
	r := reference.Curve
	c, err := response.NewCurve(r.Frequency, r.Level)
	require.NoError(t, err)
	resampled := c.Resample(r.At)
	for i, f := range r.At {
		assert.InDelta(t, r.Between[i], c.At(f), 1e-12, "%g Hz; rounding", f)
		assert.Equal(t, c.At(f), resampled.Level[i])
	}
	assert.InDelta(t, r.Mean, c.MeanOver(response.AllFrequencies), 1e-7, "straight lines, whose corners the trapezoids of 1/20 000 of the band miss")
	ends := math.Log2(r.Frequency[len(r.Frequency)-1] / r.Frequency[0])
	sum := 0.0
	for _, w := range c.OctaveWeights() {
		sum += w
	}
	assert.InDelta(t, ends, sum, 1e-12, "the cells make up the whole; rounding")
	assert.InDelta(t, math.Log2(50./20)/2, c.OctaveWeights()[1], 1e-12, "from half-way to 20 Hz to half-way to 50 Hz")
}

// Quantiles by scipy.stats: testdata/reference/statistics.py.
func TestQuantilesEqualSciPy(t *testing.T) {
	var reference struct {
		Quantiles []struct{ Probability, Freedom, Factor float64 }
	}
	known.Values(t, "statistics.json", &reference)
	require.Len(t, reference.Quantiles, 56)
	low, high := response.NotKnown("dB").Interval(0.95)
	assert.True(t, math.IsNaN(low) && math.IsNaN(high), "no quantile makes an interval of what is not known")
	for _, q := range reference.Quantiles {
		f := response.Figure{Value: 3, Uncertainty: 0.5, DegreesOfFreedom: q.Freedom, Unit: "dB"}
		assert.InEpsilon(t, q.Factor, f.Coverage(q.Probability), 1e-8, "%v; two routines for one quantile", q)
		low, high := f.Interval(2*q.Probability - 1)
		assert.InEpsilon(t, 1+0.5*q.Factor, 1+high-3, 1e-8, "%v", q)
		assert.InEpsilon(t, 1+0.5*q.Factor, 1+3-low, 1e-8, "%v", q)
		low, high = f.WithBounds(2.9, 3.1).Interval(2*q.Probability - 1)
		assert.Equal(t, []float64{max(2.9, 3-0.5*f.Coverage(q.Probability)), min(3.1, 3+0.5*f.Coverage(q.Probability))}, []float64{low, high}, "cut where it cannot go")
		if n := int(q.Freedom) + 1; q.Freedom == float64(n-1) && n > 1 && n < 10 {
			a := averageOfScattered(t, n)
			assert.InEpsilon(t, q.Factor*a.Spread[0]/math.Sqrt(float64(n)), a.Level.HalfWidth(2*q.Probability - 1)[0], 1e-8, "%d seatings", n)
		}
	}
}

// averageOfScattered returns the average of n different seatings of a level curve.
func averageOfScattered(t testing.TB, n int) *response.Average {
	t.Helper()
	var curves []response.Curve
	for k := range n {
		v := math.Sin(float64(k + 1))
		c, err := response.NewCurve([]float64{100, 1000}, []float64{v, -v})
		require.NoError(t, err)
		curves = append(curves, c)
	}
	a, err := response.AverageOf(curves)
	require.NoError(t, err)
	return a
}

// White noise of rms σ, deconvolved by a sweep of amplitude A and rate L and cut by a window that
// keeps N samples' worth of power, has N σ² over the sweep's own spectrum squared, (A/2)² (L/f)
// fs².
func TestDeconvolvedWhiteNoiseHasAClosedForm(t *testing.T) {
	const fs, sigma = 48000, 1e-4
	s := common().Sweep()
	random := rand.New(rand.NewPCG(5, 6))
	silence := make([]float64, 4*fs)
	for i := range silence {
		silence[i] = sigma * random.NormFloat64()
	}
	n, err := response.NewNoise(silence, fs)
	require.NoError(t, err)
	before, after := 200*time.Millisecond, 500*time.Millisecond
	kept := 0.7*fs - (1-3./8)*(0.1+0.125)*fs // raised cosines over half of before and a quarter of after keep 3/8
	h, err := mustDeconvolver(t, s, response.DeconvolverConfig{}).Impulse(played(s, 0))
	require.NoError(t, err)
	c, err := h.WindowAt(0, before, after).Floor(n, []float64{100, 500, 1000, 5000, 10000})
	require.NoError(t, err)
	for i, f := range c.Frequency {
		want := 10 * math.Log10(kept*sigma*sigma*f/(s.Amplitude()*s.Amplitude()/4*s.TimeConstant()*fs*fs))
		assert.InDelta(t, want, c.Level[i], 1, "%v Hz; five bins of 45 averages: 0.3 dB standard error", f)
	}
}
