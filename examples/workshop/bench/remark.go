package bench

import (
	"fmt"
	"regexp"
)

// Remark is about one aspect of the measurement, which went wrong or did not.
type Remark struct {
	// Wrong reports that the fault spoils the figures. Otherwise the remark is only for
	// information.
	Wrong bool
	// Topic is a word or two, What the finding with its figures, Remedy what to
	// do about it; Remedy may be empty.
	Topic, What, Remedy string
}

// Remarks explains from the figures what went wrong. Wrong aspects come first, then the others,
// each in the order of a measurement.
func (r *Result) Remarks() []Remark {
	if r.Problem != nil {
		return append(r.aboutClipping(), Remark{true, "No response", "There is no result: " +
			"" + typeset(r.Problem.Error()) +
			".", "Lower the noise or sweep for longer; a higher level helps too, with headphones off the head, in steps."})
	}
	var wrong, fine []Remark
	for _, judge := range []func() []Remark{
		r.aboutClipping, r.aboutNoise, r.aboutClock, r.aboutDirect, r.aboutReflection,
		r.aboutWindowBefore, r.aboutWindowAfter, r.aboutSmoothing, r.aboutSeatings, r.aboutHarmonics, r.aboutSecond,
	} {
		for _, m := range judge() {
			m.What = typeset(m.What)
			if m.Wrong {
				wrong = append(wrong, m)
			} else {
				fine = append(fine, m)
			}
		}
	}
	return append(wrong, fine...)
}

// Headline states the error in a sentence.
func (r *Result) Headline() string {
	if r.Problem != nil {
		return "There is no response under these settings."
	}
	e := r.Error
	return typeset(fmt.Sprintf("From %s to %s the response is %.2f dB rms away from the truth, at most "+
		"%+.1f dB at %s.",
		hz(e.Band.Low), hz(e.Band.High), e.RMS.Value, e.Max.Level.Value, hz(e.Max.Frequency)))
}

// typeset replaces the hyphen before a number by a minus sign and keeps a number and its unit on
// one line.
func typeset(s string) string {
	return unit.ReplaceAllString(negative.ReplaceAllString(s, "${1}−${2}"), "${1}\u00a0${2}")
}

var (
	negative = regexp.MustCompile(`(^|[\s(])-(\d)`)
	unit     = regexp.MustCompile(`(\d) (%|(?:dB|Hz|kHz|ms|s|ppm)\b)`)
)
