package response_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"sync"
	"testing"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/response"
	"example.com/earnest/sweep"

	"github.com/stretchr/testify/require"
)

func mustSweep(t testing.TB, c sweep.Config) *sweep.Sweep {
	t.Helper()
	s, err := sweep.New(c)
	require.NoError(t, err)
	return s
}

func mustDeconvolver(t testing.TB, s sweep.Signal, c response.DeconvolverConfig) *response.Deconvolver {
	t.Helper()
	d, err := response.NewDeconvolver(s, c)
	require.NoError(t, err)
	return d
}

// common returns the deconvolver of the sweep that most tests play, 20 Hz–20 kHz, 6 s, 48 kHz, made
// once.
var common = sync.OnceValue(func() *response.Deconvolver {
	s, err := sweep.New(sweep.Config{})
	if err != nil {
		panic(err)
	}
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{})
	if err != nil {
		panic(err)
	}
	return d
})

// played returns a recording of the sweep that begins after a number of samples, with a second of
// silence at the end.
func played(s *sweep.Sweep, after int) []float64 {
	x := make([]float64, after+s.Len()+s.SampleRate())
	copy(x[after:], s.Samples())
	return x
}

// delayed returns the sweep delayed by a fraction of a sample, by its formula.
func delayed(s *sweep.Sweep, samples, gain float64) []float64 {
	x := make([]float64, s.Len()+s.SampleRate())
	for i := range x {
		at := (float64(i) - samples) / float64(s.SampleRate())
		if at < 0 || at > s.Duration() {
			continue
		}
		x[i] = gain * math.Sin(s.PhaseAt(at))
		if rest := s.Duration() - at; rest < 0.005 { // the default fades
			x[i] *= math.Pow(math.Sin(math.Pi/2*rest/0.005), 2)
		}
		if fade := 1 / s.Start(); at < fade {
			x[i] *= math.Pow(math.Sin(math.Pi/2*at/fade), 2)
		}
	}
	return x
}

// device returns filters with a resonance, a weak bass and a falling treble.
func device(sampleRate float64) biquad.Chain {
	return biquad.Chain{
		biquad.New(biquad.Peaking, 3000, 3, 6, sampleRate),
		biquad.New(biquad.LowShelf, 120, 0.7, -5, sampleRate),
		biquad.New(biquad.HighShelf, 9000, 0.8, -4, sampleRate),
	}
}

// errorsOver returns the largest error of a transfer function against the
// truth over a band, in dB and in degrees.
func errorsOver(tr *response.Transfer, low, high float64, truth func(f float64) complex128) (level, phase float64) {
	for k, v := range tr.Bins {
		if f := tr.Frequency(k); f >= low && f <= high {
			e := v / truth(f)
			level = max(level, math.Abs(20*math.Log10(cmplx.Abs(e))))
			phase = max(phase, math.Abs(cmplx.Phase(e))*180/math.Pi)
		}
	}
	return level, phase
}

// addNoise adds noise of a power relative to the sweep's: white; blue, its difference; or pink,
// approximately, a leaky sum.
func addNoise(x []float64, s *sweep.Sweep, decibel float64, colour string, random *rand.Rand) {
	noise := make([]float64, len(x))
	var last, sum float64
	for i := range noise {
		w := random.NormFloat64()
		switch colour {
		case "white":
			noise[i] = w
		case "blue":
			noise[i], last = w-last, w
		case "red":
			last = 0.999*last + w
			noise[i] = last
		}
		sum += noise[i] * noise[i]
	}
	rms := s.Amplitude() / math.Sqrt2 * math.Pow(10, decibel/20)
	gain := rms / math.Sqrt(sum/float64(len(x)))
	for i := range x {
		x[i] += gain * noise[i]
	}
}
