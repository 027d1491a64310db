package distortion

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"time"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/parallel"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// Config says which harmonics to measure, and up to which frequency. The zero value measures every
// order for which there is room.
type Config struct {
	// Orders is the highest harmonic, from 2; 0 means all orders for which the deconvolution has
	// room and that the sweep can separate.
	Orders int
	// Decay is the time for which the device rings after each harmonic. It sets how many harmonics
	// the sweep can separate (MaxOrders); 0 means 10 ms.
	Decay time.Duration
	// PerOctave is the number of points to an octave of the fundamental; 0
	// means 24.
	PerOctave int
	// MaxFrequency is the highest usable frequency of a harmonic in Hz, such as the end of the
	// microphone's range; 0 means 0.95 of half the sample rate, and a higher one is reduced to
	// that.
	MaxFrequency float64
	// Silence is a recording of silence by the same rig at the same gain. It gives the noise floor.
	// Without it the floor and the device's part of a reading are not known.
	Silence []float64
	// SilenceRate is the sample rate of Silence in Hz; 0 means the sweep's.
	SilenceRate int
	// Correction is the level in dB to be added at each frequency: minus the microphone's response,
	// as level.Calibration.Correction returns it. A harmonic is corrected at its own frequency, and
	// is not known where the correction is not. Nil corrects nothing. Linear, kernels and RubBuzz
	// are not corrected.
	Correction *response.Curve
	// Averages is the number of sweeps that were averaged into the recording; noise power is
	// divided by it. 0 means 1.
	Averages int
}

func (c Config) complete(sep *response.Deconvolved) (Config, error) {
	if c.Decay == 0 {
		c.Decay = defaultDecay
	}
	if c.Decay < 0 {
		return c, fmt.Errorf("distortion: a decay of %v; give the time the device rings, above zero", c.Decay)
	}
	if err := c.chooseOrders(sep); err != nil {
		return c, err
	}
	if c.PerOctave == 0 {
		c.PerOctave = 24
	}
	if c.PerOctave < 1 || c.PerOctave > 1000 {
		return c, fmt.Errorf("distortion: %d points per octave; choose 1 to 1000", c.PerOctave)
	}
	var err error
	c.MaxFrequency, err = maxFrequency(c.MaxFrequency, sep.Sweep)
	return c, err
}

// HarmonicSet is distortion by order against the frequency of the fundamental. Its methods do not
// change it, so it may be shared. The caller owns what they return.
type HarmonicSet struct {
	// Sweep is the sweep that was played; the figures hold at its level.
	Sweep *sweep.Sweep
	// Delay is the time in seconds by which the recording lags the sweep.
	Delay float64
	// Fundamental holds the frequencies of the fundamental in Hz, those of
	// response.LogGrid over the sweep's band.
	Fundamental []float64
	// Linear is the linear response |H1| in dB at each fundamental, full scale
	// per full scale.
	Linear []float64
	// LinearUncertainty is the standard uncertainty of Linear in dB from noise; nil without a
	// silence.
	LinearUncertainty []float64
	// Orders are the harmonics, from the second.
	Orders []Order
	// Rig says in words how the rig's own distortion was treated, such as RigUnknown.
	Rig string

	perOctave    int
	maxFrequency float64
	linear       spectrum                // H1, its delay removed
	noise        func(f float64) float64 // rms of the noise in H1; nil if not known
	silence      *response.Noise         // nil when not known
	unsure       func(harmonic, fundamental float64) float64
	correction   *response.Curve
}

// Harmonics returns the harmonics of a deconvolved recording. Order n comes L ln n before the
// linear response. Its window reaches 0.4 of the way to the order before it in time (n+1) and 0.55
// of the way to the one after it (n−1), and its spectrum is read at n times the frequency of the
// fundamental (Farina 2000; Novak et al. 2015).
//
// A harmonic above MaxFrequency is not known, nor is one of a fundamental near the ends of the
// sweep (Order.Valid). The error is ErrOrders if the deconvolution has no room for the orders asked
// for, or if the sweep is too short to separate them.
func Harmonics(sep *response.Deconvolved, c Config) (*HarmonicSet, error) {
	c, err := c.complete(sep)
	if err != nil {
		return nil, err
	}
	noise, err := c.noise(sep.Sweep)
	if err != nil {
		return nil, err
	}
	delay, err := sep.Linear.Delay()
	if err != nil {
		return nil, err
	}
	s := sep.Sweep
	hs := &HarmonicSet{
		Rig: RigUnknown, Sweep: s, Delay: delay, perOctave: c.PerOctave, maxFrequency: c.MaxFrequency, silence: noise,
		correction:  c.Correction,
		Fundamental: response.LogGrid(s.Start(), s.Stop(), c.PerOctave),
	}
	hs.Orders = make([]Order, c.Orders-1)
	hs.readLinear(sep, noise)
	parallel.Do(len(hs.Orders), func(i int) { hs.Orders[i] = hs.read(hs.newOrder(sep, i+2)) })
	return hs, nil
}

