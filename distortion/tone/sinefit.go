package tone

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
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
	a, err := NewAnalyser(sampleRate, Options{})
	if err != nil {
		return Sine{}, err
	}
	if err := a.check(x); err != nil {
		return Sine{}, err
	}
	fs := float64(sampleRate)
	if frequency == 0 {
		p, err := a.find(newSpectrum(centred(x), hannWindow(len(x)), sampleRate, &a.plans), x, 0, 0)
		if err != nil {
			return Sine{}, err
		}
		frequency = p.frequency
	}
	if !(frequency > 0 && frequency < fs/2) {
		return Sine{}, fmt.Errorf("tone: a frequency of %v Hz at a sample rate of %d Hz; give one above 0 and below half the rate", frequency, sampleRate)
	}
	if need := 5 / frequency; float64(len(x))/fs < need*(1-1e-3) {
		return Sine{}, &TooShortError{Have: float64(len(x)) / fs, Need: need, Why: "five periods"}
	}
	b := comb{lines: []line{{m: 1}}, omega: [2]float64{2 * math.Pi * frequency / fs}}
	rest, err := b.fit(x, rectangular(len(x)), 1)
	if err != nil {
		return Sine{}, err
	}
	return Sine{
		Frequency: b.omega[0] * fs / (2 * math.Pi),
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

// centred is x less its mean.
func centred(x []float64) []float64 {
	m, y := stat.Mean(x, nil), make([]float64, len(x))
	for i, v := range x {
		y[i] = v - m
	}
	return y
}

// minSamples is the shortest recording; a spectrum of fewer bins says nothing.
const minSamples = 256

// check refuses what cannot be analysed at all.
func (a *Analyser) check(x []float64) error {
	if len(x) < minSamples {
		fs := float64(a.sampleRate)
		return &TooShortError{Have: float64(len(x)) / fs, Need: minSamples / fs, Why: fmt.Sprintf("%d samples", minSamples)}
	}
	for i, v := range x {
		if v-v != 0 || math.Abs(v) > 1e100 {
			return fmt.Errorf("tone: sample %d, at %.4g s, is %w; read the recording again", i, float64(i)/float64(a.sampleRate), ErrNotFinite)
		}
	}
	return nil
}

// find is the strongest tone in the spectrum of x less its mean; where one is
// wanted, the strongest within side Hz of it.
func (a *Analyser) find(s spectrum, x []float64, wanted, side float64) (peak, error) {
	all := response.Band{Low: 3 * s.resolution, High: float64(a.sampleRate) / 2}
	none := func(float64) bool { return false }
	top, ok := s.strongest(all, none)
	ok = ok && top.stands > prominent
	if wanted == 0 && ok {
		return top, nil
	}
	absent := &AbsentError{Wanted: wanted, Offset: stat.Mean(x, nil)}
	if ok {
		absent.Found, absent.Level = top.frequency, decibel.PerNeper*math.Log(top.amplitude)
	}
	if wanted > 0 {
		side = max(side, 3*s.resolution)
		there, ok := s.strongest(response.Band{Low: wanted - side, High: wanted + side}, none)
		if ok && there.stands > prominent {
			return there, nil
		}
	}
	return peak{}, absent
}
