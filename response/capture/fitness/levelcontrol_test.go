package fitness_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/taper"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// behind applies a change to the recording through invented headphones, in noise of −90 dBFS rms:
// left, then right.
type behind = func(x []float64, fs float64)

// heardBehind returns the report on a recording at 48 kHz with such a change.
func heardBehind(t *testing.T, direct bool, bends float64, changes ...behind) *fitness.Report {
	s, err := sweep.New(sweep.Config{Duration: 2 * time.Second, Level: -6})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 600 * time.Millisecond, Gap: 600 * time.Millisecond})
	require.NoError(t, err)
	r := rig.Rig{SampleRate: 48000, Latency: 700.3, Drift: 40, Spill: rig.Spill{Level: -35}}
	driver := rig.Driver{Gain: -8, Distortion: rig.NewPolynomial(-6, -50, -60, -100, -110),
		Filters: []rig.Filter{rig.HighPass(20, 0.7), rig.LowShelf(120, 0.7, 4), rig.Peak(900, 1, 6), rig.Peak(3400, 2, -6), rig.Peak(8500, 5, 5)}}
	if bends != 0 {
		driver.Distortion = rig.NewPolynomial(-6, -60, bends, -100, -110)
	}
	played := st.Channels()
	through := r.Through(rig.Headphones{Left: driver, Right: driver}, 0, played)
	if direct {
		through = r.Direct(played)
	}
	random := rand.New(rand.NewPCG(3, 14))
	for _, x := range through {
		for i := range x {
			x[i] += math.Pow(10, -90./20) * random.NormFloat64()
		}
		for _, c := range changes {
			c(x, 48000)
		}
	}
	return inspected(&capture.Recording{Name: "take.wav", SampleRate: 48000, Channels: through}, said{Stimulus: st, Direct: direct})
}

// follower returns a gain from an envelope that rises and falls with two time constants in seconds.
func follower(attack, release float64, gain func(envelope float64) float64) behind {
	return func(x []float64, fs float64) {
		var e float64
		for i, v := range x {
			tau := release
			if math.Abs(v) > e {
				tau = attack
			}
			e += (math.Abs(v) - e) * (1 - math.Exp(-1/(tau*fs)))
			x[i] = v * gain(e)
		}
	}
}

// bent is tanh, driven so that a full-scale peak would reach a multiple of its limit.
func bent(drive float64) behind {
	return func(x []float64, _ float64) {
		for i, v := range x {
			x[i] = math.Tanh(drive*v) / drive
		}
	}
}

// door adds a thump of 45 Hz as the sweep passes there, of a peak level in dBFS.
func door(level float64) behind {
	return func(x []float64, fs float64) {
		for i := range int(fs) {
			t := float64(i) / fs
			x[i+int(1.6*fs)] += math.Pow(10, level/20) * min(1, t/0.005) * math.Exp(-t/0.2) * math.Sin(2*math.Pi*45*t)
		}
	}
}

// following adds noise that is a share of the loudest within a sixth of an octave, in frames of
// 1024.
func following(share float64) behind {
	const n = 1024
	random, plan, window := rand.New(rand.NewPCG(8, 15)), fft.NewPlan(n), taper.Hann(n)
	return func(x []float64, _ float64) {
		frame, bins, added := make([]float64, n), make([]complex128, n/2+1), make([]float64, len(x))
		for at := 0; at+n <= len(x); at += n / 2 {
			for i, w := range window {
				frame[i] = x[at+i] * math.Sqrt(w)
			}
			plan.Forward(bins, frame)
			noise := make([]complex128, len(bins))
			for k := 1; k < len(bins)-1; k++ {
				loudest := 0.0
				for _, v := range bins[k*8/9 : min(len(bins), k*9/8+1)] {
					loudest = max(loudest, cmplx.Abs(v))
				}
				noise[k] = complex(share*loudest*random.NormFloat64(), share*loudest*random.NormFloat64())
			}
			for i, v := range plan.Inverse(nil, noise) {
				added[at+i] += v * math.Sqrt(window[i])
			}
		}
		floats.Add(x, added)
	}
}

// noiseFor adds noise below 2 kHz for a time in seconds, from 1.2 s on, where the first sweep
// begins.
func noiseFor(seconds, rms float64) behind {
	random := rand.New(rand.NewPCG(8, 17))
	return func(x []float64, fs float64) {
		noise := make([]float64, int(seconds*fs))
		for i := range noise {
			noise[i] = rms * random.NormFloat64()
		}
		for range 3 {
			biquad.New(biquad.LowPass, 2000, 0.7, 0, fs).Apply(noise)
		}
		floats.Add(x[int(1.2*fs):int(1.2*fs)+len(noise)], noise)
	}
}

// reverberant adds noise that dies away by 60 dB within a second, of a level in dB re the sound
// itself.
func reverberant(level float64) behind {
	return func(x []float64, fs float64) {
		random, h := rand.New(rand.NewPCG(9, 16)), make([]float64, int(fs))
		for i := range h {
			h[i] = random.NormFloat64() * math.Exp(-3*math.Ln10*float64(i)/fs)
		}
		floats.Scale(math.Pow(10, level/20)/floats.Norm(h, 2), h)
		h[0] = 1
		plan := fft.NewPlan(fft.FastLen(len(x) + len(h)))
		bins := plan.Forward(nil, x)
		for k, v := range plan.Forward(nil, h) {
			bins[k] *= v
		}
		copy(x, plan.Inverse(nil, bins))
	}
}

