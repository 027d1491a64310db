package tone

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
)

// second is the ratio of amplitudes, −20 dB, above which a component that is not a harmonic counts
// as a second tone rather than as hum.
const second = 0.1

// alone returns an error for a second tone: the strongest component of the remainder, or a high
// harmonic much stronger than its neighbours, which distortion does not make.
func (f *fitted) alone(orders int) error {
	first, at := f.amplitude(0), f.hertz(f.omega[0])
	top, ok := f.residue.tone(f.all(), f.near)
	order := math.Round(top.frequency / at)
	harmonic := order > float64(orders) && math.Abs(top.frequency-order*at) < f.residue.reach()
	if ok && !harmonic && top.amplitude > second*first {
		return moreTones(at, top.frequency, top.amplitude/first)
	}
	for k := 5.0; (k+2)*at < f.rate/2; k++ {
		level := f.whole.level(k * at)
		if level < second*first {
			continue
		}
		var beside float64
		for _, other := range []float64{k - 2, k - 1, k + 1, k + 2} {
			beside = max(beside, f.whole.level(other*at))
		}
		if beside < second*level {
			return moreTones(at, k*at, level/first)
		}
	}
	return nil
}

// steady returns an error for a tone at a frequency in Hz whose level changes. In up to 16
// stretches of whole periods its amplitude may differ by 10 %, and by six times the scatter from a
// noise of u in each quadrature of the whole.
func (r *recording) steady(frequency, u float64) error {
	x, omega := r.x, 2*math.Pi*frequency/r.rate
	offset, period := stat.Mean(x, nil), 2*math.Pi/omega
	stretches := min(16, int(float64(len(x))/(2*period)))
	length := int(math.Round(math.Floor(float64(len(x))/float64(stretches)/period+1e-6) * period))
	levels := make([]float64, stretches)
	loudest, softest := 0.0, math.Inf(1)
	for i := range levels {
		from := min(i*len(x)/stretches, len(x)-length)
		var z complex128
		for k, v := range x[from : from+length] {
			z += complex(v-offset, 0) * cmplx.Rect(1, -omega*float64(k))
		}
		levels[i] = 2 * cmplx.Abs(z) / float64(length)
		loudest, softest = max(loudest, levels[i]), min(softest, levels[i])
	}
	noise := u * math.Sqrt(float64(stretches))
	if loudest-softest <= 0.1*loudest+6*noise {
		return nil
	}
	from, to := longestRun(levels, 0.9*loudest)
	seconds := r.duration() / float64(stretches)
	return fmt.Errorf("tone: %w: its level falls by %.1f dB, and it stands from about %.3g s to %.3g s; "+
		"cut the recording to that", ErrUnsteady, -decibel.OfAmplitude(max(softest, 1e-12*loudest)/loudest),
		float64(from)*seconds, float64(to)*seconds)
}

// longestRun returns the longest range [from, to) in which no level is below the least.
func longestRun(levels []float64, least float64) (from, to int) {
	start := 0
	for i := 0; i <= len(levels); i++ {
		if i < len(levels) && levels[i] >= least {
			continue
		}
		if i-start > to-from {
			from, to = start, i
		}
		start = i + 1
	}
	return from, to
}
