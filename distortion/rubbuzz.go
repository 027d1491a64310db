package distortion

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// RubBuzzConfig says what is looked for. The zero value takes what lies above
// the tenth harmonic.
type RubBuzzConfig struct {
	// Above is the highest order that counts as ordinary distortion and is
	// taken out with the fundamental, from 2; 0 means 10.
	Above int
	// PerOctave is the number of points to an octave of the fundamental; 0
	// means 12. Each looks at its own stretch of the sweep.
	PerOctave int
	// Ceiling is the highest frequency in Hz that is looked at; 0 means 0.95 of
	// half the sample rate.
	Ceiling float64
	// Silence, SilenceRate and Averages are as in Config.
	Silence     []float64
	SilenceRate int
	Averages    int
}

// Residue is what is left of a sweep when the linear part and the low
// harmonics are taken out, frame by frame, against the frequency that the sweep
// passes: rubbing, buzzing, rattling, loose parts. Each slice has one value per
// fundamental; NaN where it is not known.
type Residue struct {
	// Above is the highest order taken out.
	Above int
	// Fundamental in Hz, in the middle of each frame.
	Fundamental []float64
	// Level is the root mean square of the residue in dB relative to that of
	// the fundamental.
	Level []float64
	// Peak is the largest magnitude of the residue in dB relative to the
	// fundamental's peak: it shows single clicks that the level hides.
	Peak []float64
	// Crest is the crest factor of the residue in dB, its own peak over its own
	// root mean square: 3 for a tone, about 12 for noise, more for clicks.
	Crest []float64
	// Floor and PeakFloor are the Level and the Peak that noise alone shows;
	// nil when no silence was given.
	Floor, PeakFloor []float64
	// Valid is the band of the fundamental within which the residue is known:
	// up to where not even the order above Above is below the ceiling.
	Valid response.Band
}

// RubBuzz looks for what a loose or rubbing part adds to a sweep: energy far
// above the harmonics of ordinary distortion, often as one click a period. A
// filter that follows the sweep passes only what lies above Above times its
// frequency, and so takes out the linear part and the harmonics up to Above.
//
// What stands at a fixed ratio to the frequency of the sweep stands at one time
// once the sweep is deconvolved, L ln r early for a ratio r (Farina 2000), so
// the filter is a cut in time there: a raised cosine from r = Above + 0.4 to
// Above + 0.9. What it passes is convolved with the sweep again and read in
// frames of 1/PerOctave octave, two periods at least.
//
// The recording is one that d can deconvolve, and errors are those of
// Deconvolver.Impulse and ErrNoPeak.
func RubBuzz(d *response.Deconvolver, recording []float64, c RubBuzzConfig) (*Residue, error) {
	s := d.Sweep()
	c, err := c.complete(s)
	if err != nil {
		return nil, err
	}
	noise, err := newNoise(c.Silence, c.SilenceRate, max(1, c.Averages), s)
	if err != nil {
		return nil, err
	}
	linear, err := d.Impulse(recording)
	if err != nil {
		return nil, err
	}
	delay, err := linear.Delay()
	if err != nil {
		return nil, err
	}
	h1 := linearSpectrum(linear, s, delay)
	filter := follower{sweep: s, delay: delay, above: float64(c.Above), ceiling: c.Ceiling}
	residue := filter.apply(recording)
	out := &Residue{
		Above: c.Above, Fundamental: response.LogGrid(s.Start(), s.Stop(), c.PerOctave),
		Valid: believable(s).Intersect(response.Band{Low: 0, High: (1 - fadeTop) * c.Ceiling / float64(c.Above+1)}),
	}
	for _, f := range out.Fundamental {
		length := max(s.TimeConstant()*math.Ln2/float64(c.PerOctave), 2/f)
		fundamental := s.Amplitude() * cmplx.Abs(h1.at(f))
		out.read(out.frame(residue, s.SampleRate(), s.TimeAt(f)+delay, length, f), fundamental)
		if noise != nil {
			out.readFloor(filter.noisePower(noise, f), 2*(filter.ceiling-filter.above*f)*length, fundamental)
		}
	}
	return out, nil
}

