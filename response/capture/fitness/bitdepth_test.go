package fitness_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// A recording in 8 bits, or in the logarithmic code of a telephone, is named as that and as nothing
// else: its steps look like held, repeated and cut off samples, hum and level control.
func TestLowBitDepth(t *testing.T) {
	s, err := sweep.New(sweep.Config{Start: 20, Duration: 3 * time.Second, SampleRate: 48000, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 700 * time.Millisecond})
	require.NoError(t, err)
	played := st.Channels()
	inspect := func(of func(v float64) float64) *fitness.Report {
		channels := [][]float64{heardBy(played[0], 1), heardBy(played[1], 2)}
		for _, x := range channels {
			for i, v := range x {
				x[i] = of(v)
			}
		}
		return inspected(&capture.Recording{Name: "take.wav", SampleRate: 48000, Channels: channels}, said{Stimulus: st})
	}
	// ITU-T G.711, µ-law, in its continuous form with µ = 255: 127 steps on each side of zero.
	telephone := func(v float64) float64 {
		code := math.Round(127 * math.Log1p(255*math.Abs(v)) / math.Log(256))
		return math.Copysign(math.Expm1(code/127*math.Log(256))/255, v)
	}
	steps := func(bits float64) func(v float64) float64 {
		scale := math.Exp2(bits - 1)
		return func(v float64) float64 { return math.Round(v*scale) / scale }
	}
	for name, row := range map[string]struct {
		of   func(v float64) float64
		says string
	}{
		"8 bits":       {steps(8), "has the steps of 8 bits, and its peak"},
		"8 bits, soft": {func(v float64) float64 { return steps(8)(v / 4) }, "has the steps of 8 bits, and its peak"},
		"a telephone":  {telephone, "different values only"},
	} {
		t.Run(name, func(t *testing.T) {
			report := inspect(row.of)
			require.Len(t, report.Of(fitness.LowBitDepth), 2, "%v", report.Findings)
			for _, f := range report.AtLeast(response.Warning) {
				assert.Equal(t, fitness.LowBitDepth, f.Kind, "a cause is told once: %v", f)
				assert.Contains(t, f.What, row.says)
			}
		})
	}
	soft := inspect(func(v float64) float64 { return steps(16)(v / 100) })
	assert.Empty(t, soft.Of(fitness.LowBitDepth), "16 bits, of which a soft recording uses few")
	assert.NotEmpty(t, soft.Of(fitness.LowLevel))
	loud := inspect(func(v float64) float64 { return float64(float32(32768 * v)) })
	assert.Empty(t, loud.Of(fitness.Clipping), "floating-point samples go beyond full scale")
}
