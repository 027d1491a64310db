package response_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The figures in the comment of minProminence.
func TestSweepIsRecognisedInNoise(t *testing.T) {
	race.Skip(t)
	d := common()
	s := d.Sweep()
	for _, c := range []struct {
		noise   float64 // dB above the sweep
		colour  string
		expects float64 // dB of prominence
	}{
		{-10, "white", 56}, {0, "white", 46}, {10, "white", 36},
		{-10, "blue", 54}, {0, "blue", 44}, {10, "blue", 34},
		{-10, "red", 48}, {0, "red", 37},
	} {
		x := played(s, 4800)
		addNoise(x, s, c.noise, c.colour, rand.New(rand.NewPCG(7, 1)))
		h, err := d.Impulse(x)
		require.NoError(t, err)
		assert.InDelta(t, c.expects, h.Prominence(), 3, "%s noise at %g dB; it is random", c.colour, c.noise)
		delay, err := h.Delay()
		require.NoError(t, err, "%s noise at %g dB", c.colour, c.noise)
		assert.InDelta(t, 0.1, delay, 1.0/48000, "a sample")
	}
}

// A sample of ½ at 50 ms from the peak of 1 is near. One further away is alone in a stretch of 50
// samples: 6 dB down, and 10 log10 50 for the stretch.
func TestElsewhereBeginsBeyondFiftyMilliseconds(t *testing.T) {
	for offset, want := range map[int]float64{-50: math.Inf(1), 50: math.Inf(1), -51: 20*math.Log10(2) + 10*math.Log10(50), 51: 20*math.Log10(2) + 10*math.Log10(50)} {
		h := &response.Impulse{Samples: make([]float64, 301), SampleRate: 1000}
		h.Samples[150], h.Samples[150+offset] = 1, 0.5
		if got := h.Prominence(); math.IsInf(want, 1) {
			assert.Equal(t, want, got, "%d samples away", offset)
		} else {
			assert.InDelta(t, want, got, 1e-9, "%d samples away; rounding", offset)
		}
	}
}

func TestRecordingsWithoutTheSweepHaveNoPeak(t *testing.T) {
	race.Skip(t)
	d := common()
	s := d.Sweep()
	long := s.Len() + 48000
	other := func(c sweep.Config) []float64 { return played(mustSweep(t, c), 2400) }
	noise := func(colour string) []float64 {
		x := make([]float64, long)
		addNoise(x, s, 0, colour, rand.New(rand.NewPCG(3, 9)))
		return x
	}
	shape := func(f func(at float64) float64) []float64 {
		x := make([]float64, long)
		for i := range x {
			x[i] = f(float64(i) / 48000)
		}
		return x
	}
	reversed := played(s, 2400)
	slices.Reverse(reversed)
	for name, x := range map[string][]float64{
		"white noise":             noise("white"),
		"blue noise":              noise("blue"),
		"red noise":               noise("red"),
		"hum":                     shape(func(at float64) float64 { return math.Sin(2 * math.Pi * 50 * at) }),
		"a tone":                  shape(func(at float64) float64 { return math.Sin(2 * math.Pi * 1000 * at) }),
		"a step":                  shape(func(at float64) float64 { return math.Floor(at / 3) }),
		"the sweep reversed":      reversed,
		"a linear sweep":          shape(func(at float64) float64 { return math.Sin(2 * math.Pi * (20*at + 19980*at*at/12)) }),
		"a shorter sweep":         other(sweep.Config{Duration: 4 * time.Second}),
		"a sweep 6 % shorter":     other(sweep.Config{Duration: time.Duration((s.Duration() - 0.34) * float64(time.Second))}),
		"a sweep from 10 Hz":      other(sweep.Config{Start: 10}),
		"a sweep to 10 kHz":       other(sweep.Config{Stop: 10000}),
		"a sweep of 100 to 4 kHz": other(sweep.Config{Start: 100, Stop: 4000}),
		"the timing mark":         slices.Concat(make([]float64, 9600), s.Mark(), make([]float64, s.Len())),
	} {
		t.Run(name, func(t *testing.T) {
			if n := s.Len() - len(x); n > 0 {
				x = append(slices.Clone(x), make([]float64, n)...)
			}
			h, err := d.Impulse(x)
			require.NoError(t, err)
			_, err = h.Peak()
			require.ErrorIs(t, err, response.ErrNoPeak)
			assert.ErrorContains(t, err, "check that the recording is of this sweep")
			assert.Less(t, h.Prominence(), 22.0, "dB; 2 below the least prominence of a sweep")
		})
	}
	_, err := d.Separate(noise("white"))
	require.ErrorIs(t, err, response.ErrNoPeak)
}
