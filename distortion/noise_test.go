package distortion_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
)

// held counts properties of many readings of one harmonic of amplitude h in noise of power 1, which
// is known with k degrees of freedom (0: exactly).
type held struct{ above, interval, bound, high float64 }

func draw(h float64, k, draws int, random *rand.Rand) held {
	var out held
	for range draws {
		re, im := h+random.NormFloat64()/math.Sqrt2, random.NormFloat64()/math.Sqrt2
		floor := 1.0
		if k > 0 {
			floor = 0
			for range k {
				v := random.NormFloat64()
				floor += v * v / float64(k)
			}
		}
		r := distortion.NewReading(math.Hypot(re, im), math.Sqrt(floor), "%", distortion.Noise{Degrees: 2, Known: float64(k)})
		if h <= r.Bound {
			out.bound += 1 / float64(draws)
		}
		if !r.Known() {
			continue
		}
		out.above++
		low, high := r.Interval(0.95)
		if low <= h && h <= high {
			out.interval++
		}
		if r.Value > h {
			out.high++
		}
	}
	out.interval, out.high, out.above = out.interval/out.above, out.high/out.above, out.above/float64(draws)
	return out
}

// A harmonic from a tenth of the noise to thirty times as much: the interval holds the truth among
// the readings above the margin, and the bound among all.
func TestIntervalsAndBoundsHoldInNoise(t *testing.T) {
	long.Skip(t)
	t.Parallel()
	random := rand.New(rand.NewPCG(5, 6))
	for _, k := range []int{0, 60} {
		for _, h := range []float64{0.1, 0.5, 1, 1.5, 2, 3, 5, 10, 30} {
			draws := 1500
			if h < 1.5 {
				draws = 4000 // few of them are above the margin
			}
			got := draw(h, k, draws, random)
			t.Logf("%4.1f times the noise, k %2d: above the margin %5.1f %%, the interval holds in %5.1f %%, the bound in %5.1f %%", h, k, 100*got.above, 100*got.interval, 100*got.bound)
			scatter := func(count float64) float64 { return 3 * math.Sqrt(0.95*0.05/count) } // three standard errors of a binomial share
			assert.GreaterOrEqual(t, got.interval, 0.95-scatter(got.above*float64(draws)), "%v times the noise", h)
			assert.GreaterOrEqual(t, got.bound, 0.95-scatter(float64(draws)), "%v times the noise", h)
			if h >= 1 {
				assert.LessOrEqual(t, got.bound, 0.96+scatter(float64(draws)), "%v times the noise: no more than stated", h)
			}
			if h >= 3 {
				assert.InDelta(t, 0.5, got.high, 0.08, "as often too high as too low")
			}
		}
	}
}

// Three orders of equal floors, of which one is far below its own: the noise of that order does not
// add to the sum.
func TestNoiseDoesNotAddUpInASum(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(7, 8))
	truth := []float64{0.3, 0.1, 0, 0, 0} // %
	const floor, draws = 0.04, 1000
	var mean, naive, inside float64
	for range draws {
		hs := &distortion.HarmonicSet{Fundamental: []float64{1000}}
		var parts []distortion.Reading
		for i, h := range truth {
			var r distortion.Readings
			read := math.Hypot(h+floor*random.NormFloat64()/math.Sqrt2, floor*random.NormFloat64()/math.Sqrt2)
			r.Append(1000, distortion.NewReading(20*math.Log10(read/100), 20*math.Log10(floor/100), "dB", distortion.Noise{Degrees: 2}))
			hs.Orders = append(hs.Orders, distortion.Order{N: i + 2, Readings: r})
			parts = append(parts, distortion.NewReading(read, floor, "%", distortion.Noise{Degrees: 2}))
		}
		thd := hs.THD(1000)
		assert.InEpsilon(t, thd.AsRead, distortion.Sum(parts[0], parts[1:]...).AsRead, 1e-9, "rounding")
		require.Equal(t, []int{2, 3, 4, 5, 6}, thd.Contains)
		naive += thd.AsRead * thd.AsRead / draws
		if !thd.Known() {
			continue
		}
		mean += thd.Value * thd.Value / draws
		if low, high := thd.Interval(0.95); low <= math.Hypot(0.3, 0.1) && math.Hypot(0.3, 0.1) <= high {
			inside += 1. / draws
		}
	}
	want := 0.09 + 0.01
	assert.InEpsilon(t, want+5*floor*floor, naive, 0.02, "as read, the floors add up")
	assert.InEpsilon(t, want, mean, 0.03, "of 1000 draws")
	assert.InDelta(t, 0.95, inside, 0.025, "three and a half of a binomial share's")
}

