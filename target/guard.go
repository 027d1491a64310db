package target

import (
	"math"

	"example.com/earnest/response"
)

// Answer is the answer of a measurement to a yes-or-no question.
type Answer int

// Decide reports whether a quantity lies between two limits, either of which may be infinite, by a
// decision rule with guard bands (JCGM 106:2012, 8.3, from memory). With the guard band w =
// t·Uncertainty, t the one-sided quantile of Student's t for the confidence asked for,
//
//	Yes         low + w ≤ Value ≤ high − w
//	No          Value < low − w or Value > high + w
//	CannotTell  in between, or if value or uncertainty is not known
//
// If the interval of a figure is not symmetric about it, the ends of its one-sided intervals take
// the place of Value ± w. So neither a wrong yes nor a wrong no is likelier than 1 − confidence.
// Decide panics unless 0 < confidence < 1.
func Decide(f response.Figure, low, high, confidence float64) Answer {
	guard := f.Coverage(confidence) * f.Uncertainty
	if !f.Known() || math.IsNaN(guard) {
		return CannotTell
	}
	least, most := f.Value-guard, f.Value+guard
	if !f.Even() && confidence > 0.5 {
		least, most = f.Interval(2*confidence - 1)
	}
	switch {
	case most < low || least > high:
		return No
	case least >= low && most <= high:
		return Yes
	}
	return CannotTell
}

// The answers. CannotTell is one of them.
const (
	CannotTell Answer = iota
	Yes
	No
)

// String returns "yes", "no" or "cannot tell".
func (a Answer) String() string {
	switch a {
	case Yes:
		return "yes"
	case No:
		return "no"
	}
	return "cannot tell"
}
