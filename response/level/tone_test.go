package level_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response/level"
)

// calibrated simulates the recording of a calibrator: noise throughout, and a tone from start to
// end at level dBFS rms.
type calibrated struct {
	frequency, level    float64
	start, end, seconds float64
	noise               float64 // dBFS rms
	drift               float64 // dB over the tone
	step                float64 // dB, after half of it
	third               float64 // of the third harmonic, relative
	offset              float64
}

func (c calibrated) samples() []float64 {
	random := rand.New(rand.NewPCG(11, 12))
	x := make([]float64, int(c.seconds*toneRate))
	for i := range x {
		t := float64(i) / toneRate
		x[i] = c.offset + math.Pow(10, c.noise/20)*random.NormFloat64()
		if t < c.start || t >= c.end {
			continue
		}
		part := (t - c.start) / (c.end - c.start)
		level := c.level + c.drift*(part-0.5)
		if part > 0.5 {
			level += c.step
		}
		phase := 2 * math.Pi * c.frequency * t
		x[i] += math.Sqrt2 * math.Pow(10, level/20) * (math.Sin(phase) + c.third*math.Sin(3*phase))
		x[i] = max(-1, min(1, x[i]))
	}
	return x
}

const toneRate = 48000

func TestCalibratorTone(t *testing.T) {
	race.Skip(t)
	usual := calibrated{frequency: 1000, level: -23, start: 1, end: 5, seconds: 6, noise: -70}
	with := func(change func(c *calibrated)) calibrated {
		c := usual
		change(&c)
		return c
	}
	for _, c := range []struct {
		name     string
		c        calibrated
		wanted   float64
		findings int
	}{
		{"94 dB at 1 kHz", usual, 1000, 0},
		{"114 dB at 1 kHz", with(func(c *calibrated) { c.level = -3.5 }), 1000, 0},
		{"250 Hz, which a pistonphone makes 251.2", with(func(c *calibrated) { c.frequency = 251.19 }), 250, 0},
		{"1.5 % off", with(func(c *calibrated) { c.frequency = 1015 }), 1000, 0},
		{"over the whole recording", with(func(c *calibrated) { c.start, c.end = 0, 6 }), 1000, 0},
		{"with an offset of the input", with(func(c *calibrated) { c.offset = 0.1 }), 1000, 0},
		{"20 dB above the noise", with(func(c *calibrated) { c.noise = -43 }), 1000, 1},
		{"with a tenth of third harmonic", with(func(c *calibrated) { c.third = 0.1 }), 1000, 1},
		{"drifting by 0.3 dB", with(func(c *calibrated) { c.drift = 0.3 }), 1000, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			tone, err := level.Calibrator{Frequency: c.wanted}.Tone(c.c.samples(), toneRate)
			require.NoError(t, err)
			assert.InDelta(t, c.c.frequency, tone.Frequency, 0.02, "noise over 0.5 s, averaged")
			assert.InDelta(t, c.c.level, tone.Level.Value, 0.002+2*tone.Level.Uncertainty, "95 %, and the skirt of a Hann window")
			assert.InDelta(t, c.c.level-c.c.noise, tone.SNR, 0.6+c.c.drift, "the noise of 4 s, lobes taken out")
			assert.InDelta(t, c.c.third, tone.Distortion, 0.02, "noise in the lobes of harmonics")
			assert.InDelta(t, c.c.start, tone.Start, 0.51, "a block of 0.5 s")
			assert.InDelta(t, c.c.end, tone.End, 0.51, "a block of 0.5 s")
			assert.InDelta(t, c.c.drift, tone.Range, 0.05+0.2*math.Pow(10, (c.c.noise-c.c.level)/20), "noise")
			assert.Equal(t, level.RecordedLevel, tone.Level.Unit)
			assert.GreaterOrEqual(t, tone.Level.Uncertainty, tone.Range/2/math.Sqrt(3), "JCGM 100:2008, 4.3.7")
			assert.Len(t, tone.Findings, c.findings, "%v", tone.Findings)
		})
	}
	for _, c := range []struct {
		name   string
		c      calibrated
		wanted float64
		err    error
		says   string
	}{
		{"the other frequency", usual, 250, level.ErrNoTone, "there is a tone at 1000.0 Hz, +300.0 % away from 250 Hz"},
		{"3 % off", with(func(c *calibrated) { c.frequency = 1030 }), 1000, level.ErrNoTone, "there is a tone at 1030.0 Hz, +3.0 % away"},
		{"noise only", with(func(c *calibrated) { c.start, c.noise = 6, -20 }), 1000, level.ErrNoTone, "1000 Hz is never stronger"},
		{"silence", with(func(c *calibrated) { c.start, c.noise = 6, -110 }), 1000, level.ErrNoTone, "silent"},
		{"empty", calibrated{}, 1000, level.ErrNoTone, "shorter than 0.5 s"},
		{"a second of tone", with(func(c *calibrated) { c.end = 2 }), 1000, level.ErrNoTone, "for 1.0 s only, from 1.0 s"},
		{"in as much noise", with(func(c *calibrated) { c.noise = -35 }), 1000, level.ErrNoTone, "12 dB above the rest"},
		{"clipped", with(func(c *calibrated) { c.level = 1 }), 1000, level.ErrClippedTone, "lower the input gain"},
		{"drifting by 2 dB", with(func(c *calibrated) { c.drift = 2 }), 1000, level.ErrUnsteadyTone, "seat the microphone"},
		{"a step of 1 dB", with(func(c *calibrated) { c.step = -1 }), 1000, level.ErrUnsteadyTone, "moves by 1.0 dB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := level.Calibrator{Frequency: c.wanted}.Tone(c.c.samples(), toneRate)
			require.ErrorIs(t, err, c.err)
			assert.ErrorContains(t, err, "level: ")
			assert.ErrorContains(t, err, c.says)
		})
	}
	for _, c := range []struct {
		name      string
		frequency float64
		rate      int
		samples   []float64
		says      string
	}{
		{"a frequency above an eighth of the rate", 9000, toneRate, usual.samples(), "9000 Hz is not within 50 and 6000 Hz"},
		{"no frequency", 0, toneRate, usual.samples(), "0 Hz is not within"},
		{"NaN for a frequency", math.NaN(), toneRate, usual.samples(), "NaN Hz is not within"},
		{"no sample rate", 1000, 0, usual.samples(), "sample rate cannot be used: 0 Hz"},
		{"a sample that is not a number", 1000, toneRate, append(make([]float64, toneRate/2), math.NaN()), "the sample at 0.500 s is NaN"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := level.Calibrator{Frequency: c.frequency}.Tone(c.samples, c.rate)
			require.ErrorIs(t, err, level.ErrInput)
			assert.ErrorContains(t, err, c.says)
		})
	}
}

func BenchmarkCalibratorTone(b *testing.B) {
	x := calibrated{frequency: 1000, level: -23, start: 2, end: 28, seconds: 30, noise: -70}.samples()
	b.SetBytes(int64(8 * len(x)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := (level.Calibrator{Frequency: 1000}).Tone(x, toneRate); err != nil {
			b.Fatal(err)
		}
	}
}
