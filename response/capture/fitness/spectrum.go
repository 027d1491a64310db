package fitness

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
)

var thirdOctave = math.Exp2(1.0 / 3)

// spectrum is a power spectrum.
type spectrum struct {
	power   []float64 // |X|² of a transform that does not divide by its length
	bin     float64   // Hz
	samples float64   // that were transformed
}

// around returns the power in the bins within a factor of f, and in at least `least` bins on either
// side.
func (s *spectrum) around(f, factor float64, least int) []float64 {
	k := f / s.bin
	from, to := int(math.Ceil(k/factor)), int(k*factor)
	if to-from < 2*least {
		from, to = int(math.Round(k))-least, int(math.Round(k))+least
	}
	return s.power[min(len(s.power), max(1, from)):max(1, min(len(s.power), to+1))]
}

// computeQuietSpectrum returns the spectrum of the longest quiet stretch, up to 4 s, under a Hann
// window, scaled so that white noise of variance σ² gives σ²; nil if there is no quiet stretch.
func (c *channel) computeQuietSpectrum() *spectrum {
	var longest []float64
	for _, x := range c.quiet {
		if len(x) > len(longest) {
			longest = x
		}
	}
	if longest == nil {
		return nil
	}
	longest = longest[:min(len(longest), int(4*c.fs))]
	x, mean := taper.Hann(len(longest)), stat.Mean(longest, nil)
	for i, v := range longest {
		x[i] *= 2 * (v - mean)
	}
	return c.powerOf(x, 1.5*float64(len(x))) // the mean of (2 Hann)² is 3/2
}

// powerOf returns the power spectrum of x over divisor.
func (c *channel) powerOf(x []float64, divisor float64) *spectrum {
	plan := c.plans.Plan(fft.FastLen(max(2, len(x))))
	s := &spectrum{make([]float64, plan.Bins()), c.fs / float64(plan.Len()), float64(len(x))}
	for k, v := range plan.Forward(nil, x) {
		s.power[k] = fft.Power(v) / divisor
	}
	return s
}

// The window of response.Impulse.Window, in seconds: how much it passes of the power of noise, and
// of the amplitude of a tone.
var (
	windowPower = taper.WindowPower(response.DefaultBefore, response.DefaultAfter) * (response.DefaultBefore +
		response.DefaultAfter).Seconds()
	windowAmplitude = 3.0/4*response.DefaultBefore.Seconds() + 7.0/8*response.DefaultAfter.Seconds()
)

// noiseError returns the error in dB of the response at f Hz from noise: four standard deviations,
// since a response has thousands of bins. The noise in the window has the variance P N in the
// spectrum's own units, P being the noise's spectrum and N the window's samples; half of it is in
// phase.
func (c *channel) noiseError(f float64) float64 {
	still := c.quietSpectrum()
	// the median of an exponential distribution
	noise := statistic.Median(still.around(f, math.Sqrt(thirdOctave), 4)) / math.Ln2
	return c.errorOf(max(noise, c.step*c.step/12), f)
}

// errorOf returns the same for noise of a known spectrum.
func (c *channel) errorOf(noise, f float64) float64 {
	return 4 * decibel.PerNeper * math.Sqrt(noise*windowPower*c.fs/c.sweptPower(f)/2)
}

// quietBands returns the bands in which noise moves the response by less than 0.1 dB, in order of
// frequency, read every sixth of an octave of the played band. A notch of the headphones parts two.
func (c *channel) quietBands(played response.Band) (bands []response.Band) {
	within := false
	for f := played.Low; ; f = min(f*math.Sqrt(thirdOctave), played.High) {
		quiet := c.noiseError(f) <= worstError
		switch {
		case quiet && within:
			bands[len(bands)-1].High = f
		case quiet:
			bands = append(bands, response.Band{Low: f, High: f})
		}
		within = quiet
		if f >= played.High {
			return bands
		}
	}
}

// sweptPower returns the power of the recorded sweep at f Hz: the mean of a sixth of an octave, or
// of the bins next to f if that is less. At its ends a sweep fades.
func (c *channel) sweptPower(f float64) float64 {
	s := c.swept()
	return min(stat.Mean(s.around(f, math.Exp2(1.0/12), 2), nil), stat.Mean(s.around(f, 1.002, 1), nil))
}

// weakestPower returns the power of the recorded sweep where it is least.
func (c *channel) weakestPower() float64 {
	s, least := c.Stimulus.Sweep(), math.Inf(1)
	for f := s.Start(); f < s.Stop(); f *= math.Exp2(1.0 / 12) {
		least = min(least, c.sweptPower(f))
	}
	return min(least, c.sweptPower(s.Stop()))
}
