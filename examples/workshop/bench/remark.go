package bench

import "regexp"

// Remark is one thing that went wrong, or was watched and did not.
type Remark struct {
	// Wrong tells that it spoils the figures; otherwise it is worth knowing.
	Wrong bool
	// Topic is a word or two, What the finding with its figures, Remedy what to
	// do about it; Remedy may be empty.
	Topic, What, Remedy string
}

// Remarks say in words, from the figures, what went wrong: what is wrong
// first, each in the order in which a measurement meets it.
func (r *Result) Remarks() []Remark {
	if r.Problem != nil {
		return append(r.aboutClipping(), Remark{true, "No response", "Nothing can be said: " + typeset(r.Problem.Error()) + ".", ""})
	}
	var wrong, fine []Remark
	for _, judge := range []func() []Remark{
		r.aboutError, r.aboutClipping, r.aboutNoise, r.aboutClock, r.aboutDirect, r.aboutReflection,
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

// typeset puts the sign for the hyphen before a number.
func typeset(s string) string { return negative.ReplaceAllString(s, "${1}−${2}") }

var negative = regexp.MustCompile(`(^|[\s(])-(\d)`)
