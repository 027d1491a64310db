package plot

import (
	"encoding/base64"
	"fmt"
	"image/color"
	"image/png"
	"io"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	vgdraw "gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Picture holds the options for drawing a plot to a file.
type Picture struct {
	// Format is "svg" or "png".
	Format string
	// Column is the width of a column in print, 85 mm, in 300 dots an inch; otherwise the picture
	// is for video, 1920 x 1080 pixels with large type.
	Column bool
	Dark   bool
	// Line is the text below the picture: the rig and the date.
	Line string
}

// painter draws one picture. Lengths are points; places of the frame run downwards, as in SVG.
type painter struct {
	vgdraw.Canvas
	frame
	height, text float64 // of the picture, and of the type
	stroke       float64 // width of a line of weight 1
	theme        theme
	dark         bool
}

// place sets the frame. The range of Y grows until a decade has the length of IEC 60263. If 50 dB
// are not enough, the frame is narrower.
func (d *painter) place(p *Plot, width, rows float64) {
	t := d.text
	d.frame = frame{x: p.X, y: p.Y, top: 4.2 * t, height: d.height - (4.2+4.4+1.5*rows)*t}
	tall, wide := func(string) float64 { return 1.4 * t }, func(s string) float64 { return textWidth(s, t) + t }
	widest := 0.0
	for _, tick := range p.Y.ticks(d.frame.height, tall) {
		widest = max(widest, textWidth(tick.Label, t))
	}
	d.left = widest + 1.6*t
	d.width = width - d.left - 2*t
	if p.proportional() {
		decade, needed := 50.0, (p.Y.Max-p.Y.Min)*d.width/d.frame.height/p.X.decades()
		for _, one := range []float64{25, 10} {
			if one >= needed {
				decade = one
			}
		}
		if more := (decade/needed - 1) * (p.Y.Max - p.Y.Min); more >= 0 {
			p.Y.Min, p.Y.Max = p.Y.Min-more/2, p.Y.Max+more/2
		} else {
			d.width *= decade / needed
		}
		d.y = p.Y
	}
	d.yTicks, d.xTicks = p.Y.ticks(d.frame.height, tall), p.X.ticks(d.width, wide)
}

func (d *painter) at(x, y float64) vg.Point {
	return vg.Point{X: vg.Length(x), Y: vg.Length(d.height - y)}
}

// rectangle draws a rectangle from its upper left corner.
func (d *painter) rectangle(colour string, alpha uint8, x, y, width, height float64) {
	d.FillPolygon(hex(colour, alpha), []vg.Point{d.at(x, y), d.at(x+width, y), d.at(x+width, y+height), d.at(x, y+height)})
}

func (d *painter) line(colour string, width float64, dashes []vg.Length, points ...point) {
	style := vgdraw.LineStyle{Color: hex(colour, 255), Width: vg.Length(width * d.stroke), Dashes: dashes}
	var line []vg.Point
	for _, p := range points {
		line = append(line, d.at(p.x, p.y))
	}
	within := vgdraw.Canvas{Canvas: d.Canvas.Canvas,
		Rectangle: vg.Rectangle{Min: d.at(d.left, d.bottom()), Max: d.at(d.right(), d.top)}}
	within.StrokeLines(style, within.ClipLinesXY(line)...)
}

// write draws a text at a position: align is 0 for text that begins there, 0.5 for centred text and
// 1 for text that ends there.
func (d *painter) write(text string, size float64, colour string, x, y, align float64) {
	face := font.From(plot.DefaultFont, vg.Length(size))
	face.Variant = "Sans"
	style := vgdraw.TextStyle{Color: hex(colour, 255), Font: face, XAlign: vgdraw.XAlignment(-align), YAlign: -0.5,
		Handler: plot.DefaultTextHandler}
	d.FillText(style, d.at(x, y), plain(strings.ReplaceAll(text, "\u00a0", " ")))
}

// background draws everything below the curves.
func (d *painter) background(p Plot) {
	if r := p.Raster; r != nil {
		data := strings.TrimPrefix(string(r.url()), "data:image/png;base64,")
		if img, err := png.Decode(base64.NewDecoder(base64.StdEncoding, strings.NewReader(data))); err == nil {
			d.DrawImage(vg.Rectangle{Min: d.at(d.atX(r.Left), d.atY(r.Bottom)), Max: d.at(d.atX(r.Right), d.atY(r.Top))}, img)
		}
	}
	for _, u := range p.Unknown {
		left, right := d.atX(max(u.From, p.X.Min)), d.atX(min(u.To, p.X.Max))
		d.rectangle(d.theme.grid, 255, left, d.top, right-left, d.frame.height)
		for at := left - d.frame.height; at < right; at += d.text { // hatched
			d.hatch(at, left, right)
		}
	}
	weight := 0.7
	if p.Raster != nil {
		weight = 0.2
	}
	for _, t := range d.xTicks {
		d.line(d.gridColour(t), weight, nil, point{d.atX(t.At), d.top}, point{d.atX(t.At), d.bottom()})
	}
	for _, t := range d.yTicks {
		d.line(d.gridColour(t), weight, nil, point{d.left, d.atY(t.At)}, point{d.right(), d.atY(t.At)})
	}
}

// hatch draws a slanted line from x at the lower edge, between left and right.
func (d *painter) hatch(x, left, right float64) {
	from, to := max(x, left), min(x+d.frame.height, right)
	if from < to {
		d.line(d.theme.quiet, 0.4, nil, point{from, d.bottom() - (from - x)}, point{to, d.bottom() - (to - x)})
	}
}

func (d *painter) gridColour(t Tick) string {
	if t.Strong || t.At == 0 {
		return d.theme.decade
	}
	return d.theme.grid
}

// ink returns the colour of a style, and the width and dashes of its lines.
func (d *painter) ink(s Style, behind bool) (colour string, width float64, dashes []vg.Length) {
	colour = styles[s].light
	if d.dark {
		colour = styles[s].dark
	}
	width = 1.5
	var pattern []float64
	switch s {
	case Vermilion:
		pattern = []float64{8, 4}
	case Ink:
		width = 2.6
	case Green:
		pattern = []float64{10, 4, 2, 4}
	case Violet:
		width, pattern = 1.9, []float64{2, 3.5}
	}
	if behind {
		return colour, 0.6, nil
	}
	for _, v := range pattern {
		dashes = append(dashes, vg.Length(v*d.stroke))
	}
	return colour, width, dashes
}

func (d *painter) series(s Series) {
	colour, width, dashes := d.ink(s.Style, s.Name == "")
	if s.Kind == Points {
		d.points(s, colour)
		return
	}
	if s.Low != nil {
		d.between(d.runs(s.X, s.Low), d.runs(s.X, s.High), colour)
	}
	runs := d.runs(s.X, s.Y)
	if s.Kind == Floor {
		for _, run := range runs {
			d.between([][]point{{{run[0].x, d.bottom()}, {run[len(run)-1].x, d.bottom()}}}, [][]point{run}, colour)
		}
	}
	for _, run := range runs {
		d.line(colour, width, dashes, run...)
	}
}

// between fills the area between two lines, where both are known.
func (d *painter) between(low, high [][]point, colour string) {
	for i := range min(len(low), len(high)) {
		var all []vg.Point
		for _, p := range high[i] {
			all = append(all, d.at(p.x, p.y))
		}
		for k := len(low[i]) - 1; k >= 0; k-- {
			all = append(all, d.at(low[i][k].x, low[i][k].y))
		}
		within := vgdraw.Canvas{Canvas: d.Canvas.Canvas,
			Rectangle: vg.Rectangle{Min: d.at(d.left, d.bottom()), Max: d.at(d.right(), d.top)}}
		if clipped := within.ClipPolygonXY(all); len(clipped) > 2 {
			d.FillPolygon(hex(colour, 50), clipped)
		}
	}
}

func (d *painter) points(s Series, colour string) {
	for i, x := range s.X {
		if !d.x.holds(x) || !d.y.holds(s.Y[i]) {
			continue
		}
		at := point{d.atX(x), d.atY(s.Y[i])}
		if s.Low != nil && d.y.shows(s.Low[i]) && d.y.shows(s.High[i]) {
			d.line(colour, 1, nil, point{at.x, d.atY(s.Low[i])}, point{at.x, d.atY(s.High[i])})
		}
		d.rectangle(colour, 255, at.x-2.5*d.stroke, at.y-2.5*d.stroke, 5*d.stroke, 5*d.stroke)
	}
}

// legend lays the names out in rows.
func (d *painter) legend(p Plot, width float64) (rows [][]entry) {
	x := d.text
	for _, s := range p.Series {
		if s.Name == "" {
			continue
		}
		long := textWidth(plain(s.Name), d.text)*0.9 + 4*d.text
		if len(rows) == 0 || x+long > width-d.text {
			rows, x = append(rows, nil), d.text
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], entry{s, x, len(rows)})
		x += long
	}
	return rows
}

