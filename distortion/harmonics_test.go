package distortion_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// powerReduction holds the amplitudes of the harmonics of sin to a power, by power and harmonic,
// NIST DLMF §4.21.
var powerReduction = map[int]map[int]float64{
	1: {1: 1},
	2: {2: 1. / 2},
	3: {1: 3. / 4, 3: 1. / 4},
	4: {2: 1. / 2, 4: 1. / 8},
	5: {1: 5. / 8, 3: 5. / 16, 5: 1. / 16},
}

// signs holds those of the harmonics of sin to a power: sin³ = ¾ sin − ¼ sin 3φ, sin² = ½ − ½ cos
// 2φ, and so on. Even harmonics are cosines.
var signs = map[int]map[int]float64{
	1: {1: 1},
	2: {2: -1},
	3: {1: 1, 3: -1},
	4: {2: -1, 4: 1},
	5: {1: 1, 3: -1, 5: 1},
}

// expected returns the level in dB of the harmonics relative to the fundamental of a sine of
// amplitude a through Σ c[m] x^m.
func expected(c []float64, a float64) map[int]float64 {
	amplitude := map[int]float64{}
	for m, v := range c {
		for n, share := range powerReduction[m] {
			amplitude[n] += v * math.Pow(a, float64(m)) * share * signs[m][n]
		}
	}
	level := map[int]float64{}
	for n, v := range amplitude {
		level[n] = 20 * math.Log10(math.Abs(v/amplitude[1]))
	}
	return level
}

// polynomial returns the device Σ c[m] x^m, by Horner's rule.
func polynomial(c []float64) func(x float64) float64 {
	return func(x float64) float64 {
		var y float64
		for m := len(c) - 1; m >= 0; m-- {
			y = y*x + c[m]
		}
		return y
	}
}

func TestPolynomialAgainstThePowerReductionIdentities(t *testing.T) {
	long.Skip(t)
	t.Parallel()
	strong := []float64{0, 1, 0.05, 0.03, 0.02, 0.01}
	weak := []float64{0, 1, 2e-4, 1e-3, 2.6e-4, 6.4e-4}
	for _, row := range []struct {
		name   string
		sweep  sweep.Config
		device []float64
	}{
		{"to 20 kHz, distortion of per cents", sweep.Config{Level: -3, Duration: 6 * time.Second}, strong},
		{"to 10 kHz, harmonics above the stop frequency", sweep.Config{Stop: 10000, Level: -3, Duration: 6 * time.Second}, strong},
		{"to 10 kHz, down to 90 dB below the fundamental", sweep.Config{Stop: 10000, Duration: 6 * time.Second}, weak},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := newSweep(t, row.sweep)
			hs, err := distortion.Harmonics(separate(t, s, 5, playAt4x(t, row.sweep, polynomial(row.device))), distortion.Config{})
			require.NoError(t, err)
			require.Len(t, hs.Orders, 4)
			want := expected(row.device, s.Amplitude())
			for _, o := range hs.Orders {
				assertLevel(t, hs, o, want[o.N], 0.1) // from the ends of the sweep in the valid band
				assert.GreaterOrEqual(t, o.Valid.Octaves(), 6.0, "order %d is known over %v", o.N, o.Valid)
				if row.sweep.Stop == 10000 && o.N == 2 {
					assert.Greater(t, 2*o.Valid.High, 19000.0, "the second harmonic is known far above the stop frequency")
				}
			}
		})
	}
}

// assertLevel checks that an order has a level at every fundamental at which it is known, and that
// these are the ones in its valid band.
func assertLevel(t *testing.T, hs *distortion.HarmonicSet, o distortion.Order, want, tolerance float64) {
	t.Helper()
	var worst float64
	for i, f := range hs.Fundamental {
		if !o.Valid.Contains(f) {
			assert.True(t, math.IsNaN(o.AsRead[i]), "order %d at %g Hz is not known", o.N, f)
			continue
		}
		if d := math.Abs(o.AsRead[i] - want); !(d <= worst) {
			worst = d
		}
	}
	assert.LessOrEqual(t, worst, tolerance, "order %d, %.1f dB expected", o.N, want)
}

