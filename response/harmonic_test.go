package response_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// addHarmonic adds the n-th harmonic of a memoryless device, a sin(n φ(t)), exactly and without
// aliasing. It is faded out below half the sample rate.
func addHarmonic(x []float64, s *sweep.Sweep, after, n int, amplitude float64) {
	fs := float64(s.SampleRate())
	for i := range s.Len() {
		at := float64(i) / fs
		f := float64(n) * s.FrequencyAt(at)
		w := min(1, max(0, (0.48*fs-f)/(0.02*fs)))
		x[after+i] += amplitude * math.Pow(math.Sin(math.Pi/2*w), 2) * math.Sin(float64(n)*s.PhaseAt(at))
	}
}

func TestExactHarmonics(t *testing.T) {
	race.Skip(t)
	const delay = 4800
	d := common()
	s := d.Sweep()
	filters := device(48000)
	linear := played(s, delay)
	filters.Apply(linear) // its ringing reaches the places of the harmonics
	for name, decibel := range map[string]float64{"40 dB down": -40, "90 dB down": -90, "110 dB down": -110} {
		t.Run(name, func(t *testing.T) {
			x := slices.Clone(linear)
			amplitude := math.Pow(10, decibel/20)
			for n := 2; n <= 5; n++ {
				addHarmonic(x, s, delay, n, amplitude)
			}
			parts, err := d.Separate(x)
			require.NoError(t, err)
			assert.Same(t, s, parts.Sweep)
			assert.Equal(t, 5, parts.Orders)
			for n := 2; n <= 5; n++ {
				at := delay/48000.0 - s.HarmonicAdvance(n)
				gap := func(n int) time.Duration {
					return time.Duration(0.45 * (s.HarmonicAdvance(n+1) - s.HarmonicAdvance(n)) * float64(time.Second))
				}
				tr := parts.Harmonics.WindowAt(at, gap(n), gap(n-1)).Transfer().Delayed(-at)
				top := min(21000, 20000*float64(n)) // above the sweep's own stop where n allows
				truth := func(float64) complex128 { return complex(amplitude, 0) }
				for _, band := range []struct{ from, worst float64 }{{40, 0.005}, {25, 0.16}} { // Hz of the fundamental; dB
					level, phase := errorsOver(tr, band.from*float64(n), top, truth)
					assert.Less(t, level, band.worst, "order %d from %g Hz; the sweep's beginning ripples", n, band.from)
					assert.Less(t, phase, 50*band.worst, "order %d from %g Hz, degrees", n, band.from)
				}
			}
			window, err := parts.Linear.Window(0, 0)
			require.NoError(t, err)
			level, _ := errorsOver(window.Transfer(), 25, 18000, func(f float64) complex128 { return filters.Response(f, 48000) })
			assert.Less(t, level, 0.02, "dB; the linear response is left as it is by harmonics 40 dB down")
		})
	}
}

func TestHarmonicsOfAWireAreZero(t *testing.T) {
	d := common()
	parts, err := d.Separate(played(d.Sweep(), 300))
	require.NoError(t, err)
	largest := 0.0
	for i, v := range parts.Harmonics.Samples {
		if parts.Harmonics.Time(i) < -0.2 {
			largest = max(largest, math.Abs(v))
		}
	}
	assert.Less(t, 20*math.Log10(largest), -110.0, "dB under the linear peak of 1")
}

// A sixth harmonic for which there is no room is wrapped round to the end of the response. It is
// not part of the linear one.
func TestHarmonicWithoutRoomIsNotLinear(t *testing.T) {
	const after = 4800
	s := mustSweep(t, sweep.Config{Duration: time.Second})
	d := mustDeconvolver(t, s, response.DeconvolverConfig{Orders: 1, Longest: time.Duration(s.Len()+after) * time.Second / 48000})
	x := append(slices.Clone(s.Samples()), make([]float64, after)...)
	addHarmonic(x, s, 0, 6, 0.1)
	parts, err := d.Separate(x)
	require.NoError(t, err)
	at := float64(len(parts.Harmonics.Samples))/48000 - s.HarmonicAdvance(6)
	tr := parts.Harmonics.WindowAt(at, 7*time.Millisecond, 7*time.Millisecond).Transfer().Delayed(-at)
	level, _ := errorsOver(tr, 2000, 20000, func(float64) complex128 { return 0.1 })
	assert.Less(t, level, 0.002, "dB; the window of 14 ms cuts some of its ringing")
}