func (c RubBuzzConfig) complete(s *sweep.Sweep) (RubBuzzConfig, error) {
	if c.Above == 0 {
		c.Above = 10
	}
	if c.PerOctave == 0 {
		c.PerOctave = 12
	}
	switch {
	case c.Above < 2 || c.Above > mostOrders:
		return c, fmt.Errorf("distortion: rub and buzz above order %d; choose 2 to %d", c.Above, mostOrders)
	case c.PerOctave < 1 || c.PerOctave > 96:
		return c, fmt.Errorf("distortion: %d frames per octave; choose 1 to 96", c.PerOctave)
	}
	var err error
	c.Ceiling, err = ceiling(c.Ceiling, s)
	return c, err
}

// frame is the stretch of length seconds about t; nil where that is not all
// inside the recording or the fundamental is outside the valid band.
func (r *Residue) frame(residue []float64, sampleRate int, t, length, f float64) []float64 {
	fs := float64(sampleRate)
	first, end := int(math.Round((t-length/2)*fs)), int(math.Round((t+length/2)*fs))
	if !r.Valid.Contains(f) || first < 0 || end > len(residue) || end <= first {
		return nil
	}
	return residue[first:end]
}

// read appends what a frame shows relative to the fundamental's peak amplitude.
func (r *Residue) read(frame []float64, fundamental float64) {
	var power, peak float64
	for _, v := range frame {
		power += v * v
		peak = max(peak, math.Abs(v))
	}
	rms := math.Sqrt(power / float64(len(frame))) // NaN of an empty frame
	if len(frame) == 0 {
		peak = math.NaN()
	}
	r.Level = append(r.Level, decibel.OfAmplitude(rms*math.Sqrt2/fundamental))
	r.Peak = append(r.Peak, decibel.OfAmplitude(peak/fundamental))
	r.Crest = append(r.Crest, decibel.OfAmplitude(peak/rms))
}

// readFloor appends what noise of a power shows in a frame of so many
// independent samples.
func (r *Residue) readFloor(power, samples, fundamental float64) {
	rms := math.Sqrt(power)
	r.Floor = append(r.Floor, decibel.OfAmplitude(rms*math.Sqrt2/fundamental))
	r.PeakFloor = append(r.PeakFloor, decibel.OfAmplitude(rms*largestOf(2*samples)/fundamental))
}

// largestOf is the mean of the largest of n independent normal numbers of unit
// variance (H. Cramér, Mathematical Methods of Statistics, 1946, §28.6; from
// memory); the largest magnitude of n is the largest of twice as many.
func largestOf(n float64) float64 {
	const euler = 0.5772156649015329
	b := math.Sqrt(2 * math.Log(max(n, 10)))
	return b - (math.Log(math.Log(max(n, 10)))+math.Log(4*math.Pi)-2*euler)/(2*b)
}

// Curve is the level of the residue relative to the fundamental.
func (r *Residue) Curve() response.Curve { return r.curve(r.Level) }

// PeakCurve is the peak of the residue relative to the fundamental's.
func (r *Residue) PeakCurve() response.Curve { return r.curve(r.Peak) }

func (r *Residue) curve(level []float64) response.Curve {
	return response.Curve{
		Frequency: r.Fundamental, Level: level,
		Reference: "fundamental", Valid: known(r.Fundamental, level),
	}
}

// Figure is the level of the residue at f Hz, interpolated like a curve. Its
// uncertainty is what the noise's power adds to it, 10 log10(1 + noise/residue).
func (r *Residue) Figure(f float64) Figure {
	fig := figureAt(r.Fundamental, r.Level, r.Floor, nil, f)
	fig.Uncertainty = decibel.OfPower(1 + decibel.Power(fig.Floor-fig.Level))
	return fig
}

// PeakFigure is the peak of the residue at f Hz, interpolated like a curve. Its
// uncertainty is that of a level with the noise's rms beside it.
func (r *Residue) PeakFigure(f float64) Figure {
	fig := figureAt(r.Fundamental, r.Peak, r.PeakFloor, nil, f)
	fig.Uncertainty = noiseUncertainty(fig.Level, fig.Floor)
	return fig
}
