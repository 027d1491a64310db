package distortion

import (
	"math"
	"time"

	"github.com/mjibson/go-dsp/spectral"
	"github.com/mjibson/go-dsp/window"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// noise is the power spectral density of a silence, as deconvolution by a
// sweep would show it.
type noise struct {
	sweep   *sweep.Sweep
	density []float64 // full scale² per Hz, one-sided
	step    float64   // Hz between densities
}

// newNoise estimates the density by Welch's method (IEEE Trans. AU 15(2),
// 1967): Hann windows of at most 8192 samples, half overlapping. It returns nil
// for a silence too short to hold one of 256.
func newNoise(silence []float64, s *sweep.Sweep) *noise {
	segment := 8192
	for segment > len(silence)/2 {
		segment /= 2
	}
	if segment < 256 {
		return nil
	}
	density, f := spectral.Pwelch(silence, float64(s.SampleRate()), &spectral.PwelchOptions{
		NFFT: segment, Noverlap: segment / 2, Window: window.Hann,
	})
	return &noise{sweep: s, density: density, step: f[1]}
}

// level is the level in dB, full scale per full scale, that the noise shows on
// average at f Hz through the window of an order: its two-sided density, S fs/2
// a sample, summed over the squared window and divided by the sweep's own
// spectrum.
func (n *noise) level(f float64, before, after time.Duration) float64 {
	k := int(math.Round(f / n.step))
	if k < 1 || k >= len(n.density) {
		return math.NaN()
	}
	fs := float64(n.sweep.SampleRate())
	energy := (before + after).Seconds() * fs * response.WindowPower(before, after)
	return 10*math.Log10(energy*n.density[k]*fs/2) - 20*math.Log10(n.sweep.SpectrumLevel(f))
}
