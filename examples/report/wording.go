package report

import (
	"fmt"
	"math"
	"regexp"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// Interval is like the function Interval, in this language.
func (l language) Interval(f response.Figure) string { return l.written(f, " "+l.Name(f.Unit)) }

// Value is like Interval without the unit.
func (l language) Value(f response.Figure) string { return l.written(f, "") }

func (l language) written(f response.Figure, unit string) string {
	switch {
	case !f.Known():
		return l.Text("page.not-known")
	case math.IsNaN(f.Uncertainty):
		return l.Text("page.uncertainty-not-known", l.Number("%.2f", f.Value)+unit)
	case f.Uncertainty == 0:
		return l.Number("%.4g", f.Value) + unit
	case !f.Even():
		low, high := f.Interval(confidence)
		decimals := max(0, 1-int(math.Floor(math.Log10((high-low)/2))))
		return fmt.Sprintf("%s%s (%s)", l.fixed(f.Value, decimals), unit,
			l.Text("page.from-to", l.fixed(low, decimals), l.fixed(high, decimals)))
	}
	half := halfWidth(f)
	decimals := max(0, 1-int(math.Floor(math.Log10(half))))
	return fmt.Sprintf("%s ± %s%s", l.fixed(f.Value, decimals), l.fixed(half, decimals), unit)
}

// Signed is like the function Signed without the unit.
func (l language) Signed(f response.Figure) string {
	switch {
	case !f.Known():
		return l.Text("page.not-known")
	case math.IsNaN(f.Uncertainty):
		return l.Number("%+.1f", f.Value)
	case f.Value > 0:
		return "+" + l.Value(f)
	}
	return l.Value(f)
}

// Share is like the function Share without the unit.
func (l language) Share(f response.Figure) string {
	if !f.Known() {
		return l.Text("page.not-known")
	}
	text := fmt.Sprintf("%.0f", 100*f.Value)
	if low, high := f.Interval(confidence); 100*(high-low) >= 1 {
		text += " (" + l.Text("page.from-to", l.fixed(100*low, 0), l.fixed(100*high, 0)) + ")"
	}
	return text
}

// AtMost is like Interval for a figure that is never negative. If the interval includes zero, it
// states only the upper limit.
func (l language) AtMost(f response.Figure) string {
	half := halfWidth(f)
	low, high := f.Interval(confidence)
	switch {
	case !f.Known():
		return l.Text("page.not-known")
	case f.Value < half || low <= 0:
		return l.Text("page.no-more", high, l.Name(f.Unit))
	case math.IsNaN(half) && f.Value < 0.005:
		return l.Text("page.less")
	}
	return l.Interval(f)
}

// hours formats a length of time in everyday words.
func (l language) hours(h float64) string {
	switch {
	case math.IsNaN(h):
		return l.Text("page.not-known")
	case h >= 10:
		return l.Text("page.hours", h)
	case h >= 1:
		return l.Text("page.hours-1", h)
	default:
		return l.Text("page.minutes", 60*h)
	}
}

// Tolerance formats a constant tolerance as "±3 dB", and any other as varying.
func (l language) Tolerance(t target.Tolerance) string {
	above, below := t.Above.At(1000), t.Below.At(1000)
	for _, f := range []float64{20, 100, 10000, 20000} {
		if t.Above.At(f) != above || t.Below.At(f) != below {
			return l.Text("deviation.varies")
		}
	}
	if above == below {
		return l.Number("±%.3g dB", above)
	}
	return l.Number("+%.3g", above) + l.Number("/−%.3g dB", below)
}

// Interval formats a figure with half of its 95 % interval. The interval has two significant
// digits, and the value the same decimals (JCGM 100:2008, 7.2.6). If the interval is not
// symmetrical, both ends are in brackets.
func Interval(f response.Figure) string { return english.Interval(f) }

// Signed formats a level in dB with its sign and its 95 % interval. If the interval is not known,
// it gives only the level; the rms beside it says so.
func Signed(f response.Figure) string { return english.Signed(f) + " dB" }

// Share formats a share in per cent, with its 95 % interval if that is known and at least one per
// cent wide.
func Share(f response.Figure) string { return english.Share(f) + " %" }

var (
	negative   = regexp.MustCompile(`(^|[\s(±])-(\d)`)
	within     = regexp.MustCompile(`(\d) ± (\d)`)
	united     = regexp.MustCompile(`(\d) ((?:dB|dBFS|Hz|kHz|ms|s|h|min|m)\b|%|Ω)`)
	apostrophe = regexp.MustCompile(`(\pL)'`)
	quoted     = regexp.MustCompile(`"([^"]*)"`)
)

// minus replaces the hyphen before a number by a minus sign.
func minus(text string) string { return negative.ReplaceAllString(text, "${1}−${2}") }

// typeset is like minus. It also keeps a number, its interval and its unit on one line, and uses
// typographic apostrophes and quotation marks.
func typeset(text string) string {
	text = united.ReplaceAllString(minus(text), "${1}\u00a0${2}")
	text = within.ReplaceAllString(text, "${1}\u00a0±\u00a0${2}")
	text = quoted.ReplaceAllString(text, "“${1}”")
	return apostrophe.ReplaceAllString(text, "${1}’")
}
