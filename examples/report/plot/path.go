package plot

import (
	"math"
	"strconv"
)

// point is a position in the viewBox.
type point struct{ x, y float64 }

// pathData writes the data of an SVG path, with tenths of a unit as the
// finest step. Lengths are counted in tenths, so that relative steps add up.
type pathData struct {
	text []byte
	x, y int // where the pen is, in tenths
}

func (d *pathData) move(p point) {
	d.x, d.y = tenths(p.x), tenths(p.y)
	d.command('M', d.x, d.y)
}

func (d *pathData) line(p point) {
	x, y := tenths(p.x), tenths(p.y)
	if x == d.x && y == d.y {
		return
	}
	d.command('l', x-d.x, y-d.y)
	d.x, d.y = x, y
}

func (d *pathData) close() { d.text = append(d.text, 'z') }

func (d *pathData) command(letter byte, x, y int) {
	d.text = append(d.text, letter)
	d.text = appendTenths(d.text, x)
	if y >= 0 {
		d.text = append(d.text, ' ')
	}
	d.text = appendTenths(d.text, y)
}

func (d *pathData) polyline(points []point) {
	for i, p := range points {
		if i == 0 {
			d.move(p)
		} else {
			d.line(p)
		}
	}
}

func (d *pathData) String() string { return string(d.text) }

// runs turns values over X into unbroken lines. A value that is not known or cannot be shown on a
// logarithmic axis ends a run. The nearest point beyond each end of the X axis is kept, so that a
// line leaves the frame at the right place.
func (f frame) runs(x, values []float64) [][]point {
	var all [][]point
	var run []point
	end := func() {
		if run != nil {
			all = append(all, run)
			run = nil
		}
	}
	from, to := visible(f.x, x)
	for i := from; i < to; i++ {
		if !f.x.shows(x[i]) || !f.y.shows(values[i]) {
			end()
			continue
		}
		run = append(run, point{f.atX(x[i]), f.atY(values[i])})
	}
	end()
	return all
}

// curve returns the line of a series, and small markers for single points that no line can show.
func (f frame) curve(s Series) (line, lone string) {
	var lines, dots pathData
	for _, run := range f.runs(s.X, s.Y) {
		if len(run) == 1 {
			styles[s.Style].draw(&dots, run[0], 0.6)
			continue
		}
		lines.polyline(decimate(run))
	}
	return lines.String(), dots.String()
}

// area returns the area between the curve and the foot of the frame.
func (f frame) area(s Series) string {
	var d pathData
	for _, run := range f.runs(s.X, s.Y) {
		d.move(point{run[0].x, f.bottom()})
		for _, p := range decimate(run) {
			d.line(p)
		}
		d.line(point{run[len(run)-1].x, f.bottom()})
		d.close()
	}
	return d.String()
}

// band returns the area between Low and High, where both are known.
func (f frame) band(s Series) string {
	low, high := make([]float64, len(s.X)), make([]float64, len(s.X))
	for i := range s.X {
		low[i], high[i] = s.Low[i], s.High[i]
		if !f.y.shows(low[i]) || !f.y.shows(high[i]) {
			low[i], high[i] = math.NaN(), math.NaN()
		}
	}
	tops, feet := f.runs(s.X, high), f.runs(s.X, low)
	var d pathData
	for i := range tops {
		d.polyline(decimate(tops[i]))
		under := decimate(feet[i])
		for j := len(under) - 1; j >= 0; j-- {
			d.line(under[j])
		}
		d.close()
	}
	return d.String()
}

// bars returns vertical lines from Low to High at each value.
func (f frame) bars(s Series) string {
	var d pathData
	for i, x := range s.X {
		if f.x.holds(x) && f.y.shows(s.Low[i]) && f.y.shows(s.High[i]) {
			d.move(point{f.atX(x), f.atY(s.Low[i])})
			d.line(point{f.atX(x), f.atY(s.High[i])})
		}
	}
	return d.String()
}

// hanging returns the ticks below a bound, which mean that the value is here or lower.
func (f frame) hanging(s Series) string {
	const every, long = 14, 8
	var d pathData
	for _, run := range f.runs(s.X, s.Y) {
		for _, p := range along(run, every) {
			d.move(p)
			d.line(point{p.x, p.y + long})
		}
	}
	return d.String()
}

// markers draws the style's shape at each value of a set of points, or at intervals along a curve
// whose style has markers.
func (f frame) markers(s Series) string {
	var d pathData
	for _, run := range f.runs(s.X, s.Y) {
		if s.Kind != Points {
			run = along(run, 56)
		}
		for _, p := range run {
			styles[s.Style].draw(&d, p, 1)
		}
	}
	return d.String()
}

// stems returns lines from zero to each sample.
func (f frame) stems(s Series) string {
	var d pathData
	for _, run := range f.runs(s.X, s.Y) {
		for _, p := range run {
			d.move(point{p.x, f.atY(0)})
			d.line(p)
		}
	}
	return d.String()
}

// visible returns the range of indices on the axis, and one more on each side.
func visible(a Axis, x []float64) (from, to int) {
	to = len(x)
	for from+1 < to && x[from+1] < a.Min {
		from++
	}
	for to-2 >= from && x[to-2] > a.Max {
		to--
	}
	return from, to
}

// decimate keeps the first, lowest, highest and last point of each column one unit wide. The drawn
// line is the same, and no peak is lost.
func decimate(run []point) []point {
	kept := make([]point, 0, min(len(run), 4*viewWidth))
	for i := 0; i < len(run); {
		j := i + 1
		for j < len(run) && math.Floor(run[j].x) == math.Floor(run[i].x) {
			j++
		}
		kept = append(kept, extremes(run[i:j])...)
		i = j
	}
	return kept
}

func extremes(column []point) []point {
	if len(column) <= 4 {
		return column
	}
	low, high := 0, 0
	for i, p := range column {
		if p.y < column[low].y {
			low = i
		}
		if p.y > column[high].y {
			high = i
		}
	}
	kept := []point{column[0]}
	for _, i := range []int{min(low, high), max(low, high), len(column) - 1} {
		if p := column[i]; p != kept[len(kept)-1] {
			kept = append(kept, p)
		}
	}
	return kept
}

func tenths(v float64) int { return int(math.Round(v * 10)) }

func appendTenths(dst []byte, n int) []byte {
	return strconv.AppendFloat(dst, float64(n)/10, 'f', -1, 64)
}

// along returns points on the line at equal steps of x.
func along(run []point, every float64) []point {
	var out []point
	next := math.Inf(-1)
	for i := 1; i < len(run); i++ {
		a, b := run[i-1], run[i]
		if math.IsInf(next, -1) {
			next = max(a.x, 0) + every/2
		}
		for b.x > a.x && next <= min(b.x, viewWidth) {
			out = append(out, point{next, a.y + (b.y-a.y)*(next-a.x)/(b.x-a.x)})
			next += every
		}
	}
	return out
}
