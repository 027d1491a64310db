package excerpt

import (
	"math"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/taper"
	"example.com/earnest/smoothing"
)

// weakest is the share of a band's mean power below which a stretch counts as without it.
const weakest = 1e-3

// mostTelling returns the index in x of the n samples in which the most third octaves carry energy.
// They have the largest sum over the third octaves of
//
//	log10(1 + P/(0.001 mean P)),
//
// where P is the power of the band in these samples and mean P that in all of x. It tries a stretch
// every half second.
func mostTelling(x []float64, sampleRate, n int) int {
	hop := sampleRate / 2
	bands, err := smoothing.Bands(3, 40, min(16000, 0.45*float64(sampleRate)))
	if err != nil || len(x) <= n+hop {
		return 0
	}
	size := fft.FastLen(min(8192, hop))
	plan, window := fft.NewPlan(size), taper.Hann(size)
	// sums[i][b] is the power of band b in the first i half seconds.
	sums := [][]float64{make([]float64, len(bands))}
	segment := make([]float64, size)
	var spectrum []complex128
	for start := 0; start+max(hop, size) <= len(x); start += hop {
		for i := range segment {
			segment[i] = x[start+(hop-size)/2+i] * window[i]
		}
		spectrum = plan.Forward(spectrum, segment)
		sum := append([]float64(nil), sums[len(sums)-1]...)
		for b, band := range bands {
			first := max(1, int(math.Round(band.Low*float64(size)/float64(sampleRate))))
			end := max(first+1, int(math.Round(band.High*float64(size)/float64(sampleRate))))
			for k := first; k < min(end, len(spectrum)); k++ {
				sum[b] += fft.Power(spectrum[k])
			}
		}
		sums = append(sums, sum)
	}
	halves, best, from := n/hop, math.Inf(-1), 0
	total := sums[len(sums)-1]
	for i := 0; i*hop+n <= len(x) && i+halves < len(sums); i++ {
		score := 0.0
		for b := range bands {
			share := (sums[i+halves][b] - sums[i][b]) / float64(halves)
			mean := total[b] / float64(len(sums)-1)
			if mean > 0 {
				score += math.Log10(1 + share/(weakest*mean))
			}
		}
		if score > best {
			best, from = score, i*hop
		}
	}
	return from
}
