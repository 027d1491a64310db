package programme

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// A gain that follows the level, as of a limiter or an automatic gain, passes less of the loud
// columns of a spectrogram than of the soft ones, or more. A steady filter passes the same share of
// both, which its level in each row predicts.
const (
	// controlRange is the range in dB below the loud columns over which columns are compared:
	// noise in the recording would raise softer ones.
	controlRange = 12
	// controlFewest is the least number of columns in the softest and in the loudest third.
	controlFewest = 8
	// controlChange is the least change in dB between these that is named, and controlSure its
	// least number of standard uncertainties.
	controlChange, controlSure = 0.4, 3
	// controlNoise is the ratio of the passed power to the predicted one from which on it is noise.
	controlNoise = 4
	// controlledLow and controlledHigh bound the rows that are added, in Hz.
	controlledLow, controlledHigh = 100, 10000
)

// levelControl returns by how many dB more the loudest third of the columns passes than the
// softest, with its standard uncertainty, and the difference of their levels in dB. It is NaN if
// there are too few columns.
func (s *Spectrogram) levelControl() (change, uncertainty, apart float64) {
	predicted, passed := make([]float64, len(s.Time)), make([]float64, len(s.Time))
	for row, band := range s.Bands {
		if band.Low < controlledLow || band.High > controlledHigh {
			continue
		}
		// The share that the filter passes, by the louder half of the columns.
		known := slices.DeleteFunc(slices.Clone(s.Direct[row]), func(d float64) bool { return d-d != 0 })
		if len(known) == 0 {
			continue
		}
		loud := statistic.Median(known)
		var share []float64
		for k, d := range s.Direct[row] {
			if v := s.Through[row][k] - d; d >= loud && v-v == 0 {
				share = append(share, v)
			}
		}
		if len(share) == 0 {
			continue
		}
		passes := statistic.Median(share)
		for k, d := range s.Direct[row] {
			if t := s.Through[row][k]; d-d == 0 && t-t == 0 {
				predicted[k] += decibel.Power(d + passes)
				passed[k] += decibel.Power(t)
			}
		}
	}
	// Where little is predicted, noise is passed.
	var quiet []float64
	for k, p := range predicted {
		if passed[k] > controlNoise*p {
			quiet = append(quiet, passed[k])
		}
	}
	var noise float64
	if len(quiet) > 0 {
		noise = statistic.Median(quiet)
	}
	type column struct{ level, gain float64 }
	var all []column
	for k, p := range predicted {
		if v := passed[k] - noise; p > 0 && v > 0 {
			all = append(all, column{decibel.OfPower(p), decibel.OfPower(v / p)})
		}
	}
	if len(all) == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	slices.SortFunc(all, func(a, b column) int { return cmp.Compare(a.level, b.level) })
	least := all[len(all)*95/100].level - controlRange
	all = all[slices.IndexFunc(all, func(c column) bool { return c.level >= least }):]
	n := len(all) / 3
	if n < controlFewest {
		return math.NaN(), math.NaN(), math.NaN()
	}
	of := func(some []column) (level, gain, u float64) {
		var levels, gains []float64
		for _, c := range some {
			levels, gains = append(levels, c.level), append(gains, c.gain)
		}
		gain, spread := statistic.MedianDeviation(gains)
		// Segments overlap by three quarters.
		return floats.Sum(levels) / float64(len(some)), gain, 1.25 * spread * math.Sqrt(4/float64(len(some)))
	}
	softLevel, soft, a := of(all[:n])
	loudLevel, loud, b := of(all[len(all)-n:])
	return loud - soft, math.Hypot(a, b), loudLevel - softLevel
}

// detectLevelControl names a gain that follows the level.
func (s *Spectrogram) detectLevelControl(recording string) {
	change, u, apart := s.levelControl()
	if !(math.Abs(change) > max(controlChange, controlSure*u)) {
		return
	}
	s.Findings = append(s.Findings, response.Finding{Recording: recording, Kind: "level control",
		Severity: response.Warning,
		Time:     math.NaN(), Duration: math.NaN(), Figures: map[string]response.Figure{"change": {Value: change, Unit: "dB"}},
		What: fmt.Sprintf("A gain follows the level in one of the recordings: where the material is %.0f dB louder, %.1f dB %s "+
			"comes through. Switch off automatic gain, limiters and loudness in player and recorder, and record both again.",
			apart, math.Abs(change), map[bool]string{true: "more", false: "less"}[change > 0])})
}
