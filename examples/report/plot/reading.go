package plot

import (
	"math"
	"slices"
	"sort"
	"strings"
)

// reading is the value of a series at one position; NaN if not known.
type reading struct{ y, low, high float64 }

// cursor holds the data that the script needs to read the plot, as lists separated by commas: the
// positions, their names, and the values of each series.
type cursor struct {
	at, name []string
	x        []float64
}

// everyX returns the X values of all series on the axis, ascending.
func (f frame) everyX(series []Series) []float64 {
	var out []float64
	for _, s := range series {
		for _, x := range s.X {
			if f.x.holds(x) {
				out = append(out, x)
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// positions returns the X values at which the plot can be read: those of the series, thinned to one
// for each cell of the axis (cell in viewBox units). For an impulse it keeps the sample farthest
// from zero, so that its peak can be read; otherwise the one nearest the middle.
func (f frame) positions(series []Series, cell float64) []float64 {
	type candidate struct{ x, rank float64 }
	best := make([]candidate, int(f.width/cell)+1)
	for i := range best {
		best[i].rank = math.Inf(-1)
	}
	for _, s := range series {
		for i, x := range s.X {
			if !f.x.holds(x) {
				continue
			}
			at := max(f.atX(x)-f.left, 0)
			n := min(int(at/cell), len(best)-1)
			rank := -math.Abs(at - (float64(n)+0.5)*cell)
			if y := math.Abs(s.Y[i]); s.Kind == Impulse && finite(y) {
				rank = y
			}
			if rank > best[n].rank {
				best[n] = candidate{x, rank}
			}
		}
	}
	var out []float64
	for _, c := range best {
		if !math.IsInf(c.rank, -1) {
			out = append(out, c.x)
		}
	}
	return out
}

var nothing = reading{math.NaN(), math.NaN(), math.NaN()}

// at reads the series at x: its own value if it has one there, else the value on the drawn line
// between its neighbours. For separate points it returns the nearest one within near, in viewBox
// units.
func (f frame) at(s Series, x, near float64) reading {
	i := sort.SearchFloat64s(s.X, x)
	if s.Kind == Points {
		return f.nearest(s, x, i, near)
	}
	if i < len(s.X) && s.X[i] == x {
		return s.reading(i)
	}
	if i == 0 || i == len(s.X) {
		return nothing
	}
	a, b := s.reading(i-1), s.reading(i)
	t := (f.x.place(x) - f.x.place(s.X[i-1])) / (f.x.place(s.X[i]) - f.x.place(s.X[i-1]))
	return reading{f.between(a.y, b.y, t), f.between(a.low, b.low, t), f.between(a.high, b.high, t)}
}

func (f frame) nearest(s Series, x float64, i int, near float64) reading {
	found := nothing
	for _, j := range []int{i - 1, i} {
		if j < 0 || j >= len(s.X) {
			continue
		}
		if gap := math.Abs(f.atX(s.X[j]) - f.atX(x)); gap <= near {
			near, found = gap, s.reading(j)
		}
	}
	return found
}

func (s Series) reading(i int) reading {
	r := reading{s.Y[i], math.NaN(), math.NaN()}
	if s.Low != nil {
		r.low, r.high = s.Low[i], s.High[i]
	}
	return r
}

// between interpolates from a to b along the scale as drawn.
func (f frame) between(a, b, t float64) float64 {
	if !f.y.shows(a) || !f.y.shows(b) {
		return math.NaN()
	}
	if f.y.Log {
		return a * math.Pow(b/a, t)
	}
	return a + t*(b-a)
}

func (f frame) cursor(p Plot) cursor {
	const cell = 2
	c := cursor{x: f.positions(p.Series, cell)}
	if p.Raster != nil {
		c.x = slices.DeleteFunc(p.Raster.columns(p.X), func(x float64) bool { return !f.x.holds(x) })
	}
	for _, x := range c.x {
		c.at = append(c.at, string(appendTenths(nil, tenths(f.atX(x)))))
		c.name = append(c.name, listed(p.X.text(x)))
	}
	return c
}

// values returns the readings of one series at the positions of the cursor.
func (f frame) values(s Series, c cursor) (y, low, high string) {
	const near = 4
	ys, lows, highs := make([]string, len(c.x)), make([]string, len(c.x)), make([]string, len(c.x))
	for i, x := range c.x {
		r := f.at(s, x, near)
		ys[i], lows[i], highs[i] = f.y.number(r.y), f.y.number(r.low), f.y.number(r.high)
	}
	if s.Low == nil {
		return strings.Join(ys, ","), "", ""
	}
	return strings.Join(ys, ","), strings.Join(lows, ","), strings.Join(highs, ",")
}

// listed returns a text for a list separated by commas.
func listed(text string) string { return strings.ReplaceAll(text, ",", ";") }
