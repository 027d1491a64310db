package loudness

import (
	"math"

	"example.com/earnest/internal/interpolate"
)

const (
	peakHalf    = 12 // samples to each side: 0.05 dB up to 0.42 of the rate
	peakBeta    = 5
	peakSection = 256 // samples that are examined together
)

// oversampling returns the number of parts into which the interval between two samples is divided.
// It is a power of two: 4 at 44.1 and 48 kHz (BS.1770-5, Annex 2), and 1 from 176.4 kHz on.
func oversampling(rate int) int {
	parts := 1
	for parts*rate < 4*44100 {
		parts *= 2
	}
	return parts
}

// truePeak returns the largest absolute value of the channels, at and between the samples, in dB re
// full scale.
func truePeak(channels [][]float64, rate int) float64 {
	parts := oversampling(rate)
	kernels, most := peakKernels(parts)
	peak := 0.0
	for _, x := range channels {
		for _, v := range x {
			peak = math.Max(peak, math.Abs(v))
		}
	}
	for _, x := range channels {
		padded := make([]float64, 0, peakSection+2*peakHalf)
		for start := -peakHalf; start < len(x); start += peakSection {
			section, loudest := padded[:0], 0.0
			for i := start - peakHalf + 1; i < start+peakSection+peakHalf; i++ {
				v := 0.0
				if i >= 0 && i < len(x) {
					v = x[i]
				}
				section = append(section, v)
				loudest = math.Max(loudest, math.Abs(v))
			}
			// No value between these samples exceeds the largest of them times the kernels' sum.
			if loudest*most <= peak {
				continue
			}
			for i := range peakSection {
				near := section[i : i+2*peakHalf]
				for _, kernel := range kernels {
					sum := 0.0
					for k, v := range near {
						sum += v * kernel[k]
					}
					peak = math.Max(peak, math.Abs(sum))
				}
			}
		}
	}
	if peak == 0 {
		return math.NaN()
	}
	return 20 * math.Log10(peak)
}

// peakKernels returns the weights for the places between two samples, and the largest sum of their
// absolute values.
func peakKernels(parts int) (kernels [][]float64, most float64) {
	for p := 1; p < parts; p++ {
		kernel := make([]float64, 2*peakHalf)
		sum := 0.0
		for k := range kernel {
			kernel[k] = interpolate.Kernel(float64(k-peakHalf+1)-float64(p)/float64(parts), peakHalf, peakBeta)
			sum += math.Abs(kernel[k])
		}
		kernels, most = append(kernels, kernel), math.Max(most, sum)
	}
	return kernels, most
}
