package tone

import (
	"cmp"
	"fmt"
	"math"

	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
)

// Options says what to look for and how far to believe it. The zero value is
// the common case.
type Options struct {
	// Frequency in Hz of the tone that was played, to 2 %; 0 takes the strongest
	// tone there is.
	Frequency float64
	// Orders is the highest harmonic, 2 to 1000; 0 means 10. Many orders of a
	// low tone take time: about 5 ns per order, sample and iteration.
	Orders int
	// Ceiling is the highest frequency in Hz at which a harmonic or a product
	// can be believed, such as the end of the microphone's range; 0 means half
	// the sample rate.
	Ceiling float64
	// Band is the bandwidth of noise, THD+N and SINAD; zero means 20 Hz to
	// 20 kHz, or to half the sample rate where that is lower.
	Band response.Band
}

func (o Options) complete(sampleRate int) (Options, error) {
	half := float64(sampleRate) / 2
	if o.Orders == 0 {
		o.Orders = 10
	}
	if o.Ceiling == 0 {
		o.Ceiling = half
	}
	if o.Band == (response.Band{}) {
		o.Band = response.Band{Low: 20, High: 20000}
	}
	switch {
	case sampleRate < 1000 || sampleRate > 10_000_000:
		return o, fmt.Errorf("tone: sample rate %d Hz; give one from 1 kHz to 10 MHz", sampleRate)
	case !(o.Frequency >= 0 && o.Frequency < half):
		return o, fmt.Errorf("tone: a frequency of %v Hz at a sample rate of %d Hz; give one below half the rate, or 0 for the strongest tone", o.Frequency, sampleRate)
	case o.Orders < 2 || o.Orders > 1000:
		return o, fmt.Errorf("tone: %d orders; choose 2 to 1000", o.Orders)
	case !(o.Ceiling > 0):
		return o, fmt.Errorf("tone: a ceiling of %v Hz; give the highest frequency to believe, above zero", o.Ceiling)
	case !(o.Band.Low >= 0 && o.Band.High > o.Band.Low) || o.Band.Low >= half:
		return o, fmt.Errorf("tone: a bandwidth from %v to %v Hz; give a lower and a higher frequency, the lower one below half the sample rate", o.Band.Low, o.Band.High)
	}
	o.Ceiling, o.Band.High = min(o.Ceiling, half), min(o.Band.High, half)
	return o, nil
}

// Analyser analyses recordings at one sample rate. It keeps the transform plans
// of the lengths it has met and is safe for concurrent use.
type Analyser struct {
	sampleRate int
	o          Options
	plans      fft.Cache
}

// NewAnalyser checks the options; the sample rate is in Hz.
func NewAnalyser(sampleRate int, o Options) (*Analyser, error) {
	o, err := o.complete(sampleRate)
	if err != nil {
		return nil, err
	}
	return &Analyser{sampleRate: sampleRate, o: o}, nil
}

// Result is what a recording of one steady tone says.
type Result struct {
	// Frequency in Hz, by the clock of the recorder.
	Frequency Figure
	// Amplitude is the peak amplitude of the fundamental, full scale = 1.
	Amplitude Figure
	// Level is that amplitude in dBFS: a full-scale sine is 0.
	Level Figure
	// Phase of the fundamental as a sine at the first sample, radians.
	Phase Figure
	// Offset is the mean, full scale = 1. No figure counts it.
	Offset float64
	// Harmonics from the second to the highest asked for.
	Harmonics []Harmonic
	THD       THD
	Noise     Noise
	// THDN is total harmonic distortion and noise: all in the noise's band but
	// the fundamental, as a ratio to it, and SINAD the same in dB with the sign
	// changed. Both count harmonics above the ceiling that lie in the band.
	THDN  Figure
	SINAD Figure
	// THDNOfTotal is the same as a ratio to all there is, the fundamental
	// included.
	THDNOfTotal Figure
	// EffectiveBits, log2(2/(√12 · rms of noise and distortion)) up to half the
	// sample rate whatever Band says (IEEE Std 1241-2010, full scale being −1
	// to 1): a figure for the interface alone, patched into itself. Of
	// headphones it says nothing.
	EffectiveBits Figure
	// Clipping is nil where no flat tops were found. Where they were, every
	// figure above is the clipping's.
	Clipping *Clipping
	// Duration in seconds of what was analysed.
	Duration float64
}

// minPeriods is how many periods a recording needs: between two harmonics there
// are then that many bins less the few that harmonics fill, for the noise.
const minPeriods = 10

// spare is how many harmonics are fitted beyond those asked for, so that the
// first that is not fitted lies well away from the last that is reported.
const spare = 2

