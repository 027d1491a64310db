package recognise_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/sweep"
	"example.com/earnest/sweep/recognise"
)

const rate = 48000

// one returns the only content of a channel.
func one(t *testing.T, x []float64) recognise.Content {
	t.Helper()
	all := recognise.Find([][]float64{x}, rate)
	require.Len(t, all, 1)
	return all[0]
}

// quantised rounds to a number of bits.
func quantised(x []float64, bits int) []float64 {
	steps := math.Exp2(float64(bits - 1))
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Round(v*steps) / steps
	}
	return out
}

// silent adds silence before and after.
func silent(x []float64) []float64 {
	return append(append(make([]float64, rate/2), x...), make([]float64, rate/2)...)
}

func TestOwnSweepsAreRecognisedWithTheirFades(t *testing.T) {
	for name, c := range map[string]sweep.Config{
		"as usual, a second and a half": {Duration: 1500 * time.Millisecond, Level: -12},
		"long fades":                    {Start: 50, Duration: 2 * time.Second, Level: -6, FadeIn: 100 * time.Millisecond, FadeOut: 40 * time.Millisecond},
		"no fades, any phase":           {Stop: 18000, TimeConstant: 0.3, Phase: 2.5, FadeIn: -1, FadeOut: -1},
	} {
		s, err := sweep.New(c)
		require.NoError(t, err)
		got := one(t, silent(quantised(s.Samples(), 24)))
		require.Equal(t, recognise.ExponentialSweep, got.Kind, name)
		assert.InDelta(t, s.TimeConstant(), got.TimeConstant, 1e-8, "%s: rounding to 24 bits", name)
		assert.InDelta(t, rate/2, got.From, 24, "%s: the fade's first samples round to nothing", name)
		// The law is compared with that of the sweep at its own times, to 1e-6 of a period.
		law := got.Law()
		require.NotNil(t, law, name)
		late := float64(got.From-rate/2) / rate
		for _, share := range []float64{0.001, 0.3, 0.9, 0.99} {
			at := share * s.Duration()
			turns := (s.PhaseAt(at) - law.PhaseAt(at-late)) / (2 * math.Pi)
			assert.InDelta(t, 0, math.Remainder(turns, 1), 1e-6, "%s: what is asked for", name)
		}
		in, out := c.FadeIn.Seconds(), c.FadeOut.Seconds()
		if c.FadeIn == 0 {
			in, out = 1/s.Start(), 0.005
		}
		assert.InDelta(t, max(0, in), got.FadeIn, 0.02*max(0, in), "%s: the samples that round to nothing", name)
		assert.InDelta(t, max(0, out), got.FadeOut, 0.1*max(0, out), "%s: a few periods", name)
		assert.InDelta(t, s.Level(), got.Level, 1e-4, "%s: rounding to 24 bits", name)
		assert.Less(t, got.Unexplained, -60.0, "%s: the place of the fades", name)
	}
}

func TestLeftThenRightAndSeveralInOneFile(t *testing.T) {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -6})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Repeats: 2, Gap: 300 * time.Millisecond})
	require.NoError(t, err)
	found := recognise.Find(st.Channels(), rate)
	var sweeps []recognise.Content
	for _, c := range found {
		require.Equal(t, recognise.ExponentialSweep, c.Kind, c)
		if c.Law() != nil {
			sweeps = append(sweeps, c)
		} else {
			assert.InEpsilon(t, -0.2/math.Log(16), c.TimeConstant, 1e-4, "a timing mark falls from 8 kHz to 500 Hz in 0.2 s; its Hann window")
		}
	}
	require.Len(t, sweeps, 4)
	for i, side := range []sweep.Side{sweep.Left, sweep.Right} {
		for k, segment := range st.Sweeps(side) {
			c := sweeps[2*i+k]
			assert.Equal(t, i+1, c.Channel)
			assert.InDelta(t, segment.Start, c.From, 2, "the first sample of a fade is 0, the second 1e-9")
		}
	}
}

func gaussian(seconds float64, seed uint64) []float64 {
	draw := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, int(seconds*rate))
	for i := range x {
		x[i] = 0.1 * draw.NormFloat64()
	}
	return x
}

func TestNoiseIsDistinguishedFromMusicAndSpeech(t *testing.T) {
	race.Skip(t)
	for seed := range uint64(5) {
		white := one(t, gaussian(2, seed))
		require.Equal(t, recognise.Noise, white.Kind, "seed %d", seed)
		assert.InDelta(t, 0, white.Slope, 0.15, "seed %d: 20 frames of the low bands", seed)
		assert.InDelta(t, -20, white.Level, 0.1, "seed %d: 96 000 samples", seed)
	}
	for name, x := range map[string][][]float64{"music": rig.Music(rate, 10, 1), "speech": rig.Speech(rate, 10, 1)} {
		for _, c := range recognise.Find(x, rate) {
			assert.Equal(t, recognise.Unknown, c.Kind, "%s: %v", name, c)
		}
	}
}

