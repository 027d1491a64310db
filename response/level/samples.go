package level

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
)

// mostClipped is the largest share of clipped samples in a recorded noise. Gaussian noise that is
// clipped in this share reads less than 0.01 dB too low.
const mostClipped = 1e-4

// checkSamples returns an error for a sample that is not finite, and for a noise that is clipped.
// The argument what names the recording in the error.
func checkSamples(what string, x []float64, sampleRate int) error {
	if err := checkFinite(what, x, sampleRate); err != nil {
		return err
	}
	if n := clipped(x); float64(n) > mostClipped*float64(len(x)) {
		return fmt.Errorf("level: %s %w: %d samples are clipped; lower the input gain, and record it again with what it "+
			"is compared with", what, ErrInput, n)
	}
	if n, top := flatTops(x); float64(n) > mostClipped*float64(len(x)) {
		return fmt.Errorf("level: %s %w: %d samples are clipped below full scale, at %.1f dBFS; lower the level ahead of "+
			"the recorder, and record it again with what it is compared with", what, ErrInput, n, decibel.OfAmplitude(top))
	}
	return nil
}

// checkFinite returns an error for the first sample that is not a number or is infinite.
func checkFinite(what string, x []float64, sampleRate int) error {
	for i, v := range x {
		if v-v != 0 {
			return fmt.Errorf("level: %s %w: the sample at %.3f s is %v; record again",
				what, ErrInput, float64(i)/float64(sampleRate), v)
		}
	}
	return nil
}

// clipped counts the samples at full scale that follow another one. A recording in float whose
// samples go beyond full scale is not clipped there.
func clipped(x []float64) int {
	const step = 1.0 / (1 << 14) // two steps of 16 bits
	n := 0
	for i := 1; i < len(x); i++ {
		if math.Abs(x[i]) >= 1-step && math.Abs(x[i-1]) >= 1-step {
			n++
		}
	}
	if n > 0 && max(floats.Max(x), -floats.Min(x)) > 1+step {
		return 0
	}
	return n
}

// flatTops returns the peak, and counts the samples within a thousandth of it if these are flat
// tops; else 0. Of a noise that is not clipped, or a sine, at most half as many samples lie there
// as from a thousandth to a hundredth below the peak. In a recording of a few steps tops cannot be
// recognised, and a signal of two values, such as a binary sequence, has flat tops of its own.
func flatTops(x []float64) (n int, top float64) {
	const within, beside, fewestSteps, mostOfTime = 0.999, 0.99, 500, 0.2
	step := math.Inf(1)
	for _, v := range x {
		if top = max(top, math.Abs(v)); v != 0 {
			step = min(step, math.Abs(v))
		}
	}
	below := 0
	for _, v := range x {
		switch v = math.Abs(v); {
		case v >= within*top:
			n++
		case v >= beside*top:
			below++
		}
	}
	if top < fewestSteps*step || n < 3*below || float64(n) > mostOfTime*float64(len(x)) {
		return 0, top
	}
	return n, top
}