// Analyse is NewAnalyser and its Analyse in one, for a single recording.
func Analyse(x []float64, sampleRate int, o Options) (Result, error) {
	a, err := NewAnalyser(sampleRate, o)
	if err != nil {
		return Result{}, err
	}
	return a.Analyse(x)
}

// Analyse measures one steady tone. x is the recording of it, full scale = 1,
// without the silence before and after: Steady finds that stretch. No whole
// number of periods is needed.
//
// Errors: ErrAbsent names the strongest thing there is; ErrTwoTones says that
// something as strong as −20 dB is there that is not a harmonic; ErrUnsteady
// says where the tone lasts, ErrTooShort how long a recording has to be, and
// ErrNotFinite which sample is no number.
//
// Two tones of which one is twice to four times as high as the other are one
// periodic sound: nothing tells them from distortion.
func (a *Analyser) Analyse(x []float64) (Result, error) { return a.analyse(x, a.o.Frequency) }

func (a *Analyser) analyse(x []float64, wanted float64) (Result, error) {
	if err := a.check(x); err != nil {
		return Result{}, err
	}
	w := hannWindow(len(x))
	whole := newSpectrum(centred(x), w, a.sampleRate, &a.plans)
	top, err := a.find(whole, x, wanted, 0.02*wanted)
	if err != nil {
		return Result{}, err
	}
	fs := float64(a.sampleRate)
	if have, need := float64(len(x))/fs, minPeriods/top.frequency; have < need*(1-1e-3) {
		return Result{}, &TooShortError{Have: have, Need: need,
			Why: fmt.Sprintf("%d periods of %s", minPeriods, response.FormatFrequency(top.frequency))}
	}
	f, err := a.newFitted(x, w, harmonicComb(top.frequency, fs, len(x), a.o.Orders+spare), 4)
	if err != nil {
		// A tone that comes or goes has no one frequency; say where it is.
		return Result{}, cmp.Or(lasts(x, 2*math.Pi*top.frequency/fs, top.u, fs), err)
	}
	if err := f.alone(whole, a.o.Orders+spare); err != nil {
		return Result{}, err
	}
	if err := lasts(x, f.omega[0], f.readings[0].u, fs); err != nil {
		return Result{}, err
	}
	return a.result(x, f), nil
}

// harmonicComb is a fundamental in Hz and its harmonics as far as they stay two
// bins clear of half the sample rate.
func harmonicComb(frequency, fs float64, n, orders int) comb {
	b := comb{omega: [2]float64{2 * math.Pi * frequency / fs}}
	for k := 1; k <= orders && (k == 1 || float64(k)*frequency < fs/2-2*fs/float64(n)); k++ {
		b.lines = append(b.lines, line{m: k})
	}
	return b
}

func (a *Analyser) result(x []float64, f *fitted) Result {
	fundamental := f.readings[0].amplitude()
	r := Result{
		Frequency: f.base(),
		Amplitude: fundamental,
		Level:     fundamental.inDecibels(),
		Offset:    f.offset,
		Harmonics: f.harmonics(a.o),
		Duration:  float64(len(x)) / f.rate,
		Clipping:  clipping(x, f),
	}
	// Phase in the middle and frequency err independently; at the ends both count.
	lever := math.Pi * r.Frequency.Uncertainty * r.Duration
	r.Phase = Figure{phaseAtStart(f.c[0], f.omega[0], len(x)), math.Hypot(f.readings[0].u/fundamental.Value, lever)}
	r.THD = f.thd(a.o)
	r.Noise = f.noise(a.o.Band)
	disturbance := f.disturbance(a.o.Band)
	signal := Figure{fundamental.Value / math.Sqrt2, fundamental.Uncertainty / math.Sqrt2}
	r.THDN = disturbance.over(signal)
	r.THDNOfTotal = r.THDN.ofTotal()
	r.SINAD = signal.over(disturbance).inDecibels()
	all := f.disturbance(response.Band{High: f.rate / 2})
	r.EffectiveBits = Figure{math.Log2(2 / (math.Sqrt(12) * all.Value)), all.Uncertainty / all.Value / math.Ln2}
	return r
}

// Findings says in words what a reader of the figures has to know first; it is
// empty when nothing was found.
func (r Result) Findings() []string {
	var found []string
	if r.Clipping != nil {
		found = append(found, r.Clipping.String())
	}
	if share := math.Abs(r.Offset) / r.Amplitude.Value; share > 0.01 {
		found = append(found, fmt.Sprintf("the recording has an offset of %.2g of full scale, %.2g %% of the tone's amplitude; no figure counts it", r.Offset, 100*share))
	}
	return found
}
