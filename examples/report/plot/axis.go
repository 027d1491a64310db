package plot

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.com/earnest/response"
)

const (
	maxDecades = 12
	maxLabel   = 48 // characters of an axis label that fit on a telephone
)

// Axis is one of the two axes, from Min to Max. Label and Unit are written together, "Level, dB".
type Axis struct {
	Label, Unit string
	Min, Max    float64
	Log         bool
	// Ticks replaces the default ticks: 1, 2 and 5 in each decade of a logarithmic axis, round
	// steps on a linear one.
	Ticks []Tick
}

// Frequency returns a logarithmic frequency axis from low to high, in Hz.
func Frequency(low, high float64) Axis {
	return Axis{Label: "Frequency", Unit: "Hz", Min: low, Max: high, Log: true}
}

func (a Axis) check() error {
	switch {
	case !finite(a.Max-a.Min) || a.Min >= a.Max:
		return fmt.Errorf("%w: it runs from %g to %g; give finite limits with Min below Max", ErrAxis, a.Min, a.Max)
	case a.Log && a.Min <= 0:
		return fmt.Errorf("%w: it is logarithmic and begins at %g; begin above zero", ErrAxis, a.Min)
	case a.Log && math.Log10(a.Max)-math.Log10(a.Min) > maxDecades:
		return fmt.Errorf("%w: %g to %g is more than %d decades", ErrAxis, a.Min, a.Max, maxDecades)
	case !a.Log && a.Max-a.Min < 1e-9*max(math.Abs(a.Min), math.Abs(a.Max)):
		return fmt.Errorf("%w: %g to %g is too narrow to label", ErrAxis, a.Min, a.Max)
	case len([]rune(a.title())) > maxLabel:
		return fmt.Errorf("%w: its label %q has more than %d characters and would not fit on a telephone",
			ErrAxis, a.title(), maxLabel)
	}
	return nil
}

func (a Axis) title() string {
	if a.Unit == "" {
		return plain(a.Label)
	}
	return plain(a.Label + ", " + a.Unit)
}

// holds reports whether v is known and between the ends, within rounding.
func (a Axis) holds(v float64) bool {
	const rounding = 1e-9
	if a.Min <= v && v <= a.Max {
		return true
	}
	at := a.place(v)
	return a.shows(v) && -rounding <= at && at <= 1+rounding
}

// shows reports whether v has a position, on the axis or beyond its ends.
func (a Axis) shows(v float64) bool { return finite(v) && (!a.Log || v > 0) }

// place returns the position of v: 0 at Min, 1 at Max.
func (a Axis) place(v float64) float64 {
	if a.Log {
		return (math.Log10(v) - math.Log10(a.Min)) / (math.Log10(a.Max) - math.Log10(a.Min))
	}
	return (v - a.Min) / (a.Max - a.Min)
}

func (a Axis) decades() float64 { return math.Log10(a.Max) - math.Log10(a.Min) }

// ticks returns the lines and labels of an axis that is length units long; room returns the length
// of a label.
func (a Axis) ticks(length float64, room func(label string) float64) []Tick {
	if a.Ticks != nil {
		var inside []Tick
		for _, t := range a.Ticks {
			if a.holds(t.At) {
				t.Label = plain(t.Label)
				inside = append(inside, t)
			}
		}
		return inside
	}
	if a.Log {
		if ticks := a.logTicks(length, room); len(ticks) >= 3 {
			return ticks
		}
	}
	return a.roundTicks(length, room)
}

// logTicks returns lines at 1, 2 and 5 in each decade, and as many labels as there is room for, the
// most important first.
func (a Axis) logTicks(length float64, room func(string) float64) []Tick {
	var ticks []Tick
	for e := int(math.Floor(math.Log10(a.Min))); e <= int(math.Ceil(math.Log10(a.Max))); e++ {
		for _, m := range []float64{1, 2, 5} {
			v := powerOfTen(m, e)
			if v >= a.Min*(1-1e-9) && v <= a.Max*(1+1e-9) {
				ticks = append(ticks, Tick{At: v, Strong: m == 1})
			}
		}
	}
	for _, m := range []int{1, 2, 5} {
		for i := range ticks {
			if leading(ticks[i].At) == m {
				a.labelIfRoom(ticks, i, length, room)
			}
		}
	}
	return ticks
}

func (a Axis) labelIfRoom(ticks []Tick, i int, length float64, room func(string) float64) {
	label := a.tickLabel(ticks[i].At, -1)
	for _, other := range ticks {
		gap := math.Abs(a.place(other.At)-a.place(ticks[i].At)) * length
		if other.Label != "" && gap < (room(other.Label)+room(label))/2 {
			return
		}
	}
	ticks[i].Label = label
}

