package report

import (
	"fmt"
	"math"
	"regexp"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Interval is a figure as the page has it: with half of the interval that holds the true value with
// 95 % confidence, to two significant digits, which decide how many the value has (JCGM 100:2008,
// 7.2.6); or with both ends in brackets, where these do not lie evenly about it.
func Interval(f response.Figure) string { return written(f, " "+f.Unit) }

// value is Interval without the unit.
func value(f response.Figure) string { return written(f, "") }

func written(f response.Figure, unit string) string {
	switch {
	case !f.Known():
		return "not known"
	case math.IsNaN(f.Uncertainty):
		return minus(fmt.Sprintf("%.2f%s (uncertainty not known)", f.Value, unit))
	case f.Uncertainty == 0:
		return minus(fmt.Sprintf("%.4g%s", f.Value, unit))
	case !f.Even():
		low, high := f.Interval(confidence)
		decimals := max(0, 1-int(math.Floor(math.Log10((high-low)/2))))
		return minus(fmt.Sprintf("%.*f%s (%.*f to %.*f)", decimals, f.Value, unit, decimals, low, decimals, high))
	}
	half := halfWidth(f)
	decimals := max(0, 1-int(math.Floor(math.Log10(half))))
	return minus(fmt.Sprintf("%.*f ± %.*f%s", decimals, f.Value, decimals, half, unit))
}

// Signed is a level in dB with its sign and its 95 % interval. Where that is not known it is the
// level alone: the rms that it stands beside says so.
func Signed(f response.Figure) string { return signed(f) + " dB" }

// signed is Signed without the unit.
func signed(f response.Figure) string {
	switch {
	case !f.Known():
		return "not known"
	case math.IsNaN(f.Uncertainty):
		return minus(fmt.Sprintf("%+.1f", f.Value))
	case f.Value > 0:
		return "+" + value(f)
	}
	return value(f)
}

// Share is a part of the whole in per cent with its 95 % interval, where that is known and at least
// one per cent wide, since nobody needs tenths.
func Share(f response.Figure) string { return share(f) + " %" }

// share is Share without the unit.
func share(f response.Figure) string {
	if !f.Known() {
		return "not known"
	}
	text := fmt.Sprintf("%.0f", 100*f.Value)
	if low, high := f.Interval(confidence); 100*(high-low) >= 1 {
		text += fmt.Sprintf(" (%.0f to %.0f)", 100*low, 100*high)
	}
	return text
}

// atMost is Interval for a figure that is never negative: what lies within its own uncertainty of
// zero is no more than that.
func atMost(f response.Figure) string {
	half := halfWidth(f)
	low, high := f.Interval(confidence)
	switch {
	case !f.Known():
		return "not known"
	case f.Value < half || low <= 0:
		return fmt.Sprintf("no more than %.2g %s", high, f.Unit)
	case math.IsNaN(half) && f.Value < 0.005:
		return "less than this measurement can tell"
	}
	return Interval(f)
}

// hours is a length of time as a person says it.
func hours(h float64) string {
	switch {
	case math.IsNaN(h):
		return "not known"
	case h >= 10:
		return fmt.Sprintf("%.0f h", h)
	case h >= 1:
		return fmt.Sprintf("%.1f h", h)
	default:
		return fmt.Sprintf("%.0f min", 60*h)
	}
}

// toleranceWords says a tolerance that is the same at 1 kHz and everywhere as
// "±3 dB", and any other as varying.
func toleranceWords(t target.Tolerance) string {
	above, below := t.Above.At(1000), t.Below.At(1000)
	for _, f := range []float64{20, 100, 10000, 20000} {
		if t.Above.At(f) != above || t.Below.At(f) != below {
			return "varies with frequency"
		}
	}
	if above == below {
		return fmt.Sprintf("±%.3g dB", above)
	}
	return fmt.Sprintf("+%.3g/−%.3g dB", above, below)
}

var (
	negative   = regexp.MustCompile(`(^|[\s(±])-(\d)`)
	within     = regexp.MustCompile(`(\d) ± (\d)`)
	united     = regexp.MustCompile(`(\d) ((?:dB|dBFS|Hz|kHz|ms|s|h|min|m)\b|%|Ω)`)
	apostrophe = regexp.MustCompile(`(\pL)'`)
	quoted     = regexp.MustCompile(`"([^"]*)"`)
)

// minus puts the sign of a negative number for the hyphen that a keyboard has.
func minus(text string) string { return negative.ReplaceAllString(text, "${1}−${2}") }

// typeset is minus, keeps a number, its interval and its unit in one line, and sets
// apostrophes and quotation marks as print has them.
func typeset(text string) string {
	text = united.ReplaceAllString(minus(text), "${1}\u00a0${2}")
	text = within.ReplaceAllString(text, "${1}\u00a0±\u00a0${2}")
	text = quoted.ReplaceAllString(text, "“${1}”")
	return apostrophe.ReplaceAllString(text, "${1}’")
}
