package tone

import (
	"math"
	"math/cmplx"
	"time"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// second is the ratio of amplitudes, −20 dB, from which something that is not a
// harmonic counts as a second tone rather than as hum.
const second = 0.1

// alone refuses a second tone: the strongest thing left in the remainder, or a
// high harmonic that stands by itself, as distortion never makes it.
func (f *fitted) alone(whole spectrum, orders int) error {
	first, at := f.amplitude(0), f.hertz(f.omega[0])
	refuse := func(hz, amplitude float64) error {
		return &TwoTonesError{First: at, Second: hz, Level: decibel.PerNeper * math.Log(amplitude/first)}
	}
	band := response.Band{Low: 3 * f.residue.resolution, High: f.rate / 2}
	top, ok := f.residue.strongest(band, f.near)
	order := math.Round(top.frequency / at)
	harmonic := order > float64(orders) && math.Abs(top.frequency-order*at) < f.residue.reach()
	if ok && !harmonic && top.stands > prominent && top.amplitude > second*first {
		return refuse(top.frequency, top.amplitude)
	}
	for k := 5.0; (k+2)*at < f.rate/2; k++ {
		level := whole.level(k * at)
		if level < second*first {
			continue
		}
		var beside float64
		for _, other := range []float64{k - 2, k - 1, k + 1, k + 2} {
			beside = max(beside, whole.level(other*at))
		}
		if beside < second*level {
			return refuse(k*at, level)
		}
	}
	return nil
}

// lasts refuses a tone of omega rad/sample that is not there throughout: in up
// to 16 stretches of whole periods its amplitude may differ by 10 %, and by six
// times what a noise of u in each quadrature of the whole explains.
func lasts(x []float64, omega, u, sampleRate float64) error {
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
	seconds := float64(len(x)) / sampleRate / float64(stretches)
	return &UnsteadyError{From: float64(from) * seconds, To: float64(to) * seconds, Softest: decibel.PerNeper * math.Log(max(softest, 1e-12*loudest)/loudest)}
}

// longestRun is the longest [from, to) in which no level is below the least.
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

// block is the length over which Steady takes a level.
const block = 50 * time.Millisecond

// Steady finds the longest stretch of a recording that is as loud as its loudest
// 50 ms, to 6 dB, and returns its samples without 100 ms at each end, where
// fades and the room are. The slice is part of x. A stretch that is then
// shorter than 100 ms gives ErrTooShort.
func Steady(x []float64, sampleRate int) ([]float64, error) {
	n := int(block.Seconds() * float64(sampleRate))
	if n < 1 {
		n = 1
	}
	levels := make([]float64, len(x)/n)
	var loudest float64
	for i := range levels {
		levels[i] = math.Sqrt(statistic.MeanSquare(centred(x[i*n : (i+1)*n])))
		loudest = max(loudest, levels[i])
	}
	from, to := longestRun(levels, loudest/2)
	if to-from < 6 {
		return nil, &TooShortError{Have: float64((to-from)*n) / float64(sampleRate), Need: 6 * block.Seconds(), Why: "a steady stretch with 100 ms to spare at each end"}
	}
	return x[(from+2)*n : (to-2)*n], nil
}
