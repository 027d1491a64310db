package fitness_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// joined returns x, which has a sample rate, at another rate, by straight lines between samples, or
// by holding each sample.
func joined(x []float64, rate, other float64, hold bool) []float64 {
	y := make([]float64, int(float64(len(x)-1)*other/rate))
	for i := range y {
		at := float64(i) * rate / other
		k := int(at)
		y[i] = x[k]
		if !hold {
			y[i] += (at - float64(k)) * (x[k+1] - x[k])
		}
	}
	return y
}

// Samples that are joined by straight lines, or held, have a spectrum of sinc⁴(f/K) and sinc²(f/K)
// at f and at all mK ± f, K being their rate (Fourier transform of a triangle and of a rectangle).
// A sweep of 44.1 kHz that is brought to 48 kHz so has images of known power.
func TestImagesOfAPoorConversion(t *testing.T) {
	const rate, other, top = 44100.0, 48000.0, 20000.0
	sinc := func(x float64) float64 { return math.Sin(math.Pi*x) / (math.Pi * x) }
	slow, err := sweep.New(sweep.Config{Stop: top, Duration: 3 * time.Second, SampleRate: rate, Level: -12})
	require.NoError(t, err)
	low, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: slow, Silence: time.Second, Gap: 700 * time.Millisecond})
	require.NoError(t, err)
	s, err := sweep.New(sweep.Config{Stop: top, Duration: 3 * time.Second, SampleRate: other, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 700 * time.Millisecond})
	require.NoError(t, err)
	for _, hold := range []bool{false, true} {
		power := 4.0
		if hold {
			power = 2
		}
		var own, images float64
		for f := top / 2; f < top; f += 10 { // an exponential sweep is at f for a time of 1/f
			hann := math.Pow(math.Sin(math.Pi*math.Log2(2*f/top)), 4) / f // its square
			own += hann * math.Pow(sinc(f/rate), power)
			for k := 1.0; k <= 20; k++ {
				images += hann * (math.Pow(sinc((k*rate-f)/rate), power) + math.Pow(sinc((k*rate+f)/rate), power))
			}
		}
		x := joined(low.Channels()[0], rate, other, hold)
		y := joined(low.Channels()[1], rate, other, hold)
		report := inspected(&capture.Recording{Name: "poor.wav", SampleRate: other, Channels: [][]float64{heardFlat(x), heardFlat(y)}}, said{Stimulus: st})
		found := report.Of(fitness.Resampled)
		require.Len(t, found, 2, "each channel: %v", report.Findings)
		assert.InDelta(t, decibel.OfPower(images/own), found[0].Figures["images"].Value, 1, "dB; held samples make many weak images, and not all of them stand out from the noise")
		assert.InDelta(t, 3900, found[0].Figures["offset"].Value, 60, fmt.Sprintf("Hz; %v − %v, since images above 24 kHz are mirrored", other, rate))
		for _, f := range report.AtLeast(response.Warning) {
			assert.Equal(t, fitness.Resampled, f.Kind, "a cause is told once: %v", f)
		}
	}
}

// heardFlat adds noise 90 dB below full scale.
func heardFlat(x []float64) []float64 {
	y, state := make([]float64, len(x)), uint64(7)
	for i, v := range x {
		state = state*6364136223846793005 + 1442695040888963407 // Knuth's MMIX generator
		y[i] = v + 5e-5*(float64(state>>11)/(1<<53)-0.5)
	}
	return y
}