// A microphone that reads 6 dB more above 700 Hz shows more of a harmonic than of its fundamental.
// The correction removes this, and a harmonic above the microphone's range is not known.
func TestHarmonicsAreCorrectedForTheMicrophone(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	shelf := biquad.New(biquad.HighShelf, 700, 0.7, 6, 8000)
	recording := withHarmonics(s, harmonic{2, -40, 0}, harmonic{3, -50, 0})
	shelf.Apply(recording)
	correction := response.Curve{Frequency: response.LogGrid(20, 2000, 24), Valid: response.Band{Low: 20, High: 2000}}
	for _, f := range correction.Frequency {
		correction.Level = append(correction.Level, -20*math.Log10(cmplx.Abs(shelf.Response(f, 8000))))
	}
	raw := harmonics(t, s, recording, distortion.Config{Silence: quiet(8000)})
	hs := harmonics(t, s, recording, distortion.Config{Silence: quiet(8000), Correction: &correction})
	assert.Greater(t, raw.Harmonic(2, 500).Value, -38.0, "as recorded")
	for _, f := range []float64{200, 350, 500, 600} {
		assert.InDelta(t, -40, hs.Harmonic(2, f).Value, 0.1, "at %g Hz; the window", f)
		assert.InDelta(t, -50, hs.Harmonic(3, f).Value, 0.15, "at %g Hz; the window", f)
		assert.InDelta(t, raw.Harmonic(2, f).Value-raw.Harmonic(2, f).Floor, hs.Harmonic(2, f).Value-hs.Harmonic(2, f).Floor, 1e-9, "the floor goes with it")
	}
	assert.InDelta(t, 100*math.Hypot(1e-2, math.Pow(10, -2.5)), hs.THD(500).Value, 0.02)
	assert.False(t, hs.Harmonic(3, 900).Known(), "2.7 kHz is above the microphone's range")
	assert.Equal(t, []int{2}, hs.THD(900).Contains)
}

// The interval of a reading with six degrees of freedom just above its margin may reach down to no
// distortion at all: −∞ dB, which is not "not known".
func TestIntervalReachesDownToZero(t *testing.T) {
	r := distortion.NewReading(-30, -36.5, "dB", distortion.Noise{Degrees: 6})
	low, high := r.Interval(0.95)
	assert.True(t, math.IsInf(low, -1), "it is %v", low)
	assert.Greater(t, high, r.Value)
}

// An uncertainty of the microphone of 1 dB is in every reading, and does not average out over
// seatings.
func TestUncertaintyOfTheMicrophoneDoesNotAverageOut(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	sure := harmonics(t, s, withHarmonics(s, harmonic{2, -40, 0}), distortion.Config{Silence: quiet(8000)})
	unsure := sure.Unsure(func(harmonic, fundamental float64) float64 { return math.Abs(math.Log2(harmonic / fundamental)) })
	second := unsure.Harmonic(2, 500)
	assert.Less(t, sure.Harmonic(2, 500).Uncertainty, 0.01)
	assert.InDelta(t, 1, second.Uncertainty, 0.001, "an octave apart; hardly any noise")
	low, high := second.Interval(0.95)
	assert.InDelta(t, 2*1.96, high-low, 0.15, "dB; at 0.115 the linear approximation is a little off")
	one := unsure.THD(500)
	mean := distortion.MeanTHD(one, one, one)
	assert.InEpsilon(t, 0.115, mean.Uncertainty/mean.Value, 0.01, "ln 10/20, however many seatings")
}