// roundTicks returns multiples of 1, 2 or 5 times a power of ten, the closest for which the labels
// have room.
func (a Axis) roundTicks(length float64, room func(string) float64) []Tick {
	span := a.Max - a.Min
	for e := int(math.Floor(math.Log10(span))) - 3; ; e++ {
		for _, m := range []float64{1, 2, 5} {
			step := powerOfTen(m, e)
			if step >= span {
				return []Tick{{At: a.Min, Label: a.tickLabel(a.Min, -1)}, {At: a.Max, Label: a.tickLabel(a.Max, -1)}}
			}
			if step*length < span*room("0") {
				continue // no label is shorter
			}
			if ticks := a.multiples(step, max(0, -e)); a.fit(ticks, length, room) {
				return ticks
			}
		}
	}
}

func (a Axis) multiples(step float64, decimals int) []Tick {
	first := math.Ceil(a.Min/step - 1e-9)
	count := int(math.Floor(a.Max/step+1e-9)-first) + 1
	ticks := make([]Tick, 0, count)
	for k := range count {
		v := (first + float64(k)) * step
		ticks = append(ticks, Tick{At: v, Label: a.tickLabel(v, decimals)})
	}
	return ticks
}

func (a Axis) fit(ticks []Tick, length float64, room func(string) float64) bool {
	for i := 1; i < len(ticks); i++ {
		gap := (a.place(ticks[i].At) - a.place(ticks[i-1].At)) * length
		if gap < (room(ticks[i-1].Label)+room(ticks[i].Label))/2 {
			return false
		}
	}
	return true
}

// tickLabel formats a value in the usual way: frequencies 500, 1k, 20k; others as plain decimals.
// Negative decimals means as many as needed.
func (a Axis) tickLabel(v float64, decimals int) string {
	if a.Unit == "Hz" && math.Abs(v) >= 1000 {
		return Minus(strconv.FormatFloat(round(v/1000, 12), 'f', -1, 64)) + "k"
	}
	if decimals < 0 {
		return Minus(strconv.FormatFloat(round(v, 12), 'f', -1, 64))
	}
	return Minus(strconv.FormatFloat(v, 'f', decimals, 64))
}

// number writes a value to about a four-hundredth of the axis, or to three
// digits on a logarithmic one; empty when not known.
func (a Axis) number(v float64) string {
	if !finite(v) {
		return ""
	}
	decimals := int(math.Ceil(-math.Log10((a.Max - a.Min) / 400)))
	if a.Log && v != 0 {
		decimals = 2 - int(math.Floor(math.Log10(math.Abs(v))))
	}
	text := strconv.FormatFloat(v, 'f', min(max(decimals, 0), 12), 64)
	if strings.Trim(text, "-0.") == "" {
		text = strings.TrimPrefix(text, "-")
	}
	return text
}

// text returns the value with its unit.
func (a Axis) text(v float64) string {
	switch {
	case !finite(v):
		return "not known"
	case a.Unit == "Hz":
		return Minus(response.FormatFrequency(v))
	case a.Unit == "":
		return Minus(a.number(v))
	}
	return Minus(a.number(v)) + "\u00a0" + plain(a.Unit)
}

// Tick is a line of the grid. Label may be empty; Strong lines are the decades.
type Tick struct {
	At     float64
	Label  string
	Strong bool
}

// Span returns the smallest range between multiples of step that holds every
// known value of the series on the X axis, with its uncertainty. It is at least
// one step wide, and 0 to step when nothing is known. Step must be positive.
func Span(x Axis, step float64, series ...Series) (low, high float64) {
	if !(step > 0) {
		panic("plot: Span: step must be positive")
	}
	least, most := math.Inf(1), math.Inf(-1)
	for _, s := range series {
		s.mustMatch()
		for i := range s.X {
			if !x.holds(s.X[i]) {
				continue
			}
			for _, values := range [][]float64{s.Y, s.Low, s.High} {
				if values != nil && finite(values[i]) {
					least, most = min(least, values[i]), max(most, values[i])
				}
			}
		}
	}
	if least > most {
		return 0, step
	}
	low, high = step*math.Floor(least/step), step*math.Ceil(most/step)
	if low == high {
		high += step
	}
	return low, high
}

// Minus replaces the hyphen of a printed number by a minus sign.
func Minus(s string) string { return strings.Replace(s, "-", "−", 1) }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// powerOfTen is m·10^e, the double nearest to the decimal.
func powerOfTen(m float64, e int) float64 {
	v, _ := strconv.ParseFloat(fmt.Sprintf("%ge%d", m, e), 64)
	return v
}

func leading(v float64) int { return int(strconv.FormatFloat(v, 'e', 0, 64)[0] - '0') }

// round rounds to a number of significant digits.
func round(v float64, digits int) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', digits, 64), 64)
	return r
}
