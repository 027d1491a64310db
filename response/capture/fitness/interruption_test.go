package fitness_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// heardBy filters x by a resonance at 3 kHz and a notch at 7 kHz, as a driver under a cup does, with
// noise 80 dB below full scale.
func heardBy(x []float64, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 4))
	// Two sections of second order, poles and zeros placed by hand at 48 kHz.
	section := func(x []float64, zero, zeroRadius, pole, poleRadius float64) []float64 {
		y := make([]float64, len(x))
		b1, b2 := -2*zeroRadius*math.Cos(2*math.Pi*zero/48000), zeroRadius*zeroRadius
		a1, a2 := -2*poleRadius*math.Cos(2*math.Pi*pole/48000), poleRadius*poleRadius
		var x1, x2, y1, y2 float64
		for i, v := range x {
			y[i] = v + b1*x1 + b2*x2 - a1*y1 - a2*y2
			x1, x2, y1, y2 = v, x1, y[i], y1
		}
		return y
	}
	y := section(section(x, 3000, 0.7, 3000, 0.85), 7000, 0.998, 7000, 0.9)
	for i := range y {
		y[i] = 0.5*y[i] + 1e-4*random.NormFloat64()
	}
	return y
}

// gone silences x from a time to another but for noise.
func gone(x []float64, from, to float64) []float64 {
	random, y := rand.New(rand.NewPCG(9, 9)), append([]float64(nil), x...)
	for i := int(from * 48000); i < min(len(y), int(to*48000)); i++ {
		y[i] = 1e-4 * random.NormFloat64()
	}
	return y
}

// A contact that opens, or a driver that fails, is named with its time, and nothing else is: at its
// edges it looks like clicks and missing samples, and what is lost like another sound or a coder.
func TestInterruptions(t *testing.T) {
	s, err := sweep.New(sweep.Config{Start: 20, Duration: 3 * time.Second, SampleRate: 48000, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 700 * time.Millisecond})
	require.NoError(t, err)
	played := st.Channels()
	left, right := heardBy(played[0], 1), heardBy(played[1], 2)
	inspect := func(x []float64) *fitness.Report {
		return inspected(&capture.Recording{Name: "take.wav", SampleRate: 48000, Channels: [][]float64{x, right}}, said{Stimulus: st})
	}
	assert.Empty(t, inspect(left).AtLeast(response.Warning), "sound: the notch is no interruption")
	begin := float64(st.Sweeps(sweep.Left)[0].Start) / 48000
	for _, row := range []struct {
		at, lasts float64 // s
		says      string
	}{
		{0.2, 0.4, "for 400 ms"}, {1.1, 0.05, "for 50 ms"}, {2.3, 0.05, "for 50 ms"}, {2.1, 0.006, "for 6 ms"},
		{1.3, 100, "and stays so"}, {2.7, 100, "and stays so"},
	} {
		x := gone(left, begin+row.at, begin+row.at+row.lasts)
		report := inspect(x)
		found := report.Of(fitness.SilentChannel)
		require.Len(t, found, 1, "%v: %v", row, report.Findings)
		assert.InDelta(t, begin+row.at, found[0].Time, 0.5/s.FrequencyAt(row.at)+1e-3, "s; a sine is at zero twice a period")
		assert.Contains(t, found[0].What, fmt.Sprintf("falls silent at %.2f s %s", found[0].Time, row.says))
		for _, f := range report.AtLeast(response.Warning) {
			assert.Equal(t, fitness.SilentChannel, f.Kind, "a cause is told once: %v", f)
		}
	}
	twice := inspect(gone(gone(left, begin+1, begin+1.05), begin+2, begin+2.03)).Of(fitness.SilentChannel)
	require.Len(t, twice, 1)
	assert.Contains(t, twice[0].What, "falls silent 2 times")

	// A thud that begins as loud as the sweep at 40 Hz, opposes it, and dies away within 0.12 s.
	thud, at := append([]float64(nil), left...), begin+s.TimeAt(40)
	for i := int(at * 48000); i < len(thud) && float64(i)/48000 < at+1; i++ {
		thud[i] -= left[i] * math.Exp(-(float64(i)/48000-at)/0.12)
	}
	assert.Empty(t, inspect(thud).Of(fitness.SilentChannel), "it cancels the sweep for 13 ms")
}

// A level that falls for a while is named with its time and by how much, and nothing else is: at
// its edges it looks like clicks, and between them like another sound or level control.
func TestLevelSteps(t *testing.T) {
	s, err := sweep.New(sweep.Config{Start: 20, Duration: 3 * time.Second, SampleRate: 48000, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 700 * time.Millisecond})
	require.NoError(t, err)
	played, begin := st.Channels(), float64(st.Sweeps(sweep.Left)[0].Start)/48000
	right := heardBy(played[1], 2)
	for _, row := range []struct {
		at, lasts float64 // s
		by        float64 // dB
		says      string
	}{
		{1.1, 0.05, -10, "for 50 ms"}, {2.2, 0.02, -6, "for 20 ms"}, {0.7, 0.3, -3, "for 300 ms"}, {1.6, 0.1, -20, "for 100 ms"},
		{1.3, 1, 6, "while the sweep plays"},
	} {
		x := append([]float64(nil), played[0]...) // the player's contact: the driver's ringing follows
		for i := range x {
			if at := float64(i)/48000 - begin - row.at; at >= 0 && (at < row.lasts || row.lasts == 1) {
				x[i] *= math.Pow(10, row.by/20)
			}
		}
		report := inspected(&capture.Recording{Name: "take.wav", SampleRate: 48000, Channels: [][]float64{heardBy(x, 1), right}},
			said{Stimulus: st})
		found := report.Of(fitness.LevelStep)
		require.Len(t, found, 1, "%v: %v", row, report.Findings)
		assert.InDelta(t, begin+row.at, found[0].Time, 1e-3, "s")
		assert.InDelta(t, row.by, found[0].Figures["step"].Value, 0.7, "dB; within 12 ms of the sweep the filter changes by as much")
		assert.Contains(t, found[0].What, row.says)
		for _, f := range report.AtLeast(response.Warning) {
			assert.Equal(t, fitness.LevelStep, f.Kind, "a cause is told once: %v", f)
		}
	}
}
