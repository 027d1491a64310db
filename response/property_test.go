package response_test

import (
	"math"
	"math/cmplx"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// Properties that hold for any numbers; more cases with -rapid.checks=N.

// short returns the deconvolver of a short sweep, so that many cases take little time.
var short = sync.OnceValue(func() *response.Deconvolver {
	s, err := sweep.New(sweep.Config{Start: 100, Stop: 3400, Duration: 200 * time.Millisecond, SampleRate: 8000})
	if err != nil {
		panic(err)
	}
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Longest: 500 * time.Millisecond, Orders: 2})
	if err != nil {
		panic(err)
	}
	return d
})

// drawRecording returns the sweep through a device of a few echoes, with another sound added,
// beginning at a random sample.
func drawRecording(t *rapid.T, label string) []float64 {
	s := short().Sweep().Samples()
	x := make([]float64, 3000)
	random := uint64(rapid.IntRange(1, 1<<30).Draw(t, label+": noise"))
	for i := range x {
		random = random*6364136223846793005 + 1442695040888963407
		x[i] = 1e-3 * (float64(random>>11)/(1<<53) - 0.5)
	}
	for range rapid.IntRange(1, 4).Draw(t, label+": echoes") {
		at := rapid.IntRange(0, 800).Draw(t, label+": at")
		gain := rapid.Float64Range(-0.5, 0.5).Draw(t, label+": gain")
		floats.AddScaled(x[at:at+len(s)], gain, s)
	}
	return x
}

func impulseOf(t *rapid.T, recording []float64) *response.Impulse {
	h, err := short().Impulse(recording)
	require.NoError(t, err)
	return h
}

func TestPropertyDeconvolutionIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := drawRecording(t, "x"), drawRecording(t, "y")
		p, q := rapid.Float64Range(-2, 2).Draw(t, "of x"), rapid.Float64Range(-2, 2).Draw(t, "of y") // gain and polarity
		sum := make([]float64, len(x))
		floats.AddScaled(sum, p, x)
		floats.AddScaled(sum, q, y)
		if floats.Norm(sum, math.Inf(1)) == 0 {
			t.Skip("silence is refused")
		}
		want := make([]float64, len(impulseOf(t, x).Samples))
		floats.AddScaled(want, p, impulseOf(t, x).Samples)
		floats.AddScaled(want, q, impulseOf(t, y).Samples)
		require.Less(t, floats.Distance(want, impulseOf(t, sum).Samples, math.Inf(1)), 1e-11, "rounding of transforms")
	})
}

// A recording that begins later has the same response later: its samples move, and its transfer
// function has an additional linear phase.
func TestPropertyTimeShiftIsALinearPhase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := short().Sweep().Samples()
		x := make([]float64, 3000)
		gain := rapid.Float64Range(0.01, 1).Draw(t, "gain")
		echo := rapid.IntRange(1, 50).Draw(t, "echo")
		floats.AddScaled(x[200:200+len(s)], gain, s)
		floats.AddScaled(x[200+echo:200+echo+len(s)], rapid.Float64Range(-0.8, 0.8).Draw(t, "strength")*gain, s)
		shift := rapid.IntRange(-200, 800).Draw(t, "shift")
		moved := make([]float64, len(x))
		for i, v := range x {
			if j := i + shift; j >= 0 && j < len(x) {
				moved[j] = v
			}
		}
		h, m := impulseOf(t, x), impulseOf(t, moved)
		largest := floats.Norm(h.Samples, math.Inf(1))
		from, to := max(0, -shift), min(len(h.Samples), len(h.Samples)-shift)
		apart := floats.Distance(h.Samples[from:to], m.Samples[from+shift:to+shift], math.Inf(1))
		require.Less(t, apart, 1e-9*largest, "rounding")
		before, after := 20*time.Millisecond, 60*time.Millisecond
		seconds := float64(shift) / 8000
		a, b := h.WindowAt(0.025, before, after).Transfer().Delayed(seconds), m.WindowAt(0.025+seconds, before, after).Transfer()
		apart = 0
		for k := range a.Bins {
			apart = max(apart, cmplx.Abs(a.Bins[k]-b.Bins[k]))
		}
		require.Less(t, apart, 1e-8*largest, "rounding of a hundred samples")
		first, err := h.Delay()
		if err != nil {
			return // an echo may hide the peak, in both recordings then
		}
		second, err := m.Delay()
		require.NoError(t, err)
		require.InDelta(t, first+seconds, second, 2e-5/8000, "where the search for the peak ends")
	})
}

