package programme_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response/programme"
)

// device is a known transmission from the direct recording to the other one.
type device struct {
	filter biquad.Chain
	gain   float64 // of amplitude; below zero it turns the polarity
	ppm    float64 // by which the recorder's clock runs fast
	start  float64 // samples by which the through recording begins earlier
	snr    float64 // dB, of the whole; 0 means no noise
	tail   int     // samples recorded after the end
	seed   uint64
	fine   bool // the drift exact to −100 dB at 20 kHz, not −77 dB
}

// through returns the recording through the device. It makes the drift without the interpolator
// under test: it upsamples 8 or 16 times by zeros in the spectrum and reads by a cubic.
func (d device) through(x []float64) []float64 {
	y := make([]float64, len(x)+d.tail)
	copy(y, x)
	d.filter.Apply(y)
	y = shifted(y, d.start, d.ppm, d.fine)
	var power float64
	for i := range y {
		y[i] *= d.gain
		power += y[i] * y[i]
	}
	if d.snr != 0 {
		random := rand.New(rand.NewPCG(d.seed, 77))
		noise := math.Sqrt(power/float64(len(y))) * math.Pow(10, -d.snr/20)
		for i := range y {
			y[i] += noise * random.NormFloat64()
		}
	}
	return y
}

func shifted(x []float64, start, ppm float64, exact bool) []float64 {
	if start == math.Trunc(start) && ppm == 0 {
		if start < 0 {
			return x[int(-start):]
		}
		return append(make([]float64, int(start)), x...)
	}
	up := 8
	if exact {
		up = 16
	}
	pad := 4096 // so that the ends do not meet
	n := fft.FastLen(len(x) + 2*pad)
	padded := make([]float64, n)
	copy(padded[pad:], x)
	spectrum := fft.NewPlan(n).Forward(nil, padded)
	wide := make([]complex128, up*n/2+1)
	for k, v := range spectrum {
		wide[k] = v * complex(float64(up), 0)
	}
	fine := fft.NewPlan(up*n).Inverse(nil, wide)
	step := 1 / (1 + ppm*1e-6)
	out := make([]float64, max(0, int((float64(len(x))+start)/step)))
	for i := range out {
		at := (float64(i)*step - start + float64(pad)) * float64(up)
		if at < 1 || int(at)+3 > len(fine) {
			continue
		}
		k := int(at)
		u := at - float64(k)
		a, b, c, d := fine[k-1], fine[k], fine[k+1], fine[k+2]
		out[i] = b + u/2*(c-a+u*(2*a-5*b+4*c-d+u*(3*(b-c)+d-a)))
	}
	return out
}

func headphones(fs float64) biquad.Chain {
	return biquad.Chain{biquad.New(biquad.Peaking, 3000, 2, -6, fs), biquad.New(biquad.LowShelf, 105, 0.7, 4, fs), biquad.New(biquad.Peaking, 6000, 3, 5, fs)}
}

func channel(name string, x []float64, sampleRate int) programme.Channel {
	return programme.Channel{Name: name, Samples: x, SampleRate: sampleRate}
}

func music(seconds float64, seed uint64) []float64 { return rig.Music(48000, seconds, seed)[0] }

func compare(t testing.TB, direct, through []float64, sampleRate int, c programme.Config) *programme.Comparison {
	out, err := programme.Compare(channel("direct.wav", direct, sampleRate), channel("through.wav", through, sampleRate), c)
	require.NoError(t, err)
	return out
}
