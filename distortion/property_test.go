package distortion_test

import (
	"math"
	"sync"
	"testing"
	"time"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

// briefSweep returns a short sweep, so that many cases take little time.
var briefSweep = sync.OnceValue(func() *sweep.Sweep {
	s, err := sweep.New(sweep.Config{Start: 100, Stop: 1500, Duration: 500 * time.Millisecond, SampleRate: 12000})
	if err != nil {
		panic(err)
	}
	return s
})

// brief returns the deconvolver of the short sweep.
var brief = sync.OnceValue(func() *response.Deconvolver {
	d, err := response.NewDeconvolver(briefSweep(), response.DeconvolverConfig{Orders: 3, Longest: time.Second})
	if err != nil {
		panic(err)
	}
	return d
})

// bentSweep returns the sweep through a x + b x² + c x³, whose harmonics do not fold below 12 kHz,
// beginning at a sample.
func bentSweep(b, c float64, at int) []float64 {
	x := make([]float64, 8500)
	for i, v := range briefSweep().Samples() {
		x[at+i] = v + b*v*v + c*v*v*v
	}
	return x
}

func harmonicsOf(t *rapid.T, recording []float64) *distortion.HarmonicSet {
	parts, err := brief().Separate(recording)
	require.NoError(t, err)
	hs, err := distortion.Harmonics(parts, distortion.Config{PerOctave: 6, Silence: quiet(12000)})
	require.NoError(t, err)
	return hs
}

func sameLevels(t *rapid.T, want, got []float64, tolerance float64, why string) {
	require.Len(t, got, len(want))
	for i := range want {
		require.Equal(t, math.IsNaN(want[i]), math.IsNaN(got[i]), why)
		require.False(t, math.Abs(want[i]-got[i]) > tolerance, "%v and %v: %s", want[i], got[i], why)
	}
}

func each(all []distortion.THD, value func(distortion.THD) float64) []float64 {
	out := make([]float64, len(all))
	for i, thd := range all {
		out[i] = value(thd)
	}
	return out
}

// The distortion relative to the fundamental depends on neither the gain of the recorder, nor its
// polarity, nor the time at which it was started.
func TestPropertyDistortionIsRelative(t *testing.T) {
	long.Skip(t)
	rapid.Check(t, func(t *rapid.T) {
		b, c := rapid.Float64Range(0.001, 0.1).Draw(t, "b"), rapid.Float64Range(0.001, 0.1).Draw(t, "c")
		gain := rapid.Float64Range(0.01, 2).Draw(t, "gain") * []float64{1, -1}[rapid.IntRange(0, 1).Draw(t, "polarity")]
		at := rapid.IntRange(0, 2000).Draw(t, "at")
		one, moved := bentSweep(b, c, 500), bentSweep(b, c, at)
		floats.Scale(gain, moved)
		p, q := harmonicsOf(t, one), harmonicsOf(t, moved)
		require.InDelta(t, p.Delay+float64(at-500)/12000, q.Delay, 1e-8, "it begins when it begins")
		for i := range p.Linear {
			require.InDelta(t, p.Linear[i]+20*math.Log10(math.Abs(gain)), q.Linear[i], 1e-6, "rounding")
		}
		for k := range p.Orders {
			sameLevels(t, p.Orders[k].AsRead, q.Orders[k].AsRead, 1e-4, "rounding, 60 dB down")
		}
		for _, total := range []func(distortion.THD) float64{
			func(thd distortion.THD) float64 { return thd.Value / 100 },
			func(thd distortion.THD) float64 { return thd.ReTotal().Value / 100 },
		} {
			sameLevels(t, each(everyTHD(p), total), each(everyTHD(q), total), 1e-6, "rounding")
		}
	})
}

// Total distortion is no less than any of its harmonics, and r re fundamental is r/√(1 + r²) re
// total.
func TestPropertyTotalDistortionContainsItsHarmonics(t *testing.T) {
	race.Skip(t)
	rapid.Check(t, func(t *rapid.T) {
		hs := harmonicsOf(t, bentSweep(rapid.Float64Range(0.001, 0.1).Draw(t, "b"), rapid.Float64Range(0.001, 0.1).Draw(t, "c"), 300))
		for i, r := range everyTHD(hs) {
			ratio, ofTotal := r.Value/100, r.ReTotal().Value/100
			require.Equal(t, hs.Fundamental[i], r.Frequency)
			sum, known := 0.0, true
			for _, o := range hs.Orders {
				if o.N > highest(r) {
					continue
				}
				known = known && !math.IsNaN(o.AsRead[i])
				sum += math.Pow(10, o.AsRead[i]/10) - math.Pow(10, o.Floor[i]/10)
			}
			require.Equal(t, math.IsNaN(ratio), math.IsNaN(ofTotal))
			if math.IsNaN(ratio) {
				require.Empty(t, r.Contains)
				continue
			}
			require.True(t, known, "it contains what is known and nothing else")
			require.InEpsilon(t, math.Sqrt(sum), ratio, 1e-9, "rounding")
			require.InEpsilon(t, ratio/math.Hypot(1, ratio), ofTotal, 1e-9, "rounding")
			require.InEpsilon(t, r.Value, hs.THD(r.Frequency).Value, 1e-9, "rounding")
		}
	})
}