// words writes title, ticks, axes, legend and the line below.
func (d *painter) words(p Plot, width float64, line string, legend [][]entry) {
	t := d.text
	d.write(p.Title, 1.35*t, d.theme.ink, t, 1.4*t, 0)
	d.write(p.Y.title(), t, d.theme.ink, t, 3.3*t, 0)
	for _, tick := range d.yTicks {
		d.write(tick.Label, t, d.theme.quiet, d.left-0.5*t, d.atY(tick.At), 1)
	}
	for _, tick := range d.xTicks {
		d.write(tick.Label, t, d.theme.quiet, d.atX(tick.At), d.bottom()+0.9*t, 0.5)
	}
	d.write(p.X.title(), t, d.theme.ink, d.right(), d.bottom()+2.1*t, 1)
	for _, u := range p.Unknown {
		left, right := d.atX(max(u.From, p.X.Min)), d.atX(min(u.To, p.X.Max))
		if right-left > textWidth(u.Label, t)+t {
			d.write(u.Label, t, d.theme.quiet, (left+right)/2, d.top+d.frame.height/2, 0.5)
		}
	}
	y := d.bottom() + 3.4*t
	for _, row := range legend {
		for _, e := range row {
			colour, weight, dashes := d.ink(e.Style, false)
			style := vgdraw.LineStyle{Color: hex(colour, 255), Width: vg.Length(weight * d.stroke), Dashes: dashes}
			if e.Kind == Points {
				d.rectangle(colour, 255, e.x+t, y-0.2*t, 0.4*t, 0.4*t)
			} else {
				d.StrokeLines(style, []vg.Point{d.at(e.x, y), d.at(e.x+2.2*t, y)})
			}
			d.write(e.Name, 0.9*t, d.theme.ink, e.x+2.7*t, y, 0)
		}
		y += 1.5 * t
	}
	if p.Raster != nil {
		line = fmt.Sprintf("%s: %s to %s from dark to light. %s", p.Raster.Label, Minus(fmt.Sprintf("%g", p.Raster.Min)),
			Minus(fmt.Sprintf("%g %s", p.Raster.Max, p.Raster.Unit)), line)
	}
	d.write(line, 0.75*t, d.theme.quiet, t, d.height-0.8*t, 0)
}