// readLinear sets the linear response and its uncertainty from noise.
func (hs *HarmonicSet) readLinear(sep *response.Deconvolved, noise *response.Noise) {
	var read []float64 // for the fundamental, and for harmonics that pass the device
	for n := range len(hs.Orders) + 1 {
		read = append(read, times(float64(n+1), hs.Fundamental)...)
	}
	slices.Sort(read)
	window, linear := linearSpectrum(sep.Linear, hs.Delay, slices.Compact(read))
	hs.linear = linear
	if noise != nil {
		hs.noise = func(f float64) float64 { return window.NoiseAt(noise, f) }
	}
	for _, f := range hs.Fundamental {
		level := decibel.OfAmplitude(cmplx.Abs(hs.linear.at(f)))
		hs.Linear = append(hs.Linear, level)
		if hs.noise != nil {
			hs.LinearUncertainty = append(hs.LinearUncertainty, noiseUncertainty(level, decibel.OfAmplitude(hs.noise(f))))
		}
	}
}

// read returns the order with its slices set from its spectrum.
func (hs *HarmonicSet) read(o Order) Order {
	o.Readings, o.Noise, o.Rig = newReadings(len(hs.Fundamental)), nil, nil
	o.Phase = make([]float64, 0, len(hs.Fundamental))
	for i, f := range hs.Fundamental {
		at := float64(o.N) * f
		h := o.at(at)
		// The microphone's response counts at f for the fundamental, and at n f for the harmonic.
		relative := func(amplitude float64) float64 {
			return decibel.OfAmplitude(amplitude) - hs.Linear[i] + hs.correctionAt(at) - hs.correctionAt(f)
		}
		floor, noise := math.NaN(), Noise{Degrees: 2}
		if o.noise != nil {
			a := o.noise(at)
			floor, noise.Known = a, hs.silence.DegreesOfFreedom(at)
			o.Noise = append(o.Noise, relative(a))
		}
		if o.rig != nil {
			a := o.rig(at)
			o.Rig = append(o.Rig, relative(a))
			a *= o.remains
			if o.noise == nil {
				floor = 0
			}
			if floor = math.Hypot(floor, a); floor > 0 {
				noise.Rig = a * a / (floor * floor)
			}
		}
		if hs.LinearUncertainty != nil {
			noise.Reference = hs.LinearUncertainty[i] / decibel.PerNeper
		}
		if hs.unsure != nil {
			noise.Reference = math.Hypot(noise.Reference, hs.unsure(at, f)/decibel.PerNeper)
		}
		o.add(f, unbounded(relative(cmplx.Abs(h)), relative(floor), "dB", noise))
		o.Phase = append(o.Phase, cmplx.Phase(h))
	}
	if o.noise == nil && o.rig == nil {
		o.Floor, o.Uncertainty = nil, nil
	}
	return o
}

// Unsure returns the set with one more cause of uncertainty: the standard uncertainty in dB of the
// response at the harmonic's frequency relative to that at the fundamental's, both in Hz.
func (hs *HarmonicSet) Unsure(by func(harmonic, fundamental float64) float64) *HarmonicSet {
	out := *hs
	out.unsure, out.Orders = by, make([]Order, len(hs.Orders))
	parallel.Do(len(hs.Orders), func(i int) { out.Orders[i] = out.read(hs.Orders[i]) })
	return &out
}

// correctionAt returns the correction in dB at f Hz: 0 dB without one.
func (hs *HarmonicSet) correctionAt(f float64) float64 {
	if hs.correction == nil {
		return 0
	}
	return hs.correction.At(f)
}

