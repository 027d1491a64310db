package fitness_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// differences codes each difference from the sample before in four bits, in steps that adapt
// (Jayant, Bell Syst. Tech. J. 52(7), 1973; multipliers of his table for four bits, from memory).
func differences(x []float64) []float64 {
	multiplier := [8]float64{0.9, 0.9, 0.9, 0.9, 1.2, 1.6, 2.0, 2.4}
	out, last, step := make([]float64, len(x)), 0.0, 1e-5
	for i, v := range x {
		last *= 1 - 1./1024 // as in coders that forgive lost bits
		d := v - last
		code := min(7, int(math.Abs(d)/step))
		last += math.Copysign((float64(code)+0.5)*step, d)
		step = min(0.1, max(1e-8, step*multiplier[code]))
		out[i] = last
	}
	return out
}

// bursts adds a few samples of noise, 60 dB below the peak, where a coder changes its steps: every
// 2048 samples while there is sound.
func bursts(x []float64, peak float64) []float64 {
	random := rand.New(rand.NewPCG(5, 1))
	out := append([]float64(nil), x...)
	for at := 2048; at+20 < len(x); at += 2048 {
		if math.Abs(x[at])+math.Abs(x[at+5]) < peak/20 {
			continue
		}
		for i := range 20 {
			out[at+i] += peak * math.Pow(10, -60./20) * random.NormFloat64()
		}
	}
	return out
}

// recordedThrough returns a stimulus of 2 s, and a recording of it through the demonstration's
// pair.
func recordedThrough(t *testing.T) (*sweep.Stimulus, [][]float64) {
	sweeping, err := sweep.New(sweep.Config{Duration: 2 * time.Second, Level: -6})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: sweeping})
	require.NoError(t, err)
	h, _, r := rig.Demonstration()
	return st, r.Through(h, 0, st.Channels())
}

// Coder noise that moves the response by less than 0.1 dB is reported, and the recording is used:
// it is neither samples that are missing nor a gain that moves. Samples that are missing from the
// same recording are still found.
func TestCodersWithoutAnEffectOnTheResponse(t *testing.T) {
	long.Skip(t)
	st, through := recordedThrough(t)
	peak := 0.0
	for _, x := range through {
		for _, v := range x {
			peak = max(peak, math.Abs(v))
		}
	}
	changed := func(change func([]float64) []float64) [][]float64 {
		return [][]float64{change(through[0]), change(through[1])}
	}
	inBass := func(f biquad.Filter) [][]float64 { // a sub-band coder leaves the bits of a soft band to others
		out := changed(slices.Clone)
		for _, x := range out {
			for _, side := range []sweep.Side{sweep.Left, sweep.Right} {
				part := x[st.Sweeps(side)[0].Start:][:int(48000*st.Sweep().TimeAt(300))]
				filtered := slices.Clone(part)
				biquad.Chain{f}.Apply(filtered)
				for i, v := range filtered { // faded in and out over 50 ms, so that nothing clicks
					share := min(1, float64(i)/2400, float64(len(part)-1-i)/2400)
					part[i] += share * (v - part[i])
				}
			}
		}
		return out
	}
	for _, c := range []struct {
		name     string
		channels [][]float64
		said     response.FindingKind // empty: nothing
		unfit    bool
	}{
		{"uncoded", through, "", false},
		{"differences", changed(differences), fitness.LossyCodec, false},
		{"bursts", changed(func(x []float64) []float64 { return bursts(x, peak) }), fitness.LossyCodec, false},
		{"noise that falls in one band while the sweep is in the bass", inBass(biquad.New(biquad.Peaking, 12000, 2, -9, 48000)),
			fitness.LossyCodec, false},
		{"noise that falls in all bands", inBass(biquad.New(biquad.HighShelf, 4000, 0.7, -4, 48000)), fitness.LevelControl, false},
		{"30 samples missing behind bursts", rig.DropBlock(changed(func(x []float64) []float64 { return bursts(x, peak) }),
			st.Sweeps(sweep.Left)[0].Start+st.Sweep().Len()/2, 30), fitness.DroppedSamples, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			report := inspected(&capture.Recording{Name: "through.wav", SampleRate: 48000, Channels: c.channels}, said{Stimulus: st})
			assert.Equal(t, c.unfit, report.Err() != nil, "%v", report.Err())
			if c.said != "" {
				assert.NotEmpty(t, report.Of(c.said), "%v", report.Findings)
			}
			allowed := []response.FindingKind{c.said, fitness.LossyCodec}
			if c.said == fitness.LevelControl {
				allowed = allowed[:1]
			}
			for _, f := range report.AtLeast(response.Warning) {
				assert.Contains(t, allowed, f.Kind, f.String())
			}
		})
	}
}

// A coder that codes the sum of both channels puts one noise into both. They are no copies: each
// holds the sweep of its own side.
func TestACodersNoiseInBothChannelsIsNoCopy(t *testing.T) {
	race.Skip(t)
	st, through := recordedThrough(t)
	random := rand.New(rand.NewPCG(8, 1))
	noise := make([]float64, len(through[0]))
	for i := range noise {
		noise[i] = 1.5e-4 * random.NormFloat64()
	}
	for _, coded := range []bool{false, true} {
		var x [][]float64
		for _, one := range through {
			if one = slices.Clone(one); coded {
				one = bursts(one, slices.Max(one))
			}
			for i, v := range noise {
				one[i] += v
			}
			x = append(x, one)
		}
		report := inspected(&capture.Recording{Name: "through.wav", SampleRate: 48000, Channels: x}, said{Stimulus: st})
		assert.Empty(t, report.Of(fitness.CopiedChannel), "coded: %v", coded)
		assert.Equal(t, coded, len(report.Of(fitness.LossyCodec)) > 0, "%v", report.Findings)
	}
}