func TestChebyshevPolynomialToTheEighthOrder(t *testing.T) {
	long.Skip(t)
	t.Parallel()
	// T_n(cos θ) = cos nθ (NIST DLMF 18.5.1): a device with one harmonic each.
	want := []float64{2: -40, 3: -50, 4: -60, 5: -70, 6: -80, 7: -90, 8: -100}
	for _, stop := range []float64{10000, 20000} {
		t.Run(response.FormatFrequency(stop), func(t *testing.T) {
			c := sweep.Config{Stop: stop, Level: -6, Duration: 4 * time.Second}
			s := newSweep(t, c)
			hs, err := distortion.Harmonics(separate(t, s, 8, playAt4x(t, c, chebyshev(want, s.Amplitude()))), distortion.Config{Orders: 8})
			require.NoError(t, err)
			for _, o := range hs.Orders {
				tolerance := 0.1 // from the ends of the sweep in the valid band
				if o.N > 6 {
					tolerance = 0.25 // at −100 dB that is 0.03 to 0.2 dB, depending on the length of the recording
				}
				assertLevel(t, hs, o, want[o.N], tolerance)
			}
		})
	}
}

// chebyshev returns a device that gives a sine of amplitude a the harmonics n at levels[n] dB. Its
// output at rest is 0.
func chebyshev(levels []float64, a float64) func(x float64) float64 {
	return func(x float64) float64 {
		u := x / a
		y, before, t := x, 1.0, u
		for n := 2; n < len(levels); n++ {
			before, t = t, 2*u*t-before
			atRest := math.Round(math.Cos(float64(n) * math.Pi / 2)) // T_n(0)
			y += a * math.Pow(10, levels[n]/20) * (t - atRest)
		}
		return y
	}
}

func TestPhaseOfExactHarmonics(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]sweep.Config{
		"synchronised":                        {Stop: 10000, Duration: 3 * time.Second},
		"as another program starts and lasts": {Stop: 10000, TimeConstant: 0.4826, Phase: 2.34},
	} {
		s := newSweep(t, c)
		want := []harmonic{{2, -60, 1}, {3, -40, -2}, {4, -70, 3}, {5, -90, 0.5}}
		hs, err := distortion.Harmonics(separate(t, s, 5, withHarmonics(s, want...)), distortion.Config{})
		require.NoError(t, err)
		assert.InDelta(t, 0.1, hs.Delay, 1e-7) // a hundredth of a sample
		for k, o := range hs.Orders {
			for i, f := range hs.Fundamental {
				if f < 100 || f > 4000 {
					continue
				}
				assert.InDelta(t, want[k].level, o.AsRead[i], 0.02, "%s: order %d at %g Hz", name, o.N, f) // away from the ends
				turn := math.Remainder(want[k].phase-o.Phase[i], 2*math.Pi)
				assert.InDelta(t, 0, turn, 0.01+1e-4*f/100, "%s: order %d at %g Hz", name, o.N, f) // the time of the peak is found to a hundredth of a sample
			}
		}
	}
}