// TestTheRigsOwnInTheFloor checks that powers add up, and that the interval holds the truth for any
// phase of the rig's own distortion.
func TestTheRigsOwnInTheFloor(t *testing.T) {
	r := distortion.NewReading(1, 0.03, "%", distortion.Noise{Degrees: 2}).WithRig(0.04, 0)
	assert.InDelta(t, 0.05, r.Floor, 1e-9)                   // 3, 4, 5
	assert.InDelta(t, math.Sqrt(1-0.03*0.03), r.Value, 1e-9) // the noise's power is subtracted
	decibels := distortion.NewReading(-20, -60, "dB", distortion.Noise{Degrees: 2})
	assert.InDelta(t, 10, decibels.Percent().AsRead, 1e-9) // a tenth
	assert.False(t, r.WithRig(math.NaN(), 0).Known(), "what the rig does is not known")
	// Half a dB of microphone and rig is 0.5/8.686 of an amplitude, here and in a mean of equal
	// readings.
	sure := distortion.NewReading(1, 1e-4, "%", distortion.Noise{Degrees: 2}).WithRig(0, 0.5)
	assert.InEpsilon(t, 0.5/8.6859, sure.Uncertainty, 1e-3, "almost no noise")
	assert.InEpsilon(t, 0.5/8.6859, distortion.Mean(sure, sure, sure).Uncertainty, 1e-3, "it is common to all")
	// So is a tenth of unknown phase, by its rms along the reading.
	beside := distortion.NewReading(1, 1e-4, "%", distortion.Noise{Degrees: 2}).WithRig(0.1, 0)
	assert.InEpsilon(t, 0.1/math.Sqrt2, distortion.Mean(beside, beside, beside).Uncertainty, 0.01)

	random := rand.New(rand.NewPCG(5, 6))
	const truth, noise, rig, draws = 1.0, 0.1, 0.15, 4000
	inside := 0.0
	for range draws {
		turn := 2 * math.Pi * random.Float64()
		read := math.Hypot(truth+rig*math.Cos(turn)+noise*random.NormFloat64()/math.Sqrt2, rig*math.Sin(turn)+noise*random.NormFloat64()/math.Sqrt2)
		low, high := distortion.NewReading(read, noise, "%", distortion.Noise{Degrees: 2}).WithRig(rig, 0).Interval(0.95)
		if low <= truth && truth <= high {
			inside += 100. / draws
		}
	}
	assert.Greater(t, inside, 93.0)
	assert.Less(t, inside, 99.5, "a share with a constant phase scatters less than noise")
}

// A rig that distorts an order by much that adds little to the sum: over all phases the error of the
// sum has the stated standard uncertainty. The rig's distortion has the same phase in all seatings, so
// the bound of their mean is no lower than that of one seating.
func TestTheRigMovesASumByWhatEachOrderAddsToIt(t *testing.T) {
	t.Parallel()
	random := rand.New(rand.NewPCG(9, 10))
	device, rig := []float64{1, 0.1}, []float64{0.02, 0.2} // %
	const draws = 4000
	var z float64
	for range draws {
		var parts []distortion.Reading
		for i, h := range device {
			read := cmplx.Abs(complex(h, 0) + cmplx.Rect(rig[i], 2*math.Pi*random.Float64()))
			parts = append(parts, distortion.NewReading(read, 1e-4, "%", distortion.Noise{Degrees: 2}).WithRig(rig[i], 0))
		}
		sum := distortion.Sum(parts[0], parts[1:]...)
		require.True(t, sum.Known())
		off := (sum.Value - math.Hypot(device[0], device[1])) / sum.Uncertainty
		z += off * off / draws
		mean := distortion.Mean(sum, sum, sum)
		assert.InEpsilon(t, sum.Bound, mean.Bound, 0.01, "the rig's part is the same in every seating")
	}
	// Order i moves the sum by ρᵢ hᵢ/√2 rms, 0.014 % each, and the second by ρ²/2 = 0.02 % on average:
	// 0.028 % together. The readings are known in place of h: √(h² + ρ²) = 0.22 % in the second order
	// gives an uncertainty of 0.035 %. Without its weight, ρ/√2 would give 0.14 %.
	assert.InDelta(t, 0.028/0.035, math.Sqrt(z), 0.06, "standard uncertainties; the reading changes with the phase")
}
