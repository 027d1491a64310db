package response_test

import (
	"math"
	"math/cmplx"
	"testing"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/known"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var audible = response.Band{Low: 20, High: 20000}

// degreesApart returns the largest difference in degrees between a phase at the transfer function's
// frequencies and the truth over a band.
func degreesApart(tr *response.Transfer, phase []float64, band response.Band, truth func(f float64) float64) float64 {
	worst := 0.0
	for i, f := range tr.Frequencies() {
		if band.Contains(f) {
			worst = max(worst, math.Abs(phase[i]-truth(f))*180/math.Pi)
		}
	}
	return worst
}

// The cookbook's filters are minimum phase: their magnitude gives their phase.
func TestMinimumPhaseOfTheCookbooksFilters(t *testing.T) {
	for name, c := range map[string]struct {
		filters biquad.Chain
		// degrees, over the inner band and to the ends
		inner, all float64
	}{
		"a resonance":            {biquad.Chain{biquad.New(biquad.Peaking, 3000, 3, 6, 48000)}, 0.01, 0.02},
		"three filters":          {device(48000), 0.03, 0.2},
		"a high pass at 40 Hz":   {biquad.Chain{biquad.New(biquad.HighPass, 40, 0.7, 0, 48000)}, 2.5, 10},
		"a low pass at 15 kHz":   {biquad.Chain{biquad.New(biquad.LowPass, 15000, 0.7, 0, 48000)}, 10, 75},
		"shelves away from ends": {biquad.Chain{biquad.New(biquad.LowShelf, 300, 0.7, 6, 48000), biquad.New(biquad.HighShelf, 3000, 0.7, -6, 48000)}, 0.03, 0.2},
	} {
		t.Run(name, func(t *testing.T) {
			tr := transferOf(48000, 48000, audible, chained(c.filters, 48000))
			truth := func(f float64) float64 { return cmplx.Phase(c.filters.Response(f, 48000)) }
			phase, _ := tr.MinimumPhase()
			require.Len(t, phase, len(tr.Frequencies()))
			assert.Less(t, degreesApart(tr, phase, response.Band{Low: 80, High: 8000}, truth), c.inner, "80 Hz–8 kHz; the magnitude beyond the band is not known")
			assert.Less(t, degreesApart(tr, phase, audible, truth), c.all, "to the ends")
			beyond, _ := tr.ExcessPhase()
			excess := degreesApart(tr, beyond, response.Band{Low: 80, High: 8000}, func(float64) float64 { return 0 })
			assert.Less(t, excess, c.inner, "nothing exceeds it")
		})
	}
}

func TestMinimumPhaseOfTheWholeAxisIsExact(t *testing.T) {
	filters := device(48000)
	tr := transferOf(48000, 48000, response.AllFrequencies, chained(filters, 48000))
	phase, _ := tr.MinimumPhase()
	worst := degreesApart(tr, phase, response.AllFrequencies, func(f float64) float64 { return cmplx.Phase(filters.Response(f, 48000)) })
	assert.Less(t, worst, 0.001, "degrees; aliasing of the cepstrum on 48 000 points")
}

func TestMinimumPhaseWhereSomethingIsNotKnown(t *testing.T) {
	filters := biquad.Chain{biquad.New(biquad.Peaking, 3000, 3, 6, 48000)}
	tr := transferOf(48000, 48000, audible, chained(filters, 48000))
	for _, k := range []int{20, 21, 300, 5000} {
		tr.Bins[k] = cmplx.NaN()
	}
	tr.Bins[20000] = 0
	phase, _ := tr.MinimumPhase()
	truth := func(f float64) float64 { return cmplx.Phase(filters.Response(f, 48000)) }
	assert.Less(t, degreesApart(tr, phase, audible, truth), 0.1, "degrees; a bin takes the value of its neighbour")
}

// The minimum phase does not contain an all-pass or a delay.
func TestExcessPhaseOfAnAllPassAndADelay(t *testing.T) {
	const delay = 0.0002
	allPass := func(f float64) complex128 { // (1 − jf/f0)/(1 + jf/f0), f0 = 500 Hz
		x := complex(0, f/500)
		return (1 - x) / (1 + x)
	}
	filters := biquad.Chain{biquad.New(biquad.Peaking, 3000, 3, 6, 48000)}
	for name, gain := range map[string]complex128{"as it is": 1, "reversed polarity": -1} {
		tr := transferOf(48000, 48000, audible, func(f float64) complex128 {
			return gain * filters.Response(f, 48000) * allPass(f) * cmplx.Rect(1, -2*math.Pi*f*delay)
		})
		excess, u := tr.ExcessPhase()
		assert.Len(t, u, len(excess))
		offset := 0.0
		if gain == -1 {
			offset = math.Pi * math.Copysign(1, excess[0])
		}
		worst := degreesApart(tr, excess, audible, func(f float64) float64 {
			return offset - 2*math.Atan(f/500) - 2*math.Pi*f*delay
		})
		assert.Less(t, worst, 0.02, "%s, degrees; as the minimum phase of the resonance", name)
	}
}

func TestUnwrappedPhaseOfADelay(t *testing.T) {
	const delay = 0.05
	tr := transferOf(48000, 48000, audible, func(f float64) complex128 { return cmplx.Rect(1, -2*math.Pi*f*delay) })
	unwrapped, wrapped := tr.UnwrappedPhase(), tr.Phase()
	start := unwrapped[0] + 2*math.Pi*20*delay
	assert.InDelta(t, math.Round(start/(2*math.Pi)), start/(2*math.Pi), 1e-9, "whole turns at the first bin")
	for i, f := range tr.Frequencies() {
		require.InDelta(t, start-2*math.Pi*f*delay, unwrapped[i], 1e-6, "%g Hz; 1000 turns in double precision", f)
		require.LessOrEqual(t, math.Abs(wrapped[i]), math.Pi)
	}
}

// Closed form of a digital filter's group delay: Re Σ k b_k z^−k / B(z), less
// that of the denominator. The reference values are SciPy's, by
// testdata/reference/biquad.py.
func TestGroupDelayOfABiquad(t *testing.T) {
	var cases []struct {
		Shape             string
		SampleRate        float64
		B, A              []float64
		Frequency         []float64
		GroupDelaySamples []float64
	}
	known.Values(t, "biquad.json", &cases)
	for _, c := range cases {
		t.Run(c.Shape, func(t *testing.T) {
			q := biquad.Filter{B0: c.B[0], B1: c.B[1], B2: c.B[2], A1: c.A[1], A2: c.A[2]}
			fs := int(c.SampleRate)
			tr := transferOf(fs, fs, response.AllFrequencies, func(f float64) complex128 { return q.Response(f, c.SampleRate) })
			delay, frequency := tr.GroupDelay(), tr.Frequencies()
			for i, f := range c.Frequency {
				k := int(math.Round(f)) - 1 // bins of 1 Hz, from 1 Hz
				if math.Abs(frequency[k]-f) > 1e-6 {
					continue // the reference is between bins
				}
				want := c.GroupDelaySamples[i]
				assert.InDelta(t, want, delay[k]*c.SampleRate, 0.01+0.01*math.Abs(want), "%g Hz; a difference over 2 Hz for a slope", f)
			}
		})
	}
}

func TestGroupDelayOfADelay(t *testing.T) {
	tr := transferOf(48000, 4800, audible, func(f float64) complex128 { return cmplx.Rect(1, -2*math.Pi*f*0.003) })
	for i, v := range tr.GroupDelay() {
		require.InDelta(t, 0.003, v, 1e-12, "bin %d, ends included; double precision", i)
	}
	one := transferOf(48000, 4800, response.Band{Low: 20, High: 21}, func(float64) complex128 { return 1 })
	require.Len(t, one.GroupDelay(), 1)
	isNaN(t, one.GroupDelay()[0], "one bin has no slope")
}

// The mean of the directions 170° and −170° is 180°, whereas that of the numbers is 0°.
func TestMeanPhaseByHand(t *testing.T) {
	degrees := func(v ...float64) []float64 {
		for i := range v {
			v[i] *= math.Pi / 180
		}
		return v
	}
	got := response.MeanPhase(degrees(10, 170, 0, 0, 0, math.NaN()), degrees(30, -170, 119, 121, 180, 0))
	for i, want := range []float64{20, 180, 59.5} {
		assert.InDelta(t, 0, math.Remainder(got[i]*180/math.Pi-want, 360), 1e-9, "degrees; rounding")
	}
	for _, v := range got[3:] {
		isNaN(t, v, "no common direction, or not known")
	}
	assert.Nil(t, response.MeanPhase())
	assert.Panics(t, func() { response.MeanPhase(degrees(1, 2), degrees(1)) })
}

// Resonances and slopes on, beside and beyond the ends of a band from 20 Hz to 20 kHz: the phase of
// the cookbook's filters, by their formula, lies within two standard uncertainties.
func TestMinimumPhaseStatesWhatItDoesNotKnow(t *testing.T) {
	race.Skip(t)
	type shape struct {
		biquad.Shape
		q, gain float64
	}
	resonances := []shape{{biquad.Peaking, 8, 12}, {biquad.Peaking, 8, -12}, {biquad.Peaking, 2, 12}}
	for _, f := range []float64{14, 18, 20, 22, 25, 30, 40, 15000, 18000, 20000, 21000} {
		all := append(resonances[:len(resonances):len(resonances)], shape{biquad.HighPass, 0.7, 0}, shape{biquad.HighPass, 4, 0})
		if f > 1000 {
			all = append(resonances[:len(resonances):len(resonances)], shape{biquad.LowPass, 0.7, 0})
		}
		for _, c := range all {
			filter := biquad.Chain{biquad.New(c.Shape, f, c.q, c.gain, 48000)}
			tr := transferOf(48000, 48000, audible, chained(filter, 48000))
			phase, u := tr.MinimumPhase()
			for i, at := range tr.Frequencies() {
				e := math.Abs(math.Remainder(phase[i]-cmplx.Phase(filter.Response(at, 48000)), 2*math.Pi))
				if e > 2.2*u[i]+0.01 {
					t.Fatalf("%.0f Hz, %v at %v Hz: %.2f rad off with u = %.2f rad", at, c, f, e, u[i])
				}
			}
		}
	}
	_, u := transferOf(48000, 48000, audible, func(float64) complex128 { return 1 }).MinimumPhase()
	for f, most := range map[int]float64{30: 40, 80: 14, 1000: 5, 6000: 14, 14000: 40} {
		assert.Less(t, u[f-20]*180/math.Pi, most, "degrees at %d Hz, for a level response: the uncertainty must not be large everywhere", f)
	}
}

func BenchmarkMinimumPhase(b *testing.B) {
	tr := transferOf(48000, 96000, audible, chained(device(48000), 48000))
	b.ReportAllocs()
	for b.Loop() {
		tr.MinimumPhase()
	}
}
