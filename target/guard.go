package target

import (
	"math"

	"example.com/earnest/response"
)

// Answer is what a measurement says to a question of yes or no.
type Answer int

// The answers. Not to know is one of them.
const (
	CannotTell Answer = iota
	Yes
	No
)

// String is "yes", "no" or "cannot tell".
func (a Answer) String() string {
	switch a {
	case Yes:
		return "yes"
	case No:
		return "no"
	}
	return "cannot tell"
}

// Decide tells whether a quantity lies between two limits, either of which may
// be infinite, by a decision rule with guard bands (JCGM 106:2012, 8.3, from
// memory): with the guard band w = t·Uncertainty, t the one-sided quantile of
// Student's t for the confidence asked for,
//
//	Yes         low + w ≤ Value ≤ high − w
//	No          Value < low − w or Value > high + w
//	CannotTell  in between, or where value or uncertainty is not known
//
// and with the ends of its one-sided intervals where a figure's interval does not lie evenly about it,
// so that neither a wrong yes nor a wrong no is likelier than 1 − confidence. It
// panics unless 0 < confidence < 1.
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
