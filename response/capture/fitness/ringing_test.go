package fitness_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// TestAResonanceIsNoOtherSound lets a sharp resonance ring on, and then adds a tone that begins
// while the sweep plays, at another frequency. Only the tone is another sound.
func TestAResonanceIsNoOtherSound(t *testing.T) {
	race.Skip(t)
	s, err := sweep.New(sweep.Config{Start: 20, Stop: 5300, Duration: 4 * time.Second, SampleRate: 12000, Level: -9})
	require.NoError(t, err)
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	require.NoError(t, err)
	draws := 2
	if long.Enabled() {
		draws = 60
	}
	for seed := range uint64(draws) {
		random := rand.New(rand.NewPCG(seed, 31))
		resonance := 40 * math.Pow(10, random.Float64())
		q, gain := 20*math.Pow(5, random.Float64()), 6+14*random.Float64()
		if seed == 0 {
			resonance, q, gain = 90, 95, 20
		}
		tone := resonance * (1.8 + random.Float64())
		begins := 0.4 * random.Float64()
		for _, level := range []float64{math.Inf(-1), -46} {
			t.Run(fmt.Sprintf("%d: Q %.0f, %.0f dB at %.0f Hz, a tone of %.0f dBFS at %.0f Hz", seed, q, gain, resonance, level, tone), func(t *testing.T) {
				d := newTrial(2, stimulus, true)
				d.rig.Hum, d.rig.DC, d.rig.Drift, d.rig.Latency = rig.Hum{}, 0, 0, 1000.5
				d.rig.Noise, d.rig.Room = rig.Noise{Level: -100}, rig.Noise{Level: -97}
				d.start, d.bits = 1000, 24
				d.headphones.Left.Filters = append(d.headphones.Left.Filters, rig.Peak(resonance, q, gain))
				d.headphones.Left.Gain -= 10 // no clipping
				d.channels = d.rig.Through(d.headphones, 0, stimulus.Channels())
				at := d.start + stimulus.Sweeps(sweep.Left)[0].Start
				for i := at + int(begins*float64(s.Len())); i < at+s.Len(); i++ {
					d.channels[0][i] += math.Pow(10, level/20) * math.Sqrt2 * math.Sin(2*math.Pi*tone*float64(i)/12000)
				}
				found := inspected(d.recording(t), said{Stimulus: stimulus}).AtLeast(response.Warning)
				if math.IsInf(level, -1) {
					assert.Empty(t, found)
				} else {
					assert.NotEmpty(t, found)
				}
			})
		}
	}
}
