package recognise

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
)

const (
	// noiseFrame is the length in seconds of the frames over which noise has to be steady.
	noiseFrame = 0.1
	// fewestFrames is the least number of frames.
	fewestFrames = 10
	// steadyShare is the least share of bands that scatter like steady noise.
	steadyShare = 0.9
	// widerThanBin is the equivalent noise bandwidth of a Hann window in bins.
	widerThanBin = 1.5
	// longestLook is the length in seconds of a steady signal that is analysed.
	longestLook = 60
	// bandFloor is the level in dB below the strongest band down to which bands count.
	bandFloor = 60
)

// noise recognises steady noise. From frame to frame the power of Gaussian noise in a band of n
// independent bins scatters by 1/√n of its mean, and that of music and speech by many times as
// much.
func noise(x []float64, fs float64) (Content, bool) {
	x = x[:min(len(x), int(longestLook*fs))]
	size := int(noiseFrame * fs)
	count := len(x) / size
	if count < fewestFrames {
		return Content{}, false
	}
	plan, window := fft.NewPlan(size), taper.Hann(size)
	low := bands(fs, size)
	powers := make([][]float64, len(low)-1) // by band, frame by frame
	frame, spectrum := make([]float64, size), make([]complex128, plan.Bins())
	for k := range count {
		for i := range frame {
			frame[i] = x[k*size+i] * window[i]
		}
		plan.Forward(spectrum, frame)
		for b := range powers {
			var sum float64
			for _, v := range spectrum[low[b]:low[b+1]] {
				sum += fft.Power(v)
			}
			powers[b] = append(powers[b], sum)
		}
	}
	loudest := 0.0
	for _, p := range powers {
		loudest = max(loudest, stat.Mean(p, nil))
	}
	var octaves, levels []float64
	steady, counted := 0.0, 0.0
	for b, p := range powers {
		mean, variance := stat.MeanVariance(p, nil)
		if !(mean > loudest*decibel.Power(-bandFloor)) {
			continue
		}
		bins := float64(low[b+1] - low[b])
		free := max(1, bins/widerThanBin)
		// The allowance is four standard deviations of the variance of chi-square over the frames
		// (its kurtosis is 3 + 6/free), and a little for a filter that was changed.
		tolerance := 0.2 + 4*math.Sqrt((2+6/free)/float64(count))
		if variance/(mean*mean)*free < 1+tolerance {
			steady++
		}
		counted++
		octaves = append(octaves, math.Log2(math.Sqrt(float64(low[b])*float64(low[b+1]))))
		levels = append(levels, decibel.OfPower(mean/bins))
	}
	if counted < 6 || steady < steadyShare*counted {
		return Content{}, false
	}
	_, slope := stat.LinearRegression(octaves, levels, nil, false)
	return Content{Kind: Noise, Certainty: steady / counted, Slope: slope,
		Level: decibel.OfPower(statistic.MeanSquare(x))}, true
}

// bands returns the bins at which third octaves begin, from 100 Hz to 0.4 of the sample rate, and
// at which the last one ends.
func bands(fs float64, size int) []int {
	var low []int
	for f := 100.0; f < 0.4*fs; f *= math.Cbrt(2) {
		low = append(low, int(math.Round(f/fs*float64(size))))
	}
	return low
}
