package tone

import (
	"cmp"
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Config says what to measure, and up to which frequency. The zero value is the common case.
type Config struct {
	// Frequency is that of the tone that was played, in Hz, to 2 %; 0 means the strongest tone.
	Frequency float64
	// Orders is the highest harmonic, 2 to 1000; 0 means 10. Many orders of a low tone take time:
	// about 5 ns per order, sample and iteration.
	Orders int
	// MaxFrequency is the highest usable frequency of a harmonic or a product in Hz, such as the
	// end of the microphone's range; 0 means half the sample rate.
	MaxFrequency float64
	// Band is the bandwidth of noise and of THD+N; zero means 20 Hz to 20 kHz, or to half the
	// sample rate if that is lower.
	Band response.Band
	// Correction is the level in dB to be added at each frequency: minus the microphone's response,
	// as level.Calibration.Correction returns it. Distortion is corrected at its own frequency, and
	// is not known where the correction is not. Nil corrects nothing. Levels in dBFS, noise and
	// THD+N are not corrected.
	Correction *response.Curve
}

// gainAt returns the correction at f Hz as a factor; NaN where it is not known.
func (c Config) gainAt(f float64) float64 {
	if c.Correction == nil {
		return 1
	}
	return decibel.Amplitude(c.Correction.At(f))
}

func (c Config) complete(sampleRate int) (Config, error) {
	half := float64(sampleRate) / 2
	c.Orders, c.MaxFrequency = cmp.Or(c.Orders, 10), cmp.Or(c.MaxFrequency, half)
	c.Band = cmp.Or(c.Band, response.Band{Low: 20, High: 20000})
	switch {
	case sampleRate < 1000 || sampleRate > 10_000_000:
		return c, fmt.Errorf("tone: sample rate %d Hz; give one from 1 kHz to 10 MHz", sampleRate)
	case !(c.Frequency >= 0 && c.Frequency < half):
		return c, fmt.Errorf("tone: a frequency of %v Hz at a sample rate of %d Hz; "+
			"give one below half the rate, or 0 for the strongest tone", c.Frequency, sampleRate)
	case c.Orders < 2 || c.Orders > 1000:
		return c, fmt.Errorf("tone: %d orders; choose 2 to 1000", c.Orders)
	case !(c.MaxFrequency > 0):
		return c, fmt.Errorf("tone: a maximum frequency of %v Hz; give the highest usable frequency, above zero",
			c.MaxFrequency)
	case !(c.Band.Low >= 0 && c.Band.High > c.Band.Low) || c.Band.Low >= half:
		return c, fmt.Errorf("tone: a bandwidth from %v to %v Hz; "+
			"give a lower and a higher frequency, the lower one below half the sample rate", c.Band.Low, c.Band.High)
	}
	c.MaxFrequency, c.Band.High = min(c.MaxFrequency, half), min(c.Band.High, half)
	return c, nil
}

// Result is the result for a recording of one steady tone.
type Result struct {
	// Frequency is in Hz, by the clock of the recorder.
	Frequency response.Figure
	// Level is that of the fundamental in dBFS: a full-scale sine is 0.
	Level response.Figure
	// Phase is that of the fundamental as a sine at the first sample, in radians.
	Phase response.Figure
	// Offset is the mean, full scale = 1. No figure counts it.
	Offset float64
	// Harmonics are those from the second to the highest asked for.
	Harmonics []Harmonic
	// THD is total harmonic distortion relative to the fundamental, over the harmonics that were
	// read. Its sound pressure level is not known here.
	THD distortion.THD
	// Noise is everything within Config.Band except the tone, an offset and the fitted harmonics;
	// hum is part of it. NoiseA is the same weighted by the A curve of IEC 61672-1. Both are in dB
	// relative to the rms of a full-scale sine, so that they compare with Level.
	Noise, NoiseA response.Figure
	// THDPlusN is total harmonic distortion and noise (THD+N) relative to the fundamental, in %:
	// everything in the noise's band except the fundamental, harmonics above the maximum frequency
	// included.
	THDPlusN response.Figure
	// Findings are the remarks that a reader of the figures has to know first: clipping, an offset.
	Findings []response.Finding
	// Duration is the analysed length in seconds.
	Duration float64
}

// minPeriods is the least number of periods of a recording. Between two harmonics there are then as
// many bins less the few of the harmonics themselves, for the noise.
const minPeriods = 10

// spare is the number of harmonics that are fitted beyond those asked for, so that the first that
// is not fitted is far from the last that is reported.
const spare = 2

// Analyse measures one steady tone. x is its recording, full scale = 1, without the silence before
// and after. It need not hold a whole number of periods.
//
// Errors: ErrAbsent names the strongest sound. ErrTwoTones means a component at −20 dB or more that
// is not a harmonic. ErrUnsteady says from when to when the tone lasts, ErrTooShort how long a
// recording has to be, and ErrNotFinite which sample is not a number.
//
// If one tone has two to four times the frequency of the other, both form one periodic sound and
// cannot be distinguished from distortion.
func Analyse(x []float64, sampleRate int, c Config) (Result, error) {
	r, err := open(x, sampleRate, c)
	if err != nil {
		return Result{}, err
	}
	wanted := r.config.Frequency
	top, err := r.find(wanted, 0.02*wanted)
	if err != nil {
		return Result{}, err
	}
	if err := r.periods(minPeriods, top.frequency); err != nil {
		return Result{}, err
	}
	f, err := r.fit(harmonicComb(top.frequency, r.rate, len(x), r.config.Orders+spare), 4)
	if err != nil {
		// A tone that starts or stops has no single frequency; say when it lasts.
		return Result{}, cmp.Or(r.steady(top.frequency, top.u), err)
	}
	if err := f.alone(r.config.Orders + spare); err != nil {
		return Result{}, err
	}
	if err := r.steady(f.hertz(f.omega[0]), f.readings[0].u); err != nil {
		return Result{}, err
	}
	if !(f.readings[0].amplitude().Value > 0) {
		return Result{}, r.absent(wanted) // a click at a zero of the window
	}
	return f.result(), nil
}

func (f *fitted) result() Result {
	fundamental := f.readings[0].amplitude()
	r := Result{
		Frequency: f.base(),
		Level:     inDecibels(fundamental, "dBFS"),
		Offset:    f.offset,
		Harmonics: f.harmonics(),
		Noise:     rmsLevel(f.total(f.config.Band)),
		NoiseA:    rmsLevel(f.residue.power(f.config.Band, f.weights())),
		Duration:  f.duration(),
		Findings:  f.findings(),
	}
	// The errors of the phase in the middle and of the frequency are independent; at the ends both
	// count.
	lever := math.Pi * r.Frequency.Uncertainty * r.Duration
	atStart := wrap(cmplx.Phase(f.c[0]) - f.omega[0]*float64(len(f.x)-1)/2 + math.Pi/2)
	r.Phase = figure(atStart, math.Hypot(f.readings[0].u/fundamental.Value, lever), "rad")
	r.THD = f.thd(r.Harmonics)
	rms := ratio(fundamental.Value/math.Sqrt2, fundamental.Uncertainty/math.Sqrt2)
	percent := over(f.disturbance(f.config.Band), rms)
	r.THDPlusN = figure(100*percent.Value, 100*percent.Uncertainty, "%")
	return r
}

// harmonicComb returns a fundamental in Hz and its harmonics up to two bins below half the sample
// rate.
func harmonicComb(frequency, fs float64, n, orders int) comb {
	b := comb{omega: [2]float64{2 * math.Pi * frequency / fs}}
	for k := 1; k <= orders && (k == 1 || float64(k)*frequency < fs/2-2*fs/float64(n)); k++ {
		b.lines = append(b.lines, line{m: k})
	}
	return b
}
