package tone

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/statistic"
)

// Sine is A sin(2πft + φ) + C.
type Sine struct {
	Frequency float64 // f, Hz
	Amplitude float64 // A, full scale = 1
	Phase     float64 // φ at the first sample, radians in (−π, π]
	Offset    float64 // C, full scale = 1
	Residual  float64 // what the sine leaves, rms, full scale = 1
}

// FitSine is the four-parameter sine fit of IEEE Std 1057-2017 and 1241-2010:
// frequency, amplitude, phase and offset that leave the least sum of squares,
// every sample counting alike. The frequency in Hz to start from may be 0,
// which takes the strongest tone; otherwise it must be right to within about
// half a period over the recording. It needs five periods, and gives
// ErrTooShort, ErrNotFinite, ErrAbsent, and ErrUnsteady where it does not
// settle.
//
// Distortion pulls it: a harmonic h dB down moves the frequency unless periods
// are whole. Analyse fits both.
func FitSine(x []float64, sampleRate int, frequency float64) (Sine, error) {
	a, err := NewAnalyser(sampleRate, Config{})
	if err != nil {
		return Sine{}, err
	}
	r, err := a.open(x)
	if err != nil {
		return Sine{}, err
	}
	if frequency == 0 {
		p, err := r.find(0, 0)
		if err != nil {
			return Sine{}, err
		}
		frequency = p.frequency
	}
	if !(frequency > 0 && frequency < r.rate/2) {
		return Sine{}, fmt.Errorf("tone: a frequency of %v Hz at a sample rate of %d Hz; give one above 0 and below half the rate", frequency, sampleRate)
	}
	if err := r.long(5/frequency, "five periods"); err != nil {
		return Sine{}, err
	}
	b := comb{lines: []line{{m: 1}}, omega: [2]float64{2 * math.Pi * frequency / r.rate}}
	rest, err := b.fit(x, rectangular(len(x)), 1)
	if err != nil {
		return Sine{}, err
	}
	return Sine{
		Frequency: b.omega[0] * r.rate / (2 * math.Pi),
		Amplitude: b.amplitude(0),
		Phase:     phaseAtStart(b.c[0], b.omega[0], len(x)),
		Offset:    b.offset,
		Residual:  math.Sqrt(statistic.MeanSquare(rest)),
	}, nil
}

// phaseAtStart is the phase as a sine at the first sample of a line whose
// amplitude is a cosine's in the middle.
func phaseAtStart(c complex128, omega float64, n int) float64 {
	return wrap(cmplx.Phase(c) - omega*float64(n-1)/2 + math.Pi/2)
}
