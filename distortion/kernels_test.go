package distortion_test

import (
	"math"
	"math/cmplx"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/sweep"
)

// The generalised Hammerstein example of A. Novak, P. Lotton and L. Simon (synchronised swept sine;
// coefficients from the authors' page): y = Σ filter of x^n at 96 kHz, sweep 10 Hz–12 kHz of about
// 10 s. Its fourth power reaches 48 kHz and so does not fold.
var (
	hammersteinSweep = sweep.Config{Start: 10, Stop: 12000, Duration: 10 * time.Second, SampleRate: 96000}
	hammerstein      = []biquad.Filter{
		{B0: 1, B1: -1.9027, B2: 0.9409, A1: -1.8996, A2: 0.9025},
		{B0: 1, B1: -1.8959, B2: 0.9025, A1: -1.9075, A2: 0.9409},
		{B0: 0.5, B1: -0.9176, B2: 0.4512, A1: -1.8471, A2: 0.8649},
		{B0: 0.1, B1: -0.1836, B2: 0.0846, A1: -1.7642, A2: 0.8464},
	}
)

// hammersteinDevice records the sweep through the example's branches.
func hammersteinDevice(s *sweep.Sweep, filters []biquad.Filter) []float64 {
	recording := make([]float64, s.Len()+s.SampleRate()/2)
	power := append([]float64{}, s.Samples()...)
	for m, filter := range filters {
		branch := make([]float64, len(recording))
		for i, x := range s.Samples() {
			if m > 0 {
				power[i] *= x
			}
			branch[i] = power[i]
		}
		filter.Apply(branch)
		for i, y := range branch {
			recording[i] += y
		}
	}
	return recording
}

// levelAt returns the magnitude of a kernel in dB.
func levelAt(k distortion.Kernel, f float64) float64 {
	g, _ := k.At(f)
	return 20 * math.Log10(cmplx.Abs(g))
}

func TestPublishedHammersteinExample(t *testing.T) {
	t.Parallel()
	s := newSweep(t, hammersteinSweep)
	hs, err := distortion.Harmonics(separate(t, s, 4, hammersteinDevice(s, hammerstein)), distortion.Config{})
	require.NoError(t, err)
	kernels := hs.Kernels()
	require.Len(t, kernels, 4)
	for m, k := range kernels {
		order := float64(m + 1)
		// In theory a kernel is known from the lowest fundamental times the highest order of its
		// parity. It is known up to its order times the highest fundamental, or the maximum
		// frequency.
		highest := order + 2*math.Floor((4-order)/2)
		assert.InEpsilon(t, min(12000*order, 45600), k.Valid.High, 0.03, "kernel %d", m+1) // Valid leaves out the end
		assert.Less(t, k.Valid.Low, 1.6*10*highest, "kernel %d", m+1)
		var worst, turned float64
		for i, f := range k.Frequency {
			if f < 2*10*highest {
				continue // the start of the other orders' sweeps, 80 dB stronger than kernel 4
			}
			// The delay that was removed is that of the peak, which the filters move.
			want := hammerstein[m].Response(f, 96000) * cmplx.Rect(1, 2*math.Pi*f*hs.Delay)
			worst = max(worst, math.Abs(20*math.Log10(cmplx.Abs(k.Response[i]/want))))
			turned = max(turned, math.Abs(cmplx.Phase(k.Response[i]/want)))
		}
		assert.Less(t, worst, 0.3, "kernel %d", m+1)
		assert.Less(t, turned, 0.06, "kernel %d", m+1) // rad; 3.4°, at the lowest frequency
		assert.InDelta(t, 20*math.Log10(cmplx.Abs(hammerstein[m].Response(1000, 96000))), levelAt(k, 1000), 0.01)
	}
}

func TestKernelsDoNotDependOnTheLevel(t *testing.T) {
	t.Parallel()
	filters := []biquad.Filter{{B0: 1}, {B0: 0.3}, {B0: -0.2}, {B0: 0.1}, {B0: 0.4}}
	for _, level := range []float64{0, -6} {
		s := newSweep(t, sweep.Config{Start: 50, Stop: 2000, SampleRate: 24000, Duration: 3 * time.Second, Level: level})
		hs, err := distortion.Harmonics(separate(t, s, 5, hammersteinDevice(s, filters)), distortion.Config{})
		require.NoError(t, err)
		for m, k := range hs.Kernels() {
			i := len(k.Response) / 2
			g := k.Response[i] * cmplx.Rect(1, -2*math.Pi*k.Frequency[i]*hs.Delay)              // as it left the device
			assert.InDelta(t, filters[m].B0, real(g), 1e-3, "kernel %d at %g dBFS", m+1, level) // 0.01 dB of the largest
			assert.InDelta(t, 0, imag(g), 1e-3, "kernel %d at %g dBFS", m+1, level)
			assert.Nil(t, k.Uncertainty)
		}
	}
}

func TestUncertaintyOfKernels(t *testing.T) {
	long.Skip(t)
	t.Parallel()
	filters := []biquad.Filter{{B0: 1}, {B0: 0.01}, {B0: 0.02}}
	s := newSweep(t, sweep.Config{Start: 50, Stop: 2000, SampleRate: 16000, Duration: time.Second, Level: -3})
	clean, silence := hammersteinDevice(s, filters), make([]float64, 16000)
	addNoise(silence, 99, -60)
	d := deconvolver(t, s, 3)
	const repeats = 100
	spread, stated := make([]float64, 3), make([]float64, 3)
	for r := range repeats {
		recording := append([]float64{}, clean...)
		addNoise(recording, uint64(r), -60)
		sep, err := d.Separate(recording)
		require.NoError(t, err)
		hs, err := distortion.Harmonics(sep, distortion.Config{Silence: silence, PerOctave: 6})
		require.NoError(t, err)
		for m, k := range hs.Kernels() {
			i := len(k.Frequency) / 2
			off := 20 * math.Log10(cmplx.Abs(k.Response[i])/filters[m].B0)
			spread[m] += off * off / repeats
			stated[m] += k.Uncertainty[i] * k.Uncertainty[i] / repeats
		}
	}
	for m := range spread {
		// Of 100 repeats the standard deviation is known to 7 %.
		assert.InEpsilon(t, math.Sqrt(stated[m]), math.Sqrt(spread[m]), 0.25, "kernel %d", m+1)
	}
}
