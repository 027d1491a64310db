package level

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
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
	p := bandPower{mean: make([]float64, len(a.bands)), uncertainty: make([]float64, len(a.bands)),
		freedom: float64(n - 1)}
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
	p.moves = a.moves(powers)
	return p, nil
}

// moves returns the range in dB over segments of the level, the mean over the bands in dB by their
// width. It returns 0 where the range is no more than a steady noise has by chance, and infinity
// where some segments, but not all, are digital silence. A level in a band of B Hz scatters from
// segment to segment by 4.34 √(1.5/B) dB, since a Hann window of 1 s has a bandwidth of 1.5 Hz.
func (a *bandAnalysis) moves(powers [][]float64) float64 {
	const least, chance = 3, 8 // dB; standard deviations, more than a hundred segments span
	var width float64
	levels := make([]float64, len(powers[0]))
	for i, b := range a.bands {
		width += b.High - b.Low
		for k, v := range powers[i] {
			levels[k] += (b.High - b.Low) * decibel.OfPower(v)
		}
	}
	silent := 0
	for _, v := range levels {
		if math.IsNaN(v) {
			silent++
		}
	}
	switch silent {
	case 0:
	case len(levels):
		return 0
	default:
		return math.Inf(1)
	}
	span := (floats.Max(levels) - floats.Min(levels)) / width
	if span < max(least, chance*decibel.PerNeper/2*math.Sqrt(1.5/width)) {
		return 0
	}
	return span
}

// above subtracts the power of the background. If the samples of the background are nil, it is not
// known, and nothing is subtracted.
func (a *bandAnalysis) above(sound, background recorded, margin float64) (standing, error) {
	for _, r := range []recorded{sound, background} {
		if err := checkSamples(r.name+": the recording", r.samples, int(a.segments.rate)); err != nil {
			return standing{}, err
		}
	}
	if len(sound.samples) > 0 && slices.Equal(sound.samples, background.samples) {
		return standing{}, sameRecording(sound.name, background.name)
	}
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
	out := standing{level: make([]float64, n), uncertainty: make([]float64, n), power: power.mean, freedom: power.freedom,
		reason: make([]string, n)}
	heard, known, louder := false, false, 0
	for i := range a.bands {
		heard = heard || power.mean[i] > 0
		out.level[i], out.uncertainty[i] = math.NaN(), math.NaN()
		switch over := 10 * math.Log10(power.mean[i]/floor.mean[i]); {
		case power.mean[i] == 0:
			out.reason[i] = fmt.Sprintf("%s: nothing was recorded", sound.name)
		case over < margin:
			out.reason[i] = fmt.Sprintf("%s: %.1f dB above the background, where %.0f dB are needed", sound.name,
				over, margin)
			const clear = -3 // dB: the scatter of two means is less in most bands
			if over < clear {
				louder++
			}
		default:
			known = true
			alone := power.mean[i] - floor.mean[i]
			out.level[i] = 10 * math.Log10(alone)
			out.uncertainty[i] = decibel.PerNeper / 2 * math.Hypot(power.uncertainty[i], floor.uncertainty[i]) / alone
		}
	}
	if !heard {
		return standing{}, fmt.Errorf("level: %s: %w: the recording is silent; check the cable and record again",
			sound.name, ErrNoSignal)
	}
	if louder > n/2 {
		return standing{}, fmt.Errorf("level: %s: %w: %s is louder than the noise itself at %d of %d frequencies; "+
			"exchange the two recordings, or record them again at one gain", sound.name, ErrUnequal, background.name, louder, n)
	}
	out.findings = steadiness(sound, background, power.moves, margin, known)
	return out, nil
}

// bandPower is a mean square by band, full scale being 1, with the standard uncertainty of the
// mean and its degrees of freedom. The level moves by some dB from segment to segment; 0 is steady.
type bandPower struct {
	mean, uncertainty []float64
	freedom, moves    float64
}

// standing is the level in dBFS rms by band of a sound less its background. The reason says why a
// level is not known; power is the mean square of the sound with its background. The degrees of
// freedom are those of the sound, whose scatter is most of the uncertainty.
type standing struct {
	level, uncertainty, power []float64
	freedom                   float64
	reason                    []string
	findings                  []response.Finding
}

// scattering returns a curve at the centres of the bands with the scatter of the sound as one more
// component.
func (s standing) scattering(c response.Curve, name string) response.Curve {
	u := response.Curve{Frequency: c.Frequency, Level: s.uncertainty, Valid: response.AllFrequencies}
	return c.With(response.Cause{Name: name, CommonTo: response.OneSeating, DegreesOfFreedom: s.freedom}, u.At, 0)
}

// steadiness returns findings about a noise that moves by some dB, that does not exceed its
// background in any band, or whose background is digital silence.
func steadiness(sound, background recorded, moves, margin float64, known bool) (found []response.Finding) {
	switch {
	case math.IsInf(moves, 1):
		found = append(found, remark(Wandering, sound.name+" part of the recording is digital silence: "+
			"the noise is not steady, or the recorder has a gate",
			"switch gates and level control off, play a steady noise, and record again"))
	case moves > 0:
		found = append(found, remark(Wandering, fmt.Sprintf("%s the level moves by %.1f dB during the recording: "+
			"the noise is not steady, or the recorder has a level control", sound.name, moves),
			"switch level control off, play a steady noise, and record again"))
	}
	if !known {
		found = append(found, remark(Noisy, fmt.Sprintf("%s the noise does not exceed its background by %.0f dB at any frequency, "+
			"so nothing is known", sound.name, margin), "raise the noise in steps and record again"))
	}
	if len(background.samples) > 0 && statistic.MeanSquare(background.samples) == 0 {
		found = append(found, remark(NoBackground, background.name+" is digital silence, which no microphone gives: "+
			"a gate or a closed input hides it", "record it again with the input open"))
	}
	return found
}

// sameRecording returns the error for one recording that is given as two.
func sameRecording(one, another string) error {
	return fmt.Errorf("level: %w: %s and %s are one recording; name two", ErrUnequal, one, another)
}
