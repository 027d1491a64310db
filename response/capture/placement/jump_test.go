package placement_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

var jumpTrials = flag.Int("jumps", 5, "recordings for TestJump, sound ones and spoilt ones; 600 take half an hour")

// drawn is a random recording in a random room: rates, lengths, repeats, clocks to 100 ppm, noise
// to −45 dBFS, reflections to 60 ms.
type drawn struct {
	random   *rand.Rand
	stimulus *sweep.Stimulus
	rig      rig.Rig
	channels [][]float64
}

func (d *drawn) between(low, high float64) float64 { return low + (high-low)*d.random.Float64() }

func draw(t *testing.T, seed uint64) *drawn {
	d := &drawn{random: rand.New(rand.NewPCG(seed, 99))}
	rate := []int{44100, 48000, 96000}[d.random.IntN(3)]
	s, err := sweep.New(sweep.Config{Duration: duration.Of(d.between(1, 6)), SampleRate: rate, Level: -12})
	require.NoError(t, err)
	d.stimulus, err = sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Repeats: 1 + d.random.IntN(2), Gap: duration.Of(d.between(0.3, 1.5)), Silence: time.Second})
	require.NoError(t, err)
	subject, rivals, r := rig.Demonstration()
	r.SampleRate, r.Seed, r.Latency = rate, seed, d.between(0, 3000)
	r.Drift = d.between(-100, 100) * float64(d.random.IntN(2))
	r.Noise.Level, r.Room.Level = d.between(-100, -85), d.between(-95, -45)
	for range d.random.IntN(60) {
		ms := d.between(1, 60)
		r.Plate = append(r.Plate, rig.Reflection{Delay: duration.Of(ms / 1000), Level: -15 - ms/2 + d.between(-10, 0)})
	}
	d.rig = r
	d.channels = r.Through(append(rivals, subject)[d.random.IntN(3)], int(seed%5), d.stimulus.Channels())
	return d
}

// A block of 3 to 2000 samples that is missing or inserted between the marks is found and counted.
// In an undisturbed recording nothing is found. The expected value is the number of samples that
// were cut out.
func TestJump(t *testing.T) {
	long.Skip(t)
	farthest := 0.0
	for seed := range uint64(*jumpTrials) {
		d := draw(t, seed)
		about := fmt.Sprintf("seed %d, %d Hz, %.1f s", seed, d.rig.SampleRate, d.stimulus.Sweep().Duration())
		locate := func(c [][]float64) placement.Jump {
			p, err := placement.Locate(&capture.Recording{Name: "drawn.wav", SampleRate: d.rig.SampleRate, Channels: c}, d.stimulus)
			require.NoError(t, err)
			j, found := p.Jump()
			assert.Equal(t, j.Farthest > 1, found)
			return j
		}
		sound := locate(d.channels)
		if math.IsNaN(sound.Drift) {
			t.Log("not looked for, for want of marks: ", about) // not searched for, for want of marks: 2 in 100, in noise and long rooms
			continue
		}
		farthest = max(farthest, sound.Farthest)
		assert.LessOrEqual(t, sound.Farthest, 0.5, "samples, %s: half of the least jump", about)
		assert.InDelta(t, d.rig.Drift, sound.Drift, 3, "ppm, %s: a tenth of a sample in a second", about)

		marks := d.stimulus.Find(sweep.Mark)
		from := marks[0].Start + marks[0].Len
		at := int(d.rig.Latency) + from + int(d.between(0.02, 0.98)*float64(marks[1].Start-from))
		missing := int(math.Exp(d.between(math.Log(3), math.Log(2000))))
		spoilt := rig.DropBlock(d.channels, at, missing)
		if d.random.IntN(2) == 0 {
			spoilt = rig.RepeatBlock(d.channels, at, missing)
			missing = -missing
		}
		j := locate(spoilt)
		about = fmt.Sprintf("%s, %d samples at %.2f s: %+v", about, missing, float64(at)/float64(d.rig.SampleRate), j)
		if !assert.Greater(t, j.Farthest, 1.0, about) || j.Explained < 0.99 {
			continue // one jump does not explain a band that it cuts in two
		}
		assert.InDelta(t, missing, j.Missing, 1+0.1*math.Abs(float64(missing)), about)
		place := float64(at) / float64(d.rig.SampleRate)
		assert.True(t, j.From-0.1 < place && place < j.To+0.2, "a band is as long as that: %s", about)
	}
	t.Logf("%d sound recordings: %.2f samples off their places at most", *jumpTrials, farthest)
}

// Without marks, or for a sweep outside their band, Jump finds nothing.
func TestJumpIsNotLookedFor(t *testing.T) {
	s, err := sweep.New(sweep.Config{Start: 6000, Stop: 20000, Duration: time.Second})
	require.NoError(t, err)
	high, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	require.NoError(t, err)
	for _, st := range []*sweep.Stimulus{stimulus(t, sweep.StimulusConfig{Unmarked: true}), high} {
		p, _ := placement.Locate(&capture.Recording{Name: "x.wav", SampleRate: 48000, Channels: st.Channels()}, st)
		j, found := p.Jump()
		assert.False(t, found)
		assert.True(t, math.IsNaN(j.Drift))
	}
	p, err := placement.Locate(&capture.Recording{Name: "music.wav", SampleRate: 48000, Channels: rig.Music(48000, 1, 1)}, nil)
	require.NoError(t, err)
	_, found := p.Jump()
	assert.False(t, found)
}
