package distortion_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// newSweep makes a sweep or fails the test.
func newSweep(t testing.TB, c sweep.Config) *sweep.Sweep {
	t.Helper()
	s, err := sweep.New(c)
	require.NoError(t, err)
	return s
}

// separate deconvolves a recording with room for orders harmonics.
func separate(t testing.TB, s *sweep.Sweep, orders int, recording []float64) *response.Deconvolved {
	t.Helper()
	sep, err := deconvolver(t, s, orders).Separate(recording)
	require.NoError(t, err)
	return sep
}

// deconvolver returns one for recordings as simulated here.
func deconvolver(t testing.TB, s *sweep.Sweep, orders int) *response.Deconvolver {
	t.Helper()
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{
		Orders: orders, Longest: time.Duration((s.Duration() + 0.65) * float64(time.Second)),
	})
	require.NoError(t, err)
	return d
}

// lead and tail are the samples recorded before and after a simulated sweep.
func lead(s *sweep.Sweep) int { return s.SampleRate() / 10 }
func tail(s *sweep.Sweep) int { return s.SampleRate() / 2 }

func blank(s *sweep.Sweep) []float64 { return make([]float64, lead(s)+s.Len()+tail(s)) }

// playAt4x plays a sweep through a memoryless device at four times the sweep's rate and decimates
// the result, so that the harmonics above half the sample rate are filtered off and do not fold.
func playAt4x(t testing.TB, c sweep.Config, device func(x float64) float64) []float64 {
	s := newSweep(t, c)
	fast := c
	fast.SampleRate = 4 * s.SampleRate()
	fast.Stop = s.Stop()
	x := newSweep(t, fast).Samples()
	low, high := 0.95*float64(s.SampleRate())/2, float64(s.SampleRate())/2
	length := len(blank(s))
	n := fft.FastLen(length)
	padded := make([]float64, 4*n)
	for i, v := range x {
		padded[4*lead(s)+i] = device(v)
	}
	wide := fft.NewPlan(4*n).Forward(nil, padded)
	narrow := wide[:n/2+1]
	for k := range narrow {
		f := float64(k) * float64(s.SampleRate()) / float64(n)
		narrow[k] *= complex(0.25*fallOff(f, low, high), 0)
	}
	return fft.NewPlan(n).Inverse(nil, narrow)[:length]
}

// fallOff returns 1 up to low and 0 from high, with a raised cosine between.
func fallOff(f, low, high float64) float64 {
	switch {
	case f <= low:
		return 1
	case f >= high:
		return 0
	}
	return 0.5 + 0.5*math.Cos(math.Pi*(f-low)/(high-low))
}

// harmonic is a sin(n φ + phase) at a level in dB relative to the sweep's.
type harmonic struct {
	n     int
	level float64
	phase float64
}

// withHarmonics returns a recording of the sweep with exact harmonics of its phase, each faded out
// near half the sample rate: the output of a memoryless device, without a device that could alias.
func withHarmonics(s *sweep.Sweep, harmonics ...harmonic) []float64 {
	recording := blank(s)
	copy(recording[lead(s):], s.Samples())
	addHarmonics(recording[lead(s):], s, harmonics...)
	return recording
}

func addHarmonics(x []float64, s *sweep.Sweep, harmonics ...harmonic) {
	fs := float64(s.SampleRate())
	amplitude := make([]float64, len(harmonics))
	for k, h := range harmonics {
		amplitude[k] = s.Amplitude() * math.Pow(10, h.level/20)
	}
	for i := range s.Len() {
		t := float64(i) / fs
		f, phase := s.FrequencyAt(t), s.PhaseAt(t)
		for k, h := range harmonics {
			n := float64(h.n)
			a := amplitude[k] * fallOff(n*f, 0.475*fs, 0.495*fs)
			x[i] += a * math.Sin(n*phase+h.phase)
		}
	}
}

// quiet returns a silence of −150 dBFS, so that everything here stands far above the floor.
func quiet(sampleRate int) []float64 {
	silence := make([]float64, sampleRate)
	addNoise(silence, 1, -150)
	return silence
}

// rmsOfSine returns the rms level in dBFS of a sine of a peak level in dBFS.
func rmsOfSine(peak float64) float64 { return peak - 10*math.Log10(2) }
