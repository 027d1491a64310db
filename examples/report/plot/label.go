package plot

import "math"

// label is the name of a curve, written on the plot beside it.
type label struct {
	X, Y float64 // middle, and baseline
	Text string
}

type box struct{ left, top, right, bottom float64 }

func (b box) meets(o box) bool {
	return b.left < o.right && o.left < b.right && b.top < o.bottom && o.top < b.bottom
}

// contour holds the top and bottom of a curve in each column of the viewBox; +Inf and −Inf where
// there is no curve.
type contour [viewWidth + 1]struct{ top, bottom float64 }

func (c *contour) segment(a, b point) {
	for x := max(0, int(a.x)); x <= min(viewWidth, int(b.x)); x++ {
		for _, end := range []float64{float64(x), float64(x + 1)} {
			y := b.y
			if b.x > a.x {
				y = a.y + (b.y-a.y)*math.Max(0, math.Min(1, (end-a.x)/(b.x-a.x)))
			}
			c[x].top, c[x].bottom = min(c[x].top, y), max(c[x].bottom, y)
		}
	}
}

// within returns the range of the curve over some columns; whole reports whether the curve is in
// all of them.
func (c *contour) within(left, right float64) (top, bottom float64, whole bool) {
	top, bottom, whole = math.Inf(1), math.Inf(-1), true
	for x := max(0, int(left)); x <= min(viewWidth, int(right)); x++ {
		whole = whole && c[x].top <= c[x].bottom
		top, bottom = min(top, c[x].top), max(bottom, c[x].bottom)
	}
	return top, bottom, whole
}

// meets reports whether the curve comes close to a box.
func (c *contour) meets(b box) bool {
	const air = 9
	top, bottom, _ := c.within(b.left-air, b.right+air)
	return top < b.bottom+air && b.top < bottom+air
}

func (f frame) contours(series []Series) []*contour {
	out := make([]*contour, len(series))
	for i, s := range series {
		out[i] = f.contour(s)
	}
	return out
}

func (f frame) contour(s Series) *contour {
	c := new(contour)
	for i := range c {
		c[i].top, c[i].bottom = math.Inf(1), math.Inf(-1)
	}
	for _, run := range f.runs(s.X, s.Y) {
		for i := range run {
			c.segment(run[max(i-1, 0)], run[i])
		}
	}
	return c
}

// labels finds a place for the name of each series, beside a part of its curve that is away from
// other curves, names and unknown stretches. A name without a place is only in the legend. A plot
// of one series needs no names.
func (f frame) labels(p Plot, contours []*contour) []*label {
	out := make([]*label, len(p.Series))
	if len(p.Series) < 2 {
		return out
	}
	var taken []box
	for _, u := range p.Unknown {
		taken = append(taken, box{f.atX(max(u.From, p.X.Min)), f.top, f.atX(min(u.To, p.X.Max)), f.bottom()})
	}
	for i, s := range p.Series {
		if s.Kind == Points || s.Kind == Impulse || s.Name == "" {
			continue
		}
		if b, ok := f.clear(textWidth(plain(s.Name), smallText), i, contours, taken); ok {
			taken = append(taken, b)
			out[i] = &label{X: (b.left + b.right) / 2, Y: b.bottom - 4, Text: plain(s.Name)}
		}
	}
	return out
}

// clear searches from the right for a flat piece of curve with room above or below, and takes the
// flattest piece if none is flat.
func (f frame) clear(width float64, own int, contours []*contour, taken []box) (best box, ok bool) {
	const tall, air, flat, steep = 18, 5, 10, 50
	flattest := math.Inf(1)
	for left := f.right() - width - 10; left >= f.left+10; left -= 12 {
		top, bottom, whole := contours[own].within(left, left+width)
		rise := bottom - top
		if !whole || rise > steep || rise >= flattest {
			continue
		}
		for _, y := range []float64{top - air - tall, bottom + air} {
			b := box{left, y, left + width, y + tall}
			named := box{left, min(y, top), left + width, max(b.bottom, bottom)} // with the piece of curve it stands by
			if y < f.top+2 || b.bottom > f.bottom()-2 || !free(named, own, contours, taken) {
				continue
			}
			best, ok, flattest = b, true, rise
			break
		}
		if flattest <= flat {
			break
		}
	}
	return best, ok
}

func free(b box, own int, contours []*contour, taken []box) bool {
	for _, t := range taken {
		if b.meets(t) {
			return false
		}
	}
	for i, c := range contours {
		if i != own && c.meets(b) {
			return false
		}
	}
	return true
}
