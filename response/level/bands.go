package level

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// recorded is a recording and its name in errors.
type recorded struct {
	name    string
	samples []float64
}

// bandAnalysis measures the power of recordings by band.
type bandAnalysis struct {
	segments *segments
	bands    []smoothing.Band
}

func newBandAnalysis(sampleRate int, bands []smoothing.Band) *bandAnalysis {
	return &bandAnalysis{newSegments(sampleRate, 1), bands}
}

// power returns the mean over segments of the power in each band, and its standard uncertainty from
// their scatter (JCGM 100:2008, 4.2.3).
func (a *bandAnalysis) power(r recorded) (bandPower, error) {
	s := a.segments
	const least = 5 // segments: 3 s
	n := s.count(len(r.samples))
	if n < least {
		return bandPower{}, fmt.Errorf("level: %s: %w: %.1f s recorded; record 30 s, and 3 s at least",
			r.name, ErrNoSignal, float64(len(r.samples))/s.rate)
	}
	p := bandPower{make([]float64, len(a.bands)), make([]float64, len(a.bands)), float64(n - 1)}
	powers := make([][]float64, len(a.bands))
	var spectrum []complex128
	var density, power []float64
	for at := range s.starts(len(r.samples)) {
		spectrum = s.spectrum(spectrum, r.samples[at:])
		density = s.density(density, spectrum)
		power = smoothing.BandPower(power, density, s.spacing(), a.bands)
		for i, v := range power {
			powers[i] = append(powers[i], v)
		}
	}
	for i, x := range powers {
		var deviation float64
		p.mean[i], deviation = stat.MeanStdDev(x, nil)
		// Overlap under a Hann window gives 5.6 % more variance.
		p.uncertainty[i] = math.Sqrt(1.056) * stat.StdErr(deviation, float64(len(x)))
	}
	return p, nil
}

// above subtracts the power of the background. If the samples of the background are nil, it is not
// known, and nothing is subtracted.
func (a *bandAnalysis) above(sound, background recorded, margin float64) (standing, error) {
	power, err := a.power(sound)
	if err != nil {
		return standing{}, err
	}
	floor := bandPower{mean: make([]float64, len(a.bands)), uncertainty: make([]float64, len(a.bands))}
	if background.samples != nil {
		if floor, err = a.power(background); err != nil {
			return standing{}, err
		}
	}
	n := len(a.bands)
	out := standing{make([]float64, n), make([]float64, n), power.mean, power.freedom, make([]string, n)}
	heard := false
	for i := range a.bands {
		heard = heard || power.mean[i] > 0
		out.level[i], out.uncertainty[i] = math.NaN(), math.NaN()
		switch over := 10 * math.Log10(power.mean[i]/floor.mean[i]); {
		case power.mean[i] == 0:
			out.reason[i] = fmt.Sprintf("%s: nothing was recorded", sound.name)
		case over < margin:
			out.reason[i] = fmt.Sprintf("%s: %.1f dB above the background, where %.0f dB are needed", sound.name, over, margin)
		default:
			alone := power.mean[i] - floor.mean[i]
			out.level[i] = 10 * math.Log10(alone)
			out.uncertainty[i] = decibel.PerNeper / 2 * math.Hypot(power.uncertainty[i], floor.uncertainty[i]) / alone
		}
	}
	if !heard {
		return standing{}, fmt.Errorf("level: %s: %w: the recording is silent; check the cable and record again",
			sound.name, ErrNoSignal)
	}
	return out, nil
}

// bandPower is a mean square by band, full scale being 1, with the standard uncertainty of the
// mean and its degrees of freedom.
type bandPower struct {
	mean, uncertainty []float64
	freedom           float64
}

// standing is the level in dBFS rms by band of a sound less its background. The reason says why a
// level is not known; power is the mean square of the sound with its background. The degrees of
// freedom are those of the sound, whose scatter is most of the uncertainty.
type standing struct {
	level, uncertainty, power []float64
	freedom                   float64
	reason                    []string
}

// scattering returns a curve at the centres of the bands with the scatter of the sound as one more
// component.
func (s standing) scattering(c response.Curve, name string) response.Curve {
	u := response.Curve{Frequency: c.Frequency, Level: s.uncertainty, Valid: response.AllFrequencies}
	return c.With(response.Cause{Name: name, CommonTo: response.OneSeating, DegreesOfFreedom: s.freedom}, u.At, 0)
}