func TestHarmonicThatRings(t *testing.T) {
	t.Parallel()
	// A resonance after the nonlinearity rings for ln(1000) Q/(πf) to −60 dB. That is 33 ms here,
	// since the poles of a peak of 20 dB have √10 times its Q. The highest order that the sweep
	// separates with that decay must show the resonance undistorted.
	const f, q = 1000, 15
	decay := time.Duration(math.Log(1000) * q / (math.Pi * f) * float64(time.Second))
	s := newSweep(t, sweep.Config{Stop: 10000, Duration: 6 * time.Second})
	orders := distortion.MaxOrders(s, decay)
	require.Greater(t, orders, 5)
	recording := withHarmonics(s, harmonic{orders, -60, 0}, harmonic{orders - 1, -60, 0}, harmonic{orders + 1, -60, 0})
	resonance := biquad.New(biquad.Peaking, f, q/math.Sqrt(10), 20, 48000)
	resonance.Apply(recording)
	hs, err := distortion.Harmonics(separate(t, s, orders, recording), distortion.Config{Decay: decay})
	require.NoError(t, err)
	require.Equal(t, orders, len(hs.Orders)+1)
	o := hs.Orders[orders-2]
	for i, fundamental := range hs.Fundamental {
		if f := fundamental * float64(orders); f < 500 || f > 5000 {
			continue
		}
		gain := func(f float64) float64 {
			h := resonance.Response(f, 48000)
			return 10 * math.Log10(real(h)*real(h)+imag(h)*imag(h))
		}
		want := -60 + gain(fundamental*float64(orders)) - gain(fundamental)
		assert.InDelta(t, want, o.AsRead[i], 0.3, "at %g Hz", fundamental) // ringing that is cut off, or of another order
	}
}

func TestOrdersThatASweepSeparates(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		seconds float64
		decay   time.Duration
	}{{6, 10 * time.Millisecond}, {6, 50 * time.Millisecond}, {1, 10 * time.Millisecond}, {20, 100 * time.Millisecond}, {2, time.Second}} {
		t.Run(fmt.Sprintf("%g s, ringing %v", row.seconds, row.decay), func(t *testing.T) {
			s := newSweep(t, sweep.Config{Duration: time.Duration(row.seconds * float64(time.Second))})
			n := distortion.MaxOrders(s, row.decay)
			// 0.55 of the way to the order below, three quarters of it untapered.
			room := func(n int) float64 { return 0.55 * 0.75 * (s.HarmonicAdvance(n) - s.HarmonicAdvance(n-1)) }
			if n > 1 {
				assert.GreaterOrEqual(t, room(n), row.decay.Seconds())
			}
			if n < 100 {
				assert.Less(t, room(n+1), row.decay.Seconds())
			}
			for _, orders := range []int{2, 5, 8} {
				long := newSweep(t, sweep.Config{Duration: distortion.MinDuration(20, 20000, orders, row.decay)})
				assert.GreaterOrEqual(t, distortion.MaxOrders(long, row.decay), orders, "the shortest sweep for %d orders", orders)
				// Synchronising may make the sweep longer by 0.17 s, the amount that was added.
				if shorter := distortion.MinDuration(20, 20000, orders, row.decay) - 400*time.Millisecond; shorter > 400*time.Millisecond {
					short := newSweep(t, sweep.Config{Duration: shorter})
					assert.Less(t, distortion.MaxOrders(short, row.decay), orders, "a shorter one")
				}
			}
		})
	}
	assert.Panics(t, func() { distortion.MinDuration(20, 20, 2, time.Second) })
	assert.Panics(t, func() { distortion.MinDuration(20, 200, 1, time.Second) })
}