// entry is a curve in the legend with its position.
type entry struct {
	Series
	x   float64
	row int
}

// WritePicture draws a plot with its title, its legend, its bands, its unknown stretches and a line
// of text, by gonum.org/v1/plot. The errors are those of SVG, and one for an unknown format.
func WritePicture(w io.Writer, p Plot, o Picture) error {
	if err := p.check(); err != nil {
		return err
	}
	width, height, text, dpi := 1440.0, 810.0, 25.0, 96
	if o.Column {
		const mm = 72 / 25.4
		width, height, text, dpi = 85*mm, 60*mm, 7.5, 300
	}
	var canvas interface {
		vg.CanvasSizer
		io.WriterTo
	}
	switch o.Format {
	case "svg":
		canvas = vgsvg.New(vg.Length(width), vg.Length(height))
	case "png":
		canvas = vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(vg.Length(width), vg.Length(height)),
			vgimg.UseDPI(dpi))}
	default:
		return fmt.Errorf("plot: %s: no format %q; there are svg and png", p.ID, o.Format)
	}
	d := painter{Canvas: vgdraw.New(canvas), height: height, text: text, stroke: text / 14, theme: light, dark: o.Dark}
	if o.Dark {
		d.theme = dark
	}
	d.rectangle(d.theme.paper, 255, 0, 0, width, height)
	legend := d.legend(p, width)
	d.place(&p, width, float64(len(legend)))
	d.background(p)
	for _, s := range p.Series {
		d.series(s)
	}
	d.words(p, width, o.Line, legend)
	_, err := canvas.WriteTo(w)
	return err
}

// hex returns a colour written #rrggbb.
func hex(text string, alpha uint8) color.Color {
	var r, g, b uint8
	if _, err := fmt.Sscanf(text, "#%02x%02x%02x", &r, &g, &b); err != nil {
		panic("plot: " + text) // cannot happen: the colours are fixed
	}
	return color.NRGBA{r, g, b, alpha}
}