// drawTransfer returns a transfer function with no bin near zero, known in some band.
func drawTransfer(t *rapid.T, label string) *response.Transfer {
	const n = 64
	tr := &response.Transfer{SampleRate: 8000, Len: n, Bins: make([]complex128, n/2+1)}
	tr.Valid = response.Band{Low: rapid.Float64Range(0, 1500).Draw(t, label+": from"), High: rapid.Float64Range(2000, 4000).Draw(t, label+": to")}
	for k := range tr.Bins {
		tr.Bins[k] = cmplx.Rect(rapid.Float64Range(1e-3, 1e3).Draw(t, label), rapid.Float64Range(-math.Pi, math.Pi).Draw(t, label))
	}
	return tr
}

func TestPropertyOverIsDivision(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawTransfer(t, "a"), drawTransfer(t, "b")
		unknown := rapid.IntRange(0, 32).Draw(t, "not known")
		b.Bins[unknown] = []complex128{0, cmplx.NaN()}[rapid.IntRange(0, 1).Draw(t, "0 or NaN")]
		over, err := a.Divide(b)
		require.NoError(t, err)
		back, err := b.Divide(a)
		require.NoError(t, err)
		require.Equal(t, a.Valid.Intersect(b.Valid), over.Valid)
		for k, v := range over.Bins {
			if k == unknown {
				require.True(t, cmplx.IsNaN(v), "an unknown level stays unknown")
				continue
			}
			if !over.Valid.Contains(a.Frequency(k)) || k == 0 {
				continue
			}
			require.Less(t, cmplx.Abs(v*b.Bins[k]-a.Bins[k]), 1e-12*cmplx.Abs(a.Bins[k]), "times b gives a; rounding")
			require.Less(t, cmplx.Abs(v*back.Bins[k]-1), 1e-12, "the other way round is the reciprocal; rounding")
		}
		levels := over.Magnitude()
		for i, f := range levels.Frequency {
			require.Equal(t, f == over.Frequency(unknown), math.IsNaN(levels.Level[i]), "%v Hz", f)
		}
		outside := over.Valid.High * (1 + 1e-6)
		require.True(t, cmplx.IsNaN(over.At(outside)))
	})
}

func TestPropertyDelaysAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawTransfer(t, "a")
		p, q := rapid.Float64Range(-0.01, 0.01).Draw(t, "p"), rapid.Float64Range(-0.01, 0.01).Draw(t, "q")
		once, twice, back := a.Delayed(p+q), a.Delayed(p).Delayed(q), a.Delayed(p).Delayed(-p)
		for k, v := range a.Bins {
			require.Less(t, cmplx.Abs(once.Bins[k]-twice.Bins[k]), 1e-11*cmplx.Abs(v), "rounding of 80 turns")
			require.Less(t, cmplx.Abs(back.Bins[k]-v), 1e-11*cmplx.Abs(v), "rounding of 40 turns")
		}
		// A smooth phase, so that its slope has a meaning: a delay adds to it.
		smooth := &response.Transfer{SampleRate: 8000, Len: 64, Bins: make([]complex128, 33), Valid: response.Band{Low: 200, High: 3900}}
		for k := range smooth.Bins {
			smooth.Bins[k] = cmplx.Rect(2, 0.3*math.Sin(float64(k)/9))
		}
		p /= 10 // within an eighth of the transform
		before, after := smooth.GroupDelay(), smooth.Delayed(p).GroupDelay()
		for i := range before {
			require.InDelta(t, before[i]+p, after[i], 1e-12, "rounding")
		}
	})
}

// Within its band a transfer function is recovered from its impulse response.
func TestPropertyTransferToImpulseAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawTransfer(t, "a")
		back := a.Impulse().TransferAbout(0, a.Len)
		for k, v := range a.Bins {
			if f := a.Frequency(k); k > 0 && k < a.Len/2 && a.Valid.Contains(f) {
				require.Less(t, cmplx.Abs(back.Bins[k]-v), 1e-10, "of up to 1000; rounding")
			} else if !a.Valid.Contains(f) {
				require.Less(t, cmplx.Abs(back.Bins[k]), 1e-10, "nothing is known there")
			}
		}
	})
}