func TestBadRequests(t *testing.T) {
	t.Parallel()
	s := newSweep(t, sweep.Config{Start: 100, Stop: 7000, SampleRate: 16000, Duration: time.Second})
	sep := separate(t, s, 5, withHarmonics(s, harmonic{2, -40, 0}))
	silence := make([]float64, 4000)
	addNoise(silence, 1, -90)
	bad := append([]float64{math.NaN()}, silence...)
	for _, row := range []struct {
		name   string
		config distortion.Config
		is     error
		says   string
	}{
		{"order one", distortion.Config{Orders: 1}, distortion.ErrOrders, "count from 2"},
		{"more than the deconvolution has room for", distortion.Config{Orders: 6}, distortion.ErrOrders, "room for 5"},
		{"more than the sweep separates", distortion.Config{Orders: 5, Decay: 100 * time.Millisecond}, distortion.ErrOrders, "at least 4.6 s"},
		{"a decay below zero", distortion.Config{Decay: -1}, nil, "decay"},
		{"averages below zero", distortion.Config{Averages: -1}, nil, "-1 averages"},
		{"points per octave below zero", distortion.Config{PerOctave: -1}, nil, "points per octave"},
		{"points without end", distortion.Config{PerOctave: 1e6}, nil, "points per octave"},
		{"a maximum frequency below zero", distortion.Config{MaxFrequency: -1}, nil, "maximum frequency"},
		{"a maximum frequency that is not a number", distortion.Config{MaxFrequency: math.NaN()}, nil, "maximum frequency"},
		{"a silence of another rate", distortion.Config{Silence: silence, SilenceRate: 48000}, response.ErrSilence, "48000 Hz"},
		{"a silence of a few samples", distortion.Config{Silence: silence[:100]}, response.ErrSilence, "100 samples"},
		{"a silence that is not a number", distortion.Config{Silence: bad}, response.ErrSilence, "sample 1"},
	} {
		t.Run(row.name, func(t *testing.T) {
			hs, err := distortion.Harmonics(sep, row.config)
			require.Error(t, err)
			assert.Nil(t, hs)
			assert.ErrorContains(t, err, row.says)
			if row.is != nil {
				assert.ErrorIs(t, err, row.is)
			}
		})
	}
}

func TestRecordingWithoutTheSweep(t *testing.T) {
	t.Parallel()
	s := newSweep(t, sweep.Config{Start: 100, Stop: 7000, SampleRate: 16000, Duration: time.Second})
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{})
	require.NoError(t, err)
	recording := make([]float64, s.Len()+8000)
	addNoise(recording, 1, -20)
	ir, err := d.Impulse(recording)
	require.NoError(t, err)
	separated := &response.Deconvolved{Linear: ir, Harmonics: ir, Sweep: s, Orders: 5}
	_, err = distortion.Harmonics(separated, distortion.Config{})
	assert.ErrorIs(t, err, response.ErrNoPeak)
	_, err = distortion.RubBuzz(separated, recording, distortion.Config{})
	assert.ErrorIs(t, err, response.ErrNoPeak)
}

func TestAboveTheCeilingNothingIsKnown(t *testing.T) {
	t.Parallel()
	s := newSweep(t, sweep.Config{Duration: 2 * time.Second})
	sep := separate(t, s, 5, withHarmonics(s, harmonic{2, -40, 0}, harmonic{3, -40, 0}))
	hs, err := distortion.Harmonics(sep, distortion.Config{MaxFrequency: 9000})
	require.NoError(t, err)
	for _, o := range hs.Orders {
		for i, f := range hs.Fundamental {
			if float64(o.N)*f > 9000 {
				assert.True(t, math.IsNaN(o.AsRead[i]), "order %d at %g Hz", o.N, f)
				assert.True(t, math.IsNaN(o.Phase[i]), "order %d at %g Hz", o.N, f)
			}
		}
	}
	at := func(f float64) int {
		for _, thd := range everyTHD(hs) {
			if thd.Frequency >= f {
				return highest(thd)
			}
		}
		return -1
	}
	assert.Equal(t, []int{5, 4, 3, 2, 0}, []int{at(1700), at(2000), at(2600), at(4000), at(5000)})
}

func TestResolutionOfTheWindow(t *testing.T) {
	t.Parallel()
	s := newSweep(t, sweep.Config{Duration: 6 * time.Second})
	hs, err := distortion.Harmonics(separate(t, s, 8, withHarmonics(s)), distortion.Config{})
	require.NoError(t, err)
	for k, o := range hs.Orders {
		n := float64(o.N)
		length := s.TimeConstant() * (0.4*math.Log((n+1)/n) + 0.55*math.Log(n/(n-1)))
		// A rectangle would have 1/length, a raised cosine of the full length 1.5 times that
		// (Harris 1978).
		assert.Greater(t, o.Resolution, 1/length)
		assert.Less(t, o.Resolution, 1.5/length)
		if k > 0 {
			assert.Greater(t, o.Resolution, hs.Orders[k-1].Resolution, "orders crowd as they rise")
		}
	}
}

