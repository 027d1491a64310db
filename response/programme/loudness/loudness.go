package loudness

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// The gates and lengths of BS.1770-5, Annex 1, and EBU Tech 3342 (from memory).
const (
	absoluteGate     = -70 // LUFS
	relativeGate     = -10 // LU, of the integrated loudness
	rangeGate        = -20 // LU, of the loudness range
	stepsPerSecond   = 10  // blocks begin every 100 ms
	momentarySteps   = 4   // 400 ms
	shortTermSteps   = 30  // 3 s
	lowShare         = 0.10
	highShare        = 0.95
	loudnessOffset   = -0.691 // dB, cancels the gain of the K-weighting at 997 Hz
	minRate, maxRate = 8000, 768000
	mostChannels     = 2   // left and right have a weight of 1; surround channels have others
	largestSample    = 1e6 // re full scale
)

// ErrInput is matched by the errors of [Measure].
var ErrInput = errors.New("loudness: cannot be measured")

// Loudness is what [Measure] finds in a programme. A value that is not known is NaN.
type Loudness struct {
	// Integrated is the gated loudness of the whole programme in LUFS. It is not known for a
	// programme under 400 ms, or where no block is louder than −70 LUFS.
	Integrated float64
	// MaxMomentary and MaxShortTerm are the loudness in LUFS of the loudest 400 ms and 3 s, each
	// at a step of 100 ms. They are not known for a programme that is shorter, or silent.
	MaxMomentary, MaxShortTerm float64
	// Range is the loudness range in LU: from the 10th to the 95th percentile of the short-term
	// loudness above both gates (EBU Tech 3342). It is not known for a programme under 3 s.
	Range float64
	// TruePeak is the largest absolute value between the samples in dB re full scale (dBTP). It is
	// not known for digital silence.
	TruePeak float64
}

// Measure returns the loudness of one or two channels of samples between −1 and 1 at a rate in Hz.
// Each channel is filtered by the K-weighting; the loudness of a block is
//
//	−0.691 + 10 log10 Σ mean square   LUFS
//
// with the sum over the channels (ITU-R BS.1770-5, Annex 1). A full-scale sine of 997 Hz in one
// channel is −3.01 LUFS. The last part of a step of 100 ms is left out.
//
// The errors match [ErrInput]: no channel or more than two, channels of unequal length, a rate
// outside 8 to 768 kHz, or a sample that is not a number or above 120 dBFS.
func Measure(channels [][]float64, rate int) (Loudness, error) {
	if err := check(channels, rate); err != nil {
		return Loudness{}, err
	}
	power := stepPowers(channels, rate)
	momentary := blockPowers(power, momentarySteps)
	shortTerm := blockPowers(power, shortTermSteps)
	return Loudness{
		Integrated:   level(gatedMean(momentary, relativeGate)),
		MaxMomentary: loudest(momentary),
		MaxShortTerm: loudest(shortTerm),
		Range:        loudnessRange(shortTerm),
		TruePeak:     truePeak(channels, rate),
	}, nil
}

func check(channels [][]float64, rate int) error {
	if len(channels) == 0 || len(channels) > mostChannels {
		return fmt.Errorf("%w: %d channels; give one or two", ErrInput, len(channels))
	}
	if rate < minRate || rate > maxRate {
		return fmt.Errorf("%w: a sample rate of %d Hz; it must be from %d to %d Hz", ErrInput, rate, minRate, maxRate)
	}
	for k, x := range channels {
		if len(x) != len(channels[0]) {
			return fmt.Errorf("%w: channel %d has %d samples and channel 1 has %d", ErrInput, k+1, len(x),
				len(channels[0]))
		}
		for i, v := range x {
			if !(math.Abs(v) <= largestSample) {
				return fmt.Errorf("%w: channel %d at %.3f s: a sample of %v; samples are from -1 to 1",
					ErrInput, k+1, float64(i)/float64(rate), v)
			}
		}
	}
	return nil
}

// stepPowers returns the mean square of the K-weighted channels, summed over them, for each whole
// step of 100 ms.
func stepPowers(channels [][]float64, rate int) []float64 {
	power := make([]float64, len(channels[0])*stepsPerSecond/rate)
	for _, x := range channels {
		filter := newWeighting(float64(rate))
		for i := range power {
			step := x[i*rate/stepsPerSecond : (i+1)*rate/stepsPerSecond]
			power[i] += filter.energy(step) / float64(len(step))
		}
	}
	return power
}

// blockPowers returns the mean of every n successive steps.
func blockPowers(steps []float64, n int) []float64 {
	var blocks []float64
	for i := 0; i+n <= len(steps); i++ {
		sum := 0.0
		for _, p := range steps[i : i+n] {
			sum += p
		}
		blocks = append(blocks, sum/float64(n))
	}
	return blocks
}

// gated returns the blocks above the absolute gate, and of these the ones above a gate in LU
// relative to their mean.
func gated(blocks []float64, gate float64) []float64 {
	above := func(blocks []float64, threshold float64) []float64 {
		return slices.DeleteFunc(slices.Clone(blocks), func(p float64) bool { return level(p) <= threshold })
	}
	audible := above(blocks, absoluteGate)
	return above(audible, level(mean(audible))+gate)
}

func gatedMean(blocks []float64, gate float64) float64 { return mean(gated(blocks, gate)) }

func loudnessRange(shortTerm []float64) float64 {
	if len(shortTerm) == 0 {
		return math.NaN()
	}
	kept := gated(shortTerm, rangeGate)
	if len(kept) == 0 {
		return math.NaN()
	}
	slices.Sort(kept)
	percentile := func(share float64) float64 { return level(kept[int(math.Round(share*float64(len(kept)-1)))]) }
	return percentile(highShare) - percentile(lowShare)
}

func loudest(blocks []float64) float64 {
	if len(blocks) == 0 || slices.Max(blocks) <= 0 {
		return math.NaN()
	}
	return level(slices.Max(blocks))
}

// level returns the loudness in LUFS of a K-weighted power; NaN of NaN.
func level(power float64) float64 { return loudnessOffset + 10*math.Log10(power) }

// mean returns NaN for no values.
func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}