// A gain does not change the phase, and inverted polarity changes the excess phase by π.
func TestPropertyGainLeavesThePhaseAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawTransfer(t, "a")
		gain := rapid.Float64Range(1e-3, 1e3).Draw(t, "gain") * []float64{1, -1}[rapid.IntRange(0, 1).Draw(t, "polarity")]
		b := a.Delayed(0)
		for k := range b.Bins {
			b.Bins[k] *= complex(gain, 0)
		}
		least, _ := a.MinimumPhase()
		same, _ := b.MinimumPhase()
		phase := b.Phase()
		excess, _ := b.ExcessPhase()
		for i := range least {
			require.InDelta(t, least[i], same[i], 1e-9, "rounding of logarithms")
			require.InDelta(t, 0, math.Remainder(phase[i]-same[i]-excess[i], 2*math.Pi), 1e-9, "they make up the phase")
			require.InDelta(t, a.Magnitude().Level[i]+20*math.Log10(math.Abs(gain)), b.Magnitude().Level[i], 1e-9, "rounding")
		}
		delay, after := a.GroupDelay(), b.GroupDelay()
		for i := range delay {
			require.InDelta(t, 0, math.Remainder((after[i]-delay[i])*2*math.Pi*8000/64, math.Pi), 1e-6, "a whole turn may be added where the phase jumps by half a turn")
		}
	})
}

// The power of noise goes with the square of its amplitude, and the powers of adjoining bands add.
func TestPropertyNoisePower(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		silence := drawRecording(t, "silence")
		gain := rapid.Float64Range(0.1, 10).Draw(t, "gain")
		n, err := response.NewNoise(silence, 8000)
		require.NoError(t, err)
		floats.Scale(-gain, silence)
		louder, err := response.NewNoise(silence, 8000)
		require.NoError(t, err)
		f := rapid.Float64Range(50, 3500).Draw(t, "f")
		require.InEpsilon(t, gain*gain*n.Density(f), louder.Density(f), 1e-9, "rounding")
		count := rapid.IntRange(1, 50).Draw(t, "count")
		require.InEpsilon(t, n.Density(f)/float64(count), n.Averaged(count).Density(f), 1e-9, "rounding of running sums")
		low, middle, high := 100., rapid.Float64Range(300, 2800).Draw(t, "middle"), 3000.
		parts := n.Power(response.Band{Low: low, High: middle}) + n.Power(response.Band{Low: middle, High: high})
		require.InEpsilon(t, n.Power(response.Band{Low: low, High: high}), parts, 1e-9, "rounding")
		require.True(t, math.IsNaN(n.Density(5000)), "above half the sample rate")
		require.True(t, math.IsNaN(n.Power(response.Band{Low: middle, High: 4001})), "above half the sample rate")
		require.True(t, math.IsNaN(n.Power(response.Band{Low: 0, High: middle})), "the mean was taken off")
	})
}

// The step is the running sum of the impulse response; its last value is the response at 0 Hz.
func TestPropertyStepIsTheRunningSum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := &response.Impulse{SampleRate: 48000, Samples: rapid.SliceOfN(rapid.Float64Range(-1, 1), 1, 200).Draw(t, "samples")}
		step := h.Step(nil)
		require.InDelta(t, floats.Sum(h.Samples), step[len(step)-1], 1e-12, "rounding")
		for i := 1; i < len(step); i++ {
			require.InDelta(t, h.Samples[i], step[i]-step[i-1], 1e-13*float64(len(step)), "rounding")
		}
	})
}

// The rate of decay does not depend on level or polarity.
func TestPropertyDecayDoesNotDependOnGain(t *testing.T) {
	samples := make([]float64, 2048)
	random := uint64(7)
	for i := range samples {
		random = random*6364136223846793005 + 1442695040888963407
		samples[i] = (float64(random>>11)/(1<<53) - 0.5) * (math.Exp(-float64(i)/200) + 1e-4)
	}
	samples[0] = 3
	rapid.Check(t, func(t *rapid.T) {
		gain := rapid.Float64Range(1e-3, 1e3).Draw(t, "gain") * []float64{1, -1}[rapid.IntRange(0, 1).Draw(t, "polarity")]
		decays := func(gain float64) []response.Decay {
			h := &response.Impulse{Samples: slices.Clone(samples), SampleRate: 8000, Valid: response.Band{Low: 1000, High: 2000}}
			floats.Scale(gain, h.Samples)
			d, err := h.Decays(response.DecayConfig{Fraction: 1, After: 200 * time.Millisecond})
			require.NoError(t, err)
			return d
		}
		one, other := decays(1), decays(gain)
		require.Len(t, other, len(one))
		for i := range one {
			sameWhereKnown(t, one[i].Level, other[i].Level, 1e-6)
			a, _ := one[i].To(-20)
			b, _ := other[i].To(-20)
			require.Equal(t, a.Known(), b.Known())
			require.False(t, math.Abs(a.Value-b.Value) > 1e-6*a.Value, "rounding")
		}
	})
}