// Harmonic returns the reading of the n-th harmonic at the fundamental f Hz, in dB relative to the
// fundamental, interpolated between the points as a curve is. It panics if the set does not hold
// order n.
func (hs *HarmonicSet) Harmonic(n int, f float64) Reading {
	if n < 2 || n-2 >= len(hs.Orders) {
		panic(fmt.Sprintf("distortion: harmonic %d of a set that has the orders 2 to %d", n, len(hs.Orders)+1))
	}
	return hs.Orders[n-2].At(f)
}

// newOrder cuts out the n-th harmonic.
func (hs *HarmonicSet) newOrder(sep *response.Deconvolved, n int) Order {
	s, noise, maxFrequency := hs.Sweep, hs.silence, hs.maxFrequency
	at := hs.Delay - s.HarmonicAdvance(n)
	before, after := orderWindow(s, n)
	cut := sep.Harmonics.WindowAt(at, before, after)
	band := believable(s)
	o := Order{
		N: n, Resolution: windowBandwidth(before, after),
		Valid: response.Band{
			Low:  max(band.Low, 1/after.Seconds()/float64(n)),
			High: min(band.High, maxFrequency/float64(n)),
		},
		spectrum: newSpectrum(cut, at, response.Band{Low: 0, High: maxFrequency}, times(float64(n), hs.Fundamental)).at,
		remains:  1,
	}
	if turn := s.Asynchrony() * float64(n-1); turn != 0 {
		inPhase, back := o.spectrum, cmplx.Rect(1, -turn)
		o.spectrum = func(f float64) complex128 { return inPhase(f) * back }
	}
	if noise != nil {
		o.noise = func(f float64) float64 { return cut.NoiseAt(noise, f) }
	}
	return o
}

// Order is one harmonic. Its Floor contains noise and the counted part of the rig's own harmonic.
// Each slice has one value per fundamental, NaN where it is not known.
type Order struct {
	// N is the order; 2 is the second harmonic, at twice the frequency.
	N int
	Readings
	// Phase is that of the harmonic as a sine, in radians, where the fundamental as played is a
	// sine of phase 0 and the delay of the linear peak is removed.
	Phase []float64
	// Noise is the mean level in dB relative to the fundamental of noise alone; nil without a
	// silence.
	Noise []float64
	// Rig is the level in dB relative to the fundamental of the rig's own harmonic; nil without a
	// direct recording (WithRig, Subtract).
	Rig []float64
	// Valid is the band of the fundamental within which AsRead is known. Below it the harmonic's
	// window is shorter than a period, or the beginning of the sweep disturbs the harmonic.
	Valid response.Band
	// Resolution is the bandwidth in Hz of the smoothing by the window, on the axis of the
	// harmonic's own frequency: its equivalent noise bandwidth.
	Resolution float64

	spectrum func(f float64) complex128 // Hn without its delay, by the harmonic's own frequency
	noise    func(f float64) float64
	rig      func(f float64) float64
	remains  float64 // part of the rig's amplitude that is left in the level
}

// at returns the harmonic's spectrum at the harmonic's own frequency f, or NaN if its fundamental
// is outside the valid band.
func (o Order) at(f float64) complex128 {
	if !o.Valid.Contains(f / float64(o.N)) {
		return cmplx.NaN()
	}
	return o.spectrum(f)
}

// maxFrequency returns the highest usable frequency in Hz; f = 0 means the highest possible.
func maxFrequency(f float64, s *sweep.Sweep) (float64, error) {
	top := 0.95 * float64(s.SampleRate()) / 2
	if f == 0 {
		return top, nil
	}
	if !(f > 0) {
		return 0, fmt.Errorf("distortion: a maximum frequency of %v Hz; give the highest usable frequency, above zero", f)
	}
	return min(f, top), nil
}

// linearSpectrum cuts out the linear response and returns it with its spectrum H1, from which the
// delay is removed. The frequencies are those of newSpectrum.
func linearSpectrum(linear *response.Impulse, delay float64, frequency []float64) (*response.Impulse, spectrum) {
	window := linear.WindowAt(delay, 0, 0)
	return window, newSpectrum(window, delay, window.Valid, frequency)
}

// times returns n x.
func times(n float64, x []float64) []float64 { return floats.ScaleTo(make([]float64, len(x)), n, x) }