// highest returns the highest order in a total, or 0 if there is none.
func highest(thd distortion.THD) int {
	if len(thd.Contains) == 0 {
		return 0
	}
	return slices.Max(thd.Contains)
}

// The caller owns the results: writing into them leaves the set unchanged.
func TestResultsShareNoMemory(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	silence := make([]float64, 16000)
	addNoise(silence, 1, -70)
	hs := harmonics(t, s, withHarmonics(s, harmonic{2, -40, 0}), distortion.Config{Silence: silence})
	copied, err := hs.WithRig(hs)
	require.NoError(t, err)
	level, thd := hs.Orders[0].Level(), everyTHD(hs)
	kernel, k := hs.Kernels()[1], hs.Kernels()[1]
	spoil := func(values ...[]float64) {
		for _, v := range values {
			for i := range v {
				v[i] = -1000
			}
		}
	}
	want := fmt.Sprint(hs.Orders[0].Readings, hs.Orders[1].Readings, hs.Fundamental, hs.Linear, hs.LinearUncertainty, kernel.Frequency, kernel.Uncertainty)
	spoil(level, k.Frequency, k.Uncertainty)
	spoil(copied.Fundamental, copied.Linear, copied.LinearUncertainty, copied.Orders[0].Fundamental, copied.Orders[0].AsRead)
	mean, total := distortion.MeanTHD(thd[len(thd)/2]), thd[len(thd)/2].ReTotal()
	require.NotEmpty(t, mean.Contains)
	mean.Contains[0], total.Contains[0] = 98, 99
	assert.NotContains(t, thd[len(thd)/2].Contains, 98)
	assert.NotContains(t, thd[len(thd)/2].Contains, 99)
	assert.Equal(t, want, fmt.Sprint(hs.Orders[0].Readings, hs.Orders[1].Readings, hs.Fundamental, hs.Linear, hs.LinearUncertainty, kernel.Frequency, kernel.Uncertainty))
}

// Below the floor the curve, the level and the percentage are not known, like the figure. The
// reading itself remains available as AsRead.
func TestBelowTheFloorNothingIsKnown(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	silence := make([]float64, 64000)
	addNoise(silence, 7, -70)
	hs, err := distortion.Harmonics(separate(t, s, 3, withHarmonics(s, harmonic{2, -40, 0})), distortion.Config{Silence: silence})
	require.NoError(t, err)
	second, third := hs.Orders[0], hs.Orders[1]
	assert.InDelta(t, -40, second.At(500).Value, 0.1)
	assert.True(t, math.IsNaN(third.At(500).Value))
	assert.False(t, math.IsNaN(third.At(500).AsRead))
	for i, level := range third.Level() {
		assert.True(t, math.IsNaN(level), "at %g Hz", hs.Fundamental[i])
	}
	only := distortion.HarmonicSet{Fundamental: hs.Fundamental, Orders: []distortion.Order{third}}
	thd := only.THD(500)
	assert.True(t, thd.Below)
	assert.True(t, math.IsNaN(thd.Value) && math.IsNaN(thd.ReTotal().Value))
	assert.Greater(t, thd.Bound, thd.AsRead)
	assert.Equal(t, thd.Bound, thd.AtMost())
}

// everyTHD returns THD at every fundamental.
func everyTHD(hs *distortion.HarmonicSet) (all []distortion.THD) {
	for _, f := range hs.Fundamental {
		all = append(all, hs.THD(f))
	}
	return all
}
