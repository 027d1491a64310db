package plot

import (
	"math"
	"strings"
	"unicode/utf8"
)

// All lengths are units of the viewBox, which is 720 wide and scaled to the
// page. Text is 15 units tall on a desk and 25 on a telephone (plot.css), so
// the margins are made for 25.
const (
	viewWidth  = 720
	smallText  = 15
	largeText  = 25
	runeWidth  = 0.64 // of the text size: a digit in the widest of the usual sans-serif faces
	minusWidth = 0.2  // extra width of a minus sign
	plotHeight = 300  // if no proportion is prescribed
	minHeight  = 60
	maxHeight  = 1400
	topMargin  = 48
	foot       = 80
)

// frame is the rectangle the curves are drawn in, and the scales on it.
type frame struct {
	x, y                     Axis
	left, top, width, height float64
	xTicks, yTicks           []Tick
}

func newFrame(p Plot) frame {
	f := frame{x: p.X, y: p.Y, top: topMargin, height: plotHeight}
	if p.Height > 0 {
		f.height = p.Height
	}
	const gap = 14
	tall := func(string) float64 { return largeText * 1.2 }
	wide := func(s string) float64 { return textWidth(s, largeText) + gap }

	right := wide("20k") / 2
	widest := 0.0
	// The labels of Y depend on the height, the height on the width, and the width on the labels.
	// So the widest label is found with a first height, and the ticks with the final one.
	for range 2 {
		f.yTicks = p.Y.ticks(f.height, tall)
		for _, t := range f.yTicks {
			widest = max(widest, textWidth(t.Label, largeText))
		}
		f.left = max(widest+gap, 52)
		f.width = viewWidth - f.left - right
		if p.proportional() {
			f.height = (p.Y.Max - p.Y.Min) / p.proportion() * f.width / p.X.decades()
		}
	}
	f.yTicks = p.Y.ticks(f.height, tall)
	f.xTicks = p.X.ticks(f.width, wide)
	return f
}

func (f frame) right() float64 { return f.left + f.width }

func (f frame) bottom() float64 { return f.top + f.height }

func (f frame) total() float64 { return f.bottom() + foot }

func (f frame) atX(v float64) float64 { return f.left + f.x.place(v)*f.width }

// atY limits positions to a few heights beyond the frame, where they are clipped, so that
// coordinates stay short.
func (f frame) atY(v float64) float64 {
	beyond := 20 * f.height
	return f.bottom() - math.Max(-beyond, math.Min(beyond, f.y.place(v)*f.height))
}

// proportional reports whether the height of the plot follows IEC 60263, as for a level over
// frequency without a height of its own.
func (p Plot) proportional() bool {
	return p.Height == 0 && p.X.Log && p.X.Unit == "Hz" && !p.Y.Log && strings.HasPrefix(p.Y.Unit, "dB")
}

func (p Plot) proportion() float64 {
	if p.DecibelsPerDecade == 0 {
		return 25
	}
	return p.DecibelsPerDecade
}

func textWidth(s string, size float64) float64 {
	return (float64(utf8.RuneCountInString(s))*runeWidth + float64(strings.Count(s, "−"))*minusWidth) * size
}