// without removes samples, and is silent at the end for as long.
func without(at, n int) behind {
	return func(x []float64, _ float64) { clear(x[at+copy(x[at:], x[at+n:]):]) }
}

// again adds the sound of a number of seconds earlier.
func again(late, gain float64) behind {
	return func(x []float64, fs float64) {
		for i := len(x) - 1; i >= int(late*fs); i-- {
			x[i] += gain * x[i-int(late*fs)]
		}
	}
}

// A fault that changes the result is named correctly, from the level at which it does; a smaller
// one is not reported.
func TestLevelControlSoftClippingAndEchoesAreNamed(t *testing.T) {
	long.Skip(t)
	above := func(threshold, ratio float64) func(float64) float64 {
		return func(e float64) float64 { return min(1, math.Pow(e/threshold, 1/ratio-1)) }
	}
	for _, c := range []struct {
		name   string
		direct bool
		spoil  behind
		kind   response.FindingKind // empty means no finding
	}{
		{"as it is", false, nil, ""},
		{"as it is, direct", true, nil, ""},
		{"a compressor", false, follower(0.01, 0.2, above(0.05, 2)), fitness.LevelControl},
		{"a compressor below its threshold", false, follower(0.01, 0.2, above(2, 2)), ""},
		{"a limiter, direct", true, follower(0.001, 0.1, above(0.3, 20)), fitness.LevelControl},
		{"a gate", false, follower(0.0005, 0.05, func(e float64) float64 {
			if e < 0.001 {
				return 0
			}
			return 1
		}), fitness.LevelControl},
		{"an expander that the sweep does not reach", false, follower(0.0005, 0.05, func(e float64) float64 { return min(1, max(0.5, e/0.002)) }), fitness.LevelControl},
		// tanh u = u − u³/3: of an amplitude a the fundamental is lower by a²/4, 1.3 dB at 0.75 and
		// 0.02 dB at 0.1.
		{"soft clipping", false, bent(1.5), fitness.SoftClipping},
		{"soft clipping, direct", true, bent(1), fitness.SoftClipping},
		{"soft clipping without an effect", false, bent(0.15), ""},
		{"soft clipping ahead of the headphones", false, nil, fitness.SoftClipping},
		{"a door", false, door(-20), fitness.Disturbance},
		{"a very soft door", false, door(-95), ""},
		{"three samples missing from a silence", false, without(50000, 3), fitness.DroppedSamples},
		{"noise that follows the sound", false, following(0.02), fitness.LossyCodec},
		{"noise that follows the sound, direct", true, following(0.02), fitness.LossyCodec},
		{"noise for as long as a sweep", false, noiseFor(2, 0.01), fitness.Disturbance},
		{"noise that hardly follows the sound", false, following(0.000002), ""},
		{"reverberation that goes on for a second", false, reverberant(-20), fitness.Echo},
		{"an echo", false, again(0.031, 0.1), fitness.Echo},
		{"an echo, upside down, direct", true, again(0.2, -0.03), fitness.Echo},
		{"an echo 46 dB below", false, again(0.031, 0.005), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var changes []behind
			if c.spoil != nil {
				changes = append(changes, c.spoil)
			}
			bends := 0.0
			if c.name == "soft clipping ahead of the headphones" {
				bends = -32 // dB, the third harmonic: the fundamental is lower by three times that, 0.7 dB
			}
			found := heardBehind(t, c.direct, bends, changes...).AtLeast(response.Warning)
			if c.kind == "" {
				assert.Empty(t, found)
				return
			}
			if assert.NotEmpty(t, found) {
				assert.Equal(t, c.kind, found[0].Kind, "%v", found)
			}
		})
	}
}

// The echo's delay is right to a sample, and its level, which is g in the ripple of the logarithm,
// to a tenth.
func TestEchoIsPlaced(t *testing.T) {
	race.Skip(t)
	found := heardBehind(t, false, 0, again(0.05, 0.1)).Of(fitness.Echo)
	require.Len(t, found, 2, fmt.Sprint("one for each channel: ", found))
	assert.InDelta(t, 0.05, found[0].Figures["delay"].Value, 1.5/48000, "a sample, and the peak between two")
	assert.InDelta(t, -20, found[0].Figures["level"].Value, 1, "0.1, read between bins of the cepstrum")
}

// A file that an editor faded in over the first mark, or out from before the last one, is told as
// faded.
func TestFades(t *testing.T) {
	s, err := sweep.New(sweep.Config{Start: 20, Duration: 3 * time.Second, SampleRate: 48000, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 700 * time.Millisecond})
	require.NoError(t, err)
	played := st.Channels()
	for _, row := range []struct {
		in, out float64 // s
		says    string
	}{{2, 0, "fades in"}, {0, 2.5, "fades out"}} {
		channels := [][]float64{heardBy(played[0], 1), heardBy(played[1], 2)}
		for _, x := range channels {
			for i := range x {
				if row.in > 0 {
					x[i] *= min(1, float64(i)/48000/row.in)
				}
				if row.out > 0 {
					x[i] *= min(1, float64(len(x)-1-i)/48000/row.out)
				}
			}
		}
		report := inspected(&capture.Recording{Name: "take.wav", SampleRate: 48000, Channels: channels}, said{Stimulus: st})
		require.Len(t, report.Of(fitness.Fade), 2, "%v: %v", row, report.Findings)
		for _, f := range report.AtLeast(response.Warning) {
			assert.Equal(t, fitness.Fade, f.Kind, "a cause is told once: %v", f)
			assert.Contains(t, f.What, row.says)
		}
	}
}
