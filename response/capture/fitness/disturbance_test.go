package fitness_test

import (
	"math"
	"testing"
	"time"

	"example.com/earnest/internal/testing/long"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// A tone of 150 Hz swells and dies away while the left sweep plays, and never in the silences.
func TestDisturbanceWhileTheSweepPlays(t *testing.T) {
	long.Skip(t)
	s, err := sweep.New(sweep.Config{Start: 40, Stop: 5300, Duration: 4 * time.Second, SampleRate: 12000, Level: -9})
	require.NoError(t, err)
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	require.NoError(t, err)
	for _, c := range []struct {
		name     string
		level    float64 // dBFS rms
		severity response.Severity
		found    bool
	}{
		{"nothing", math.Inf(-1), 0, false},
		{"far below what matters", -95, 0, false},
		{"that matters", -46, response.Unfit, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := newTrial(2, stimulus, true)
			d.rig.Hum, d.rig.DC, d.rig.Drift, d.rig.Latency = rig.Hum{}, 0, 0, 1000.5
			d.rig.Noise, d.rig.Room = rig.Noise{Level: -100}, rig.Noise{Level: -97}
			d.start, d.bits = 1000, 24
			d.channels = d.rig.Through(d.headphones, 0, stimulus.Channels())
			at := d.start + stimulus.Sweeps(sweep.Left)[0].Start
			for i := range s.Len() {
				time := float64(i) / 12000
				swell := math.Pow(math.Sin(math.Pi*time/0.15), 2) // its mean square is 3/8, and the tone's is a half
				d.channels[0][at+i] += math.Pow(10, c.level/20) * math.Sqrt(16.0/3) * swell * math.Sin(2*math.Pi*150*time)
			}
			var found []response.Finding
			for _, f := range inspected(d.recording(t), said{Stimulus: stimulus}).Findings {
				if f.Kind == fitness.Disturbance {
					found = append(found, f)
				}
			}
			if !c.found {
				assert.Empty(t, found)
				return
			}
			require.Len(t, found, 1, "on the side where it sounds, and not on the other")
			assert.Equal(t, c.severity, found[0].Severity)
			assert.Equal(t, 1, found[0].Channel)
			assert.InDelta(t, 150, found[0].Figures["at"].Value, 25, "it is found in third octaves")
		})
	}
}
