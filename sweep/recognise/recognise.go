// Package recognise finds out which signals a played file, or a direct recording of it, holds:
// sweeps, noise, maximum-length sequences, steady tones. It states each with the share of the
// signal that supports it, so that a reader can check it against what the maker of the file said.
package recognise

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/sweep"
)

// Kind is the kind of content of a stretch of a file.
type Kind string

// The kinds. Unknown is music, speech and anything else.
const (
	Unknown          Kind = "no known signal"
	ExponentialSweep Kind = "exponential sweep"
	LinearSweep      Kind = "linear sweep"
	Noise            Kind = "steady noise"
	MaximumLength    Kind = "maximum-length sequence"
	Tones            Kind = "steady tones"
)

// Content is the content of a stretch of one channel. Fields that do not belong to its kind are 0.
type Content struct {
	Kind    Kind
	Channel int // from 1
	// From and Len are the beginning and the length of the stretch in samples.
	From, Len  int
	SampleRate int // Hz
	// Level is in dBFS: the peak of a sweep, a sequence and the strongest tone; the rms of noise
	// and of unknown content.
	Level float64
	// Certainty is the share, 0 to 1, that supports the kind. For sweeps and tones it is a share of
	// the power, for a sequence that of the samples that follow its rule, and for noise that of the
	// third octaves whose scatter between tenths of a second is no larger than that of steady noise
	// of their width.
	Certainty float64
	// Unexplained is the residual power in dB relative to the whole after subtraction of the sweep
	// with its law, level and fades: rounding and dither in a synthetic file, the interface's
	// response in a recording. It is at least −150, by double precision.
	Unexplained float64
	// LevelRange is the range in dB of the level of a sweep below 15 kHz, except for its ends.
	LevelRange float64
	// Doubt says why a stretch may not be the signal as it was made, and what would help. It is
	// empty if there is no reason, and for content other than sweeps.
	Doubt string

	// Start and Stop are the frequencies in Hz of a sweep at its first sample and at the end of its
	// last one. Phase is that of the sine in radians at its first sample. FadeIn and FadeOut are
	// the lengths of its fades in seconds.
	Start, Stop, Phase, FadeIn, FadeOut float64
	// TimeConstant is that of an exponential sweep in seconds, in which the frequency grows by a
	// factor of e; below zero if it falls.
	TimeConstant float64
	// Slope is that of the density of noise in dB per octave: 0 is white, −3.01 pink.
	Slope float64
	// Order is that of a sequence, which repeats after 2^Order − 1 samples. Taps are the exponents
	// of its polynomial, from the highest to 0.
	Order int
	Taps  []int
	// Frequencies are those of tones in Hz, the strongest first.
	Frequencies []float64

	heard stretch // the whole sound, including a ring after the end of a sweep
}

// Law returns the exponential sweep of a stretch, from its law, which separates harmonics. It is
// nil for all other content, and for a sweep that falls.
func (c Content) Law() *sweep.Sweep {
	if c.Kind != ExponentialSweep || !(c.TimeConstant > 0) {
		return nil
	}
	s, err := sweep.New(sweep.Config{
		Start: c.Start, Stop: min(c.Stop, float64(c.SampleRate)/2), TimeConstant: c.TimeConstant, Phase: c.Phase,
		SampleRate: c.SampleRate, Level: min(0, c.Level), FadeIn: fade(c.FadeIn), FadeOut: fade(c.FadeOut),
	})
	if err != nil {
		return nil
	}
	return s
}

// doubt computes Content.Doubt.
func (c Content) doubt() string {
	const even = 0.15 // dB; a synthetic file is constant to 0.001
	// A synthetic file of 16 bits has their rounding, 98 dB below a full-scale sweep; 8 dB more are
	// allowed.
	clean := max(-65, -90-c.Level)
	switch {
	case c.Kind != ExponentialSweep && c.Kind != LinearSweep, c.Unexplained < clean:
		return ""
	case c.LevelRange > even:
		return fmt.Sprintf("the level of the sweep changes by %.2f dB along it: "+
			"a limiter or an equaliser changed it, or it is a recording; "+
			"name the file as it was played, or the response contains that change", c.LevelRange)
	}
	return fmt.Sprintf("the level of the sweep is constant, but %.0f dB of it are another signal, as from a lossy coder, "+
		"or from a limiter that sets in; name the file as it was made", c.Unexplained)
}

// String describes the content in a sentence without its full stop.
func (c Content) String() string {
	seconds := float64(c.Len) / float64(c.SampleRate)
	out := fmt.Sprintf("channel %d, %.3f s: %v", c.Channel, float64(c.From)/float64(c.SampleRate), c.Kind)
	switch c.Kind {
	case ExponentialSweep, LinearSweep:
		out += fmt.Sprintf(", %.6g Hz to %.6g Hz in %.3f s, from %.1f°, peak %.2f dBFS",
			c.Start, c.Stop, seconds, degrees(c.Phase), c.Level)
		if c.FadeIn > 0 || c.FadeOut > 0 {
			out += fmt.Sprintf(", faded over %.1f ms and %.1f ms", 1000*c.FadeIn, 1000*c.FadeOut)
		}
		return out + fmt.Sprintf("; its law bears out %s of the power, and all but %.0f dB with one level",
			percent(c.Certainty), c.Unexplained)
	case Noise:
		return out + fmt.Sprintf(" (%s, %+.2f dB per octave) for %.3f s, %.2f dBFS rms; steady in %s of third octaves",
			colour(c.Slope), c.Slope, seconds, c.Level, percent(c.Certainty))
	case MaximumLength:
		periods := float64(c.Len) / float64(int(1)<<c.Order-1)
		return out + fmt.Sprintf(" of order %d, %s, %.4g periods, peak %.2f dBFS; %s of the samples follow its rule",
			c.Order, polynomial(c.Taps), periods, c.Level, percent(c.Certainty))
	case Tones:
		list := make([]string, min(5, len(c.Frequencies)))
		for i := range list {
			list[i] = fmt.Sprintf("%.6g Hz", c.Frequencies[i])
		}
		if more := len(c.Frequencies) - len(list); more > 0 {
			list = append(list, fmt.Sprintf("and %d more", more))
		}
		return out + fmt.Sprintf(", %s for %.3f s, the strongest at %.2f dBFS; %s of the power",
			strings.Join(list, ", "), seconds, c.Level, percent(c.Certainty))
	}
	return out + fmt.Sprintf(" for %.3f s, %.2f dBFS rms", seconds, c.Level)
}

func percent(share float64) string {
	if share > 0.9999 {
		return "100 %"
	}
	return fmt.Sprintf("%.4g %%", 100*share)
}

func degrees(phase float64) float64 {
	tenths := math.Round(phase * 1800 / math.Pi)
	return math.Mod(tenths+3600, 3600) / 10
}

func colour(slope float64) string {
	switch {
	case math.Abs(slope) < 0.3:
		return "white"
	case math.Abs(slope+decibel.OfPower(2)) < 0.3:
		return "pink"
	}
	return "coloured"
}

func polynomial(taps []int) string {
	terms := make([]string, len(taps))
	for i, e := range taps {
		switch terms[i] = fmt.Sprintf("x^%d", e); e {
		case 0:
			terms[i] = "1"
		case 1:
			terms[i] = "x"
		}
	}
	return strings.Join(terms, " + ")
}