// A register of the polynomial x^16 + x^15 + x^13 + x^4 + 1, and one whose polynomial is not
// primitive.
func TestMaximumLengthSequences(t *testing.T) {
	make := func(taps []int, order, n int) []float64 {
		x := make([]float64, n)
		state := 1
		for i := range x {
			x[i] = 0.25 - 0.5*float64(state&1)
			next := 0
			for _, e := range taps {
				next ^= state >> e & 1
			}
			state = state>>1 | next<<(order-1)
		}
		return x
	}
	got := one(t, silent(make([]int{0, 4, 13, 15}, 16, 2*65535)))
	require.Equal(t, recognise.MaximumLength, got.Kind)
	assert.Equal(t, 16, got.Order)
	assert.Equal(t, []int{16, 15, 13, 4, 0}, got.Taps)
	assert.Equal(t, 1.0, got.Certainty)
	assert.Equal(t, "channel 1, 0.500 s: maximum-length sequence of order 16, x^16 + x^15 + x^13 + x^4 + 1, 2 periods, peak -12.04 dBFS; 100 % of the samples follow its rule", got.String())

	inverted := make([]int{0, 4, 13, 15}, 16, 65535)
	for i := range inverted {
		inverted[i] = -inverted[i]
	}
	assert.Equal(t, 16, one(t, inverted).Order, "either value may stand for 1")
	for _, c := range recognise.Find([][]float64{make([]int{0, 2}, 16, 65535)}, rate) {
		assert.NotEqual(t, recognise.MaximumLength, c.Kind, "x^16 + x^2 + 1 is a square")
	}
}

func TestSteadyTones(t *testing.T) {
	x := make([]float64, rate)
	for i := range x {
		for _, f := range []float64{100, 1000.25, 7000.7} {
			x[i] += 0.1 * math.Sin(2*math.Pi*f*float64(i)/rate+f)
		}
	}
	got := one(t, quantised(x, 16))
	require.Equal(t, recognise.Tones, got.Kind)
	assert.InDelta(t, -20, got.Level, 0.1, "between bins, by the window's top")
	assert.ElementsMatch(t, []int{100, 1000, 7001}, rounded(got.Frequencies))
}

func rounded(f []float64) []int {
	var out []int
	for _, v := range f {
		out = append(out, int(math.Round(v)))
	}
	return out
}

func TestSilenceHoldsNoSignal(t *testing.T) {
	for name, x := range map[string][]float64{
		"no samples": nil, "silence": make([]float64, rate), "a click": silent([]float64{1}),
		"infinite": {math.Inf(1), 1, 2},
	} {
		assert.Empty(t, recognise.Find([][]float64{x}, rate), name)
	}
	broken := gaussian(1, 1)
	broken[5000] = math.NaN()
	for _, c := range recognise.Find([][]float64{broken}, rate) {
		assert.Equal(t, recognise.Unknown, c.Kind)
	}
	assert.Empty(t, recognise.Find(nil, rate))
}

var drawnSweeps = flag.Int("sweeps", 3, "sweeps that TestDrawnSweeps draws; at least 8 among the long tests")

// Random sweeps of any law, length, level, rounding, fades and noise: each is recognised, and its
// law has the required accuracy, or that which the noise allows.
func TestDrawnSweeps(t *testing.T) {
	race.Skip(t)
	draw := rand.New(rand.NewPCG(21, 22))
	between := func(a, b float64) float64 { return a * math.Pow(b/a, draw.Float64()) }
	sweeps := *drawnSweeps
	if long.Enabled() {
		sweeps = max(8, sweeps)
	}
	for k := range sweeps {
		fs := []int{44100, 48000, 96000}[draw.IntN(3)]
		c := sweep.Config{SampleRate: fs, Start: between(5, 200), Stop: between(2000, 0.49*float64(fs)), Level: -30 * draw.Float64(), Phase: 7 * draw.Float64()}
		seconds := between(0.7, 6)
		c.TimeConstant = seconds / math.Log(c.Stop/c.Start)
		fade := func(longest float64) time.Duration {
			if draw.IntN(2) == 0 {
				return -1
			}
			return time.Duration(between(0.001, longest*seconds) * float64(time.Second))
		}
		c.FadeIn, c.FadeOut = fade(0.1), fade(0.05)
		s, err := sweep.New(c)
		require.NoError(t, err)
		bits := 16 + 8*draw.IntN(2)
		x := quantised(silent(s.Samples()), bits)
		noise := math.Exp2(float64(1-bits)) / math.Sqrt(12)
		if draw.IntN(2) == 0 {
			noise = s.Amplitude() * between(1e-4, 1e-2)
			for i := range x {
				x[i] += noise * draw.NormFloat64()
			}
		}
		found := recognise.Find([][]float64{x}, fs)
		require.Len(t, found, 1, "%d: %+v", k, c)
		got := found[0]
		require.Equal(t, recognise.ExponentialSweep, got.Kind, "%d: %+v", k, c)
		// Least squares: a phase fitted to a sine of amplitude A in n samples of noise σ has the
		// variance 2σ²/(nA²), and the ends of three parameters a multiple of that.
		allowed := 1e-6 + 15*noise/s.Amplitude()*math.Sqrt(2/float64(s.Len()))
		late := float64(got.From-rate/2) / float64(fs)
		for _, share := range []float64{0.2, 0.5, 0.9, 0.97} {
			at := share * s.Duration()
			turns := got.Phase/(2*math.Pi) + got.Start*got.TimeConstant*math.Expm1((at-late)/got.TimeConstant)
			assert.InDelta(t, 0, math.Remainder(s.PhaseAt(at)/(2*math.Pi)-turns, 1), allowed, "%d: %+v, noise %.1e, at %.2f", k, c, noise, share)
		}
	}
}

func FuzzFind(f *testing.F) {
	f.Add([]byte{1, 2, 3, 200, 0, 0, 7}, 100)
	f.Fuzz(func(t *testing.T, data []byte, repeat int) {
		var x []float64
		for range min(max(repeat, 1), 200) {
			for i, b := range data {
				x = append(x, (float64(b)-128)/128*float64(i%3))
			}
			if len(x) > 20000 {
				break
			}
		}
		for _, c := range recognise.Find([][]float64{x, x}, 8000) {
			_ = c.String()
			_ = c.Law()
			if c.From < 0 || c.Len <= 0 || c.From+c.Len > len(x) {
				t.Fatalf("a stretch outside of the file: %+v of %d", c, len(x))
			}
		}
	})
}
