package distortion

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// Residue is the sweep after removal of the linear part and the low harmonics, frame by frame,
// against the frequency of the sweep. It shows rubbing, buzzing, rattling and loose parts. Each
// slice has one value per fundamental, NaN where it is not known. The fundamental is that in the
// middle of the frame.
type Residue struct {
	// Orders is the highest order that was removed.
	Orders int
	// RMS is the root mean square of the residue relative to that of the fundamental.
	RMS Readings
	// Peak is the largest magnitude of the residue relative to the fundamental's peak: it shows
	// single clicks, which the rms hides.
	Peak Readings
	// Crest is the crest factor of the residue in dB, its own peak over its own root mean square: 3
	// for a tone, about 12 for noise, more for clicks.
	Crest []float64
	// Valid is the band of the fundamental within which the residue is known: up to the frequency
	// at which the order above Orders reaches the maximum frequency.
	Valid response.Band
}

// RubBuzz looks for the sound of a loose or rubbing part in a sweep: energy far above the harmonics
// of ordinary distortion, often as one click a period. A filter that follows the sweep passes only
// frequencies above Orders times that of the sweep, and so removes the linear part and the
// harmonics up to Orders. In the configuration Orders 0 means 10, PerOctave 0 means 12 and is 96 at
// most, and Decay is not used.
//
// After deconvolution, a sound at r times the frequency of the sweep lies at one time, L ln r
// before the peak (Farina 2000). So the filter is a window in time, applied to the impulse
// response: a raised cosine from r = Orders + 0.4 to Orders + 0.9. The passed part is convolved
// with the sweep again and read in frames of 1/PerOctave octave, two periods at least.
//
// The recording is the one that was separated. The error is ErrNoPeak for one that does not hold
// the sweep.
func RubBuzz(separated *response.Deconvolved, recording []float64, c Config) (*Residue, error) {
	s, linear := separated.Sweep, separated.Linear
	c, err := c.completeRubBuzz(s)
	if err != nil {
		return nil, err
	}
	noise, err := c.noise(s)
	if err != nil {
		return nil, err
	}
	delay, err := linear.Delay()
	if err != nil {
		return nil, err
	}
	fundamental := response.LogGrid(s.Start(), s.Stop(), c.PerOctave)
	_, h1 := linearSpectrum(linear, delay, fundamental)
	filter := follower{sweep: s, delay: delay, above: float64(c.Orders), maxFrequency: c.MaxFrequency}
	residue := filter.apply(recording)
	out := &Residue{
		Orders: c.Orders,
		Valid:  believable(s).Intersect(response.Band{Low: 0, High: (1 - fadeTop) * c.MaxFrequency / float64(c.Orders+1)}),
	}
	for _, f := range fundamental {
		length := max(s.TimeConstant()*math.Ln2/float64(c.PerOctave), 2/f)
		amplitude := s.Amplitude() * cmplx.Abs(h1.at(f))
		power, samples := math.NaN(), 2*(filter.maxFrequency-filter.above*f)*length
		if noise != nil {
			power = filter.noisePower(noise, f)
		}
		out.read(f, out.frame(residue, s.SampleRate(), s.TimeAt(f)+delay, length, f), amplitude, math.Sqrt(power), samples)
	}
	if noise == nil {
		out.RMS.Floor, out.Peak.Floor, out.RMS.Uncertainty, out.Peak.Uncertainty = nil, nil, nil, nil
	}
	return out, nil
}

// frame returns the stretch of length seconds about t. It returns nil if that is not all inside the
// recording, or if the fundamental is outside the valid band.
func (r *Residue) frame(residue []float64, sampleRate int, t, length, f float64) []float64 {
	fs := float64(sampleRate)
	first, end := int(math.Round((t-length/2)*fs)), int(math.Round((t+length/2)*fs))
	if !r.Valid.Contains(f) || first < 0 || end > len(residue) || end <= first {
		return nil
	}
	return residue[first:end]
}

// read appends the readings of a frame relative to the fundamental's peak amplitude. Their floor is
// that of noise with a given rms and number of independent samples.
func (r *Residue) read(f float64, frame []float64, fundamental, noise, samples float64) {
	rms, peak := math.NaN(), math.NaN()
	if len(frame) > 0 {
		rms, peak = math.Sqrt(statistic.MeanSquare(frame)), floats.Norm(frame, math.Inf(1))
	}
	level := func(amplitude float64) float64 { return decibel.OfAmplitude(amplitude / fundamental) }
	r.RMS.add(f, unbounded(level(rms*math.Sqrt2), level(noise*math.Sqrt2), "dB", Noise{Degrees: samples}))
	r.Peak.add(f, unbounded(level(peak), level(noise*largestOf(2*samples)), "dB", Noise{}))
	r.Crest = append(r.Crest, decibel.OfAmplitude(peak/rms))
}

func (c Config) completeRubBuzz(s *sweep.Sweep) (Config, error) {
	if c.Orders == 0 {
		c.Orders = 10
	}
	if c.PerOctave == 0 {
		c.PerOctave = 12
	}
	switch {
	case c.Orders < 2 || c.Orders > mostOrders:
		return c, fmt.Errorf("distortion: rub and buzz above order %d; choose 2 to %d", c.Orders, mostOrders)
	case c.PerOctave < 1 || c.PerOctave > 96:
		return c, fmt.Errorf("distortion: %d frames per octave; choose 1 to 96", c.PerOctave)
	}
	var err error
	c.MaxFrequency, err = maxFrequency(c.MaxFrequency, s)
	return c, err
}

// largestOf returns the mean of the largest of n independent normal numbers of unit variance (H.
// Cramér, Mathematical Methods of Statistics, 1946, §28.6; from memory). For the largest magnitude
// of n numbers, pass 2n.
func largestOf(n float64) float64 {
	const euler = 0.5772156649015329
	b := math.Sqrt(2 * math.Log(max(n, 10)))
	return b - (math.Log(math.Log(max(n, 10)))+math.Log(4*math.Pi)-2*euler)/(2*b)
}
