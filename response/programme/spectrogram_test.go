package programme_test

import (
	"math"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

func spectrogram(t *testing.T, x, y []float64) *programme.Spectrogram {
	c := compare(t, x, y, 48000, programme.Config{})
	return programme.NewSpectrogram(channel("direct.wav", x, 48000), channel("through.wav", y, 48000), c.Alignment)
}

// A steady filter has the same difference in every second, whatever is played. The filter and the
// noise are known by construction.
func TestASteadyFilterDoesNotWaver(t *testing.T) {
	long.Skip(t)
	pieces := map[string][]float64{"speech": rig.Speech(48000, 9, 6)[0], "music": music(9, 5)}
	for name, x := range pieces {
		for _, snr := range []float64{0, 30} {
			s := spectrogram(t, x, device{filter: headphones(48000), gain: -0.4, start: 500.3, snr: snr, seed: 3}.through(x))
			assert.Empty(t, s.Findings, "%s, %v dB", name, snr)
			known, held := 0, 0
			for _, c := range s.Changes {
				for i, v := range c.Level {
					if !math.IsNaN(v) {
						known++
						if math.Abs(v) <= c.HalfWidth95[i] {
							held++
						}
					}
				}
			}
			require.Greater(t, known, 6)
			assert.Greater(t, float64(held)/float64(known), 0.8, "%s, %v dB: 95 %% of about 24, less three times the scatter of a count", name, snr)
		}
	}
}

// Noise of the direct recording is no change, where the material is soft for a second: it counts as
// material that does not come through, and lowers H1 by as much as the coherence (Bendat & Piersol,
// Random Data, ch. 9).
func TestNoiseOfTheDirectRecordingDoesNotWaver(t *testing.T) {
	long.Skip(t)
	x := music(9, 5)
	for i := 57 * 4800; i < 83*4800; i++ {
		x[i] *= 0.01
	}
	direct := device{gain: 1, snr: 56, seed: 9}.through(x)
	y := device{filter: headphones(48000), gain: 0.4, start: 500, snr: 70, seed: 3}.through(x)
	s := spectrogram(t, direct, y)
	lowest := 0.
	for _, v := range s.Changes[2].Level {
		lowest = min(lowest, v)
	}
	assert.Less(t, lowest, -1.0, "dB, in the treble: it is there")
	assert.Empty(t, s.Findings)
}

// A voice ends a second before the recordings do. After the voice both recordings hold only mains
// hum, 60 and 55 dB below the voice. The hums are coherent, and their ratio is no change of the
// pair.
func TestHumAfterTheEndDoesNotWaver(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	x := append(rig.Speech(fs, 9, 6)[0], make([]float64, fs*5/4)...)
	y := device{filter: headphones(fs), gain: 0.4, start: 500, snr: 75, seed: 3}.through(x)
	direct := device{gain: 1, snr: 75, seed: 9}.through(x)
	for i, z := range [2][]float64{direct, y} {
		var power float64
		for _, v := range z {
			power += v * v / float64(len(z))
		}
		level := decibel.Amplitude([2]float64{-60, -55}[i]) * math.Sqrt(2*power)
		for k := range z {
			for h := 1.0; h < 6; h++ {
				z[k] += level / h * math.Sin(2*math.Pi*50*h*float64(k)/fs+float64(i)*h)
			}
		}
	}
	assert.Empty(t, spectrogram(t, direct, y).Findings)
}

// A change is named with its time, which is known by construction.
func TestWaveringIsNamed(t *testing.T) {
	race.Skip(t)
	x := music(9, 7)
	y := device{filter: headphones(48000), gain: 0.5, snr: 50, seed: 4}.through(x)
	for i := 5 * 48000; i < 7*48000; i++ {
		y[i] *= decibel.Amplitude(-1.5)
	}
	s := spectrogram(t, x, y)
	require.NotEmpty(t, s.Findings)
	f := s.Findings[0]
	assert.Equal(t, response.Warning, f.Severity)
	assert.InDelta(t, 5, f.Time, 0.01, "the pieces are those of the seconds")
	assert.InDelta(t, 2, f.Duration, 0.01)
	assert.InDelta(t, -1.5, f.Figures["change"].Value, 0.3, "segments of 0.17 s reach across the edges, where a note may be loudest")
	for _, c := range s.Changes {
		assert.InDelta(t, -1.5, c.Level[5], 0.35, c.Name+": the same")
	}
}

// A sine of −20 dBFS peak in both, that is −23 dBFS rms, with a quarter of its power in the through
// recording.
func TestSpectrogramHasLevels(t *testing.T) {
	race.Skip(t)
	x := music(4, 8)
	for i := range x {
		x[i] = 0.01*x[i] + 0.1*math.Sin(2*math.Pi*1000*float64(i)/48000)
	}
	y := device{gain: 0.5}.through(x)
	s := spectrogram(t, x, y)
	for row, b := range s.Bands {
		if b.Low < 1000 && 1000 < b.High {
			for i := range s.Time {
				assert.InDelta(t, -23.01, s.Direct[row][i], 0.3, "the band is ten bins wide; and a little music")
				assert.InDelta(t, s.Direct[row][i]-6.02, s.Through[row][i], 0.01)
			}
		}
	}
	assert.InDelta(t, 4, s.Time[len(s.Time)-1], 0.1, "half a column, and the end that the alignment leaves")
	assert.Greater(t, len(s.Time), 50)
}

// The powers of neighbouring bands add, by definition of a band. Edges of twelfths and
// forty-eighths are among those of thirds (IEC 61260-1).
func TestFractionsAddUp(t *testing.T) {
	race.Skip(t)
	x := music(6, 9)
	c := compare(t, x, device{gain: 0.5, snr: 60, seed: 5}.through(x), 48000, programme.Config{})
	for _, third := range c.Bands(3) {
		for _, fraction := range []int{12, 48} {
			sum, parts := 0.0, 0
			for _, b := range c.Bands(fraction) {
				if b.Centre > third.Low && b.Centre < third.High && b.Low > 500 {
					sum, parts = sum+decibel.Power(b.Direct), parts+1
				}
			}
			if parts == fraction/3 {
				assert.InDelta(t, third.Direct, decibel.OfPower(sum), 0.1, "a third octave in which one resolution ends takes its parts from two: %v in %d", third.Nominal, fraction)
			}
		}
		if third.Known && third.Centre > 100 {
			assert.InDelta(t, -6.02, third.Difference, 0.02, "noise 60 dB down: %v", third.Nominal)
		}
	}
	assert.Empty(t, c.Bands(0))
}
