package recognise

import (
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/statistic"
)

const (
	// mostTones is the largest number of tones that can be distinguished from noise.
	mostTones = 256
	// toneReach is half the width in bins of a tone under the window; beside it is less than −90
	// dB.
	toneReach = 4
	// toneShare is the least share of the power in the lines of steady tones.
	toneShare = 0.999
	// toneSteady is the largest difference in dB between the two halves.
	toneSteady = 0.1
)

// tones recognises steady tones: lines that contain the power and are equally strong in both
// halves.
func tones(x []float64, fs float64) (Content, bool) {
	if float64(len(x)) < fs/2 {
		return Content{}, false
	}
	x = x[:min(len(x), int(longestLook*fs))]
	half := len(x) / 2
	a, b := statistic.MeanSquare(x[:half]), statistic.MeanSquare(x[half:])
	if !(math.Abs(decibel.OfPower(a/b)) < toneSteady) {
		return Content{}, false
	}
	// A Blackman-Harris window; padding would only make lines wider.
	n := fft.FastLen(len(x))
	shaped := make([]float64, n)
	var weight float64
	for i, w := range blackmanHarris(len(x)) {
		shaped[i] = w * x[i]
		weight += w
	}
	plan := fft.NewPlan(n)
	spectrum := plan.Forward(nil, shaped)
	power := make([]float64, len(spectrum))
	var all float64
	for k, v := range spectrum {
		power[k] = fft.Power(v)
		all += power[k]
	}
	left, with := slices.Clone(power), 0.0
	out := Content{Kind: Tones}
	for len(out.Frequencies) < mostTones && with < (1-1e-6)*all {
		top := 0
		for k := range left {
			if left[k] > left[top] {
				top = k
			}
		}
		if !(left[top] > 0) || top < toneReach || top > len(power)-1-toneReach {
			break
		}
		if len(out.Frequencies) > 0 && left[top] < 1e-6*power[int(out.Frequencies[0]/fs*float64(n)+0.5)] {
			break // 60 dB below the strongest come rounding and harmonics
		}
		log := func(k int) float64 { return decibel.OfPower(power[k]) }
		at := float64(top) + interpolate.Vertex(log(top-1), log(top), log(top+1))
		if len(out.Frequencies) == 0 {
			out.Level = decibel.OfAmplitude(2 * math.Sqrt(power[top]) / weight)
		}
		out.Frequencies = append(out.Frequencies, at*fs/float64(n))
		for k := max(0, top-toneReach); k <= min(len(left)-1, top+toneReach); k++ {
			with += left[k]
			left[k] = 0
		}
	}
	out.Certainty = min(1, with/all)
	crowded := (2*toneReach+1)*len(out.Frequencies) > len(power)/5 // any signal consists of lines then
	return out, len(out.Frequencies) > 0 && out.Certainty >= toneShare && !crowded
}

// blackmanHarris is the window of four terms whose side lobes are 92 dB down (F. J. Harris, Proc.
// IEEE 66(1), 1978).
func blackmanHarris(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		t := 2 * math.Pi * (float64(i) + 0.5) / float64(n)
		w[i] = 0.35875 - 0.48829*math.Cos(t) + 0.14128*math.Cos(2*t) - 0.01168*math.Cos(3*t)
	}
	return w
}
