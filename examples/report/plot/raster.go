package plot

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/color"
	"image/png"
	"math"
	"strings"
)

// Raster is a value for each cell of a grid over both axes, drawn in colours.
type Raster struct {
	// Values are by row, the lowest first, and column. A value that is not known is NaN and left
	// empty.
	Values [][]float64
	// The grid covers Left to Right on the X axis and Bottom to Top on the Y axis. All cells have
	// the same size as drawn, so rows on a logarithmic axis have equal ratios.
	Left, Right, Bottom, Top float64
	// Min and Max are the ends of the colour scale, in Unit; Label names the scale. Values beyond
	// have the colour of the end.
	Min, Max    float64
	Label, Unit string
}

// empty reports whether no value is known.
func (r *Raster) empty() bool {
	for _, row := range r.Values {
		for _, v := range row {
			if finite(v) {
				return false
			}
		}
	}
	return true
}

func (r *Raster) check() error {
	if len(r.Values) == 0 || len(r.Values[0]) == 0 || !(r.Min < r.Max) {
		return fmt.Errorf("a raster of %d rows from %g to %g; give at least one value and a scale that rises",
			len(r.Values), r.Min, r.Max)
	}
	for _, row := range r.Values {
		if len(row) != len(r.Values[0]) {
			panic("plot: raster: rows of different lengths")
		}
	}
	return nil
}

// url returns the picture as a data URL, one pixel per cell.
func (r *Raster) url() template.URL {
	rows, columns := len(r.Values), len(r.Values[0])
	picture := image.NewPaletted(image.Rect(0, 0, columns, rows), palette)
	for i, row := range r.Values {
		for k, v := range row {
			shade := uint8(shades) // nothing
			if finite(v) {
				shade = uint8(math.Round((shades - 1) * min(1, max(0, (v-r.Min)/(r.Max-r.Min)))))
			}
			picture.SetColorIndex(k, rows-1-i, shade)
		}
	}
	var out bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestCompression}
	if err := encoder.Encode(&out, picture); err != nil {
		panic(fmt.Sprintf("plot: %v", err)) // a paletted picture in memory
	}
	return template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(out.Bytes()))
}

// columns are the middles of the columns on the X axis.
func (r *Raster) columns(x Axis) (out []float64) {
	for k := range r.Values[0] {
		out = append(out, x.middle(r.Left, r.Right, k, len(r.Values[0])))
	}
	return out
}

// drawnRaster is the picture with its position, and what the script needs to read it: its cells,
// the names of its rows, and the scale of its colours.
type drawnRaster struct {
	X, Y, Width, Height string
	URL                 template.URL
	Columns, Rows       int
	First               int // column within the axis
	RowNames, Unit      string
	Min, Max            float64
}

func (f frame) raster(r *Raster) *drawnRaster {
	if r == nil {
		return nil
	}
	left, right, top, bottom := f.atX(r.Left), f.atX(r.Right), f.atY(r.Top), f.atY(r.Bottom)
	var names []string
	for i := range r.Values {
		names = append(names, listed(f.y.text(f.y.middle(r.Bottom, r.Top, i, len(r.Values)))))
	}
	first := 0
	for _, x := range r.columns(f.x) {
		if f.x.place(x) < 0 {
			first++
		}
	}
	return &drawnRaster{units(left), units(top), units(right - left), units(bottom - top), r.url(),
		len(r.Values[0]), len(r.Values), first, strings.Join(names, ","), plain(r.Unit), r.Min, r.Max}
}

// middle is that of cell i of n of one size, as drawn, from one value to another.
func (a Axis) middle(from, to float64, i, n int) float64 {
	part := (float64(i) + 0.5) / float64(n)
	if a.Log {
		return from * math.Pow(to/from, part)
	}
	return from + part*(to-from)
}

// shades is the number of colours.
const shades = 128

// palette goes from dark blue through green to light straw. Its steps are equal in OKLab, in which
// equal distances look equal (B. Ottosson 2020, from memory). Its lightness rises monotonically, so
// that grey prints and every kind of colour vision show the same order.
var palette = func() color.Palette {
	at := func(t float64) [3]float64 {
		hue := (262 - 172*t) * math.Pi / 180
		chroma := 0.045 + 0.075*math.Sin(math.Pi*t)
		return [3]float64{0.2 + 0.75*t, chroma * math.Cos(hue), chroma * math.Sin(hue)}
	}
	const fine = 4096
	long := make([]float64, fine+1)
	for i := 1; i <= fine; i++ {
		a, b := at(float64(i-1)/fine), at(float64(i)/fine)
		long[i] = long[i-1] + math.Sqrt((a[0]-b[0])*(a[0]-b[0])+(a[1]-b[1])*(a[1]-b[1])+(a[2]-b[2])*(a[2]-b[2]))
	}
	var out color.Palette
	i := 0
	for k := range shades {
		for i < fine && long[i] < long[fine]*float64(k)/(shades-1) {
			i++
		}
		c := at(float64(i) / fine)
		out = append(out, OKLab(c[0], c[1], c[2]))
	}
	return append(out, color.NRGBA{})
}()

// OKLab returns the sRGB colour of lightness, green to red and blue to yellow (B. Ottosson, "A
// perceptual color space for image processing", 2020; matrices from memory).
func OKLab(lightness, red, yellow float64) color.NRGBA {
	cube := func(x float64) float64 { return x * x * x }
	l := cube(lightness + 0.3963377774*red + 0.2158037573*yellow)
	m := cube(lightness - 0.1055613458*red - 0.0638541728*yellow)
	s := cube(lightness - 0.0894841775*red - 1.2914855480*yellow)
	return color.NRGBA{
		gamma(4.0767416621*l - 3.3077115913*m + 0.2309699292*s),
		gamma(-1.2684380046*l + 2.6097574011*m - 0.3413193965*s),
		gamma(-0.0041960863*l - 0.7034186147*m + 1.7076147010*s), 255,
	}
}

// Key returns the colour scale of a raster; empty for a plot without one.
func Key(p Plot) template.HTML {
	r := p.Raster
	if r == nil {
		return ""
	}
	data := struct {
		ID, Label, Scale string
		Stops            []string
		Ticks            []Tick
		Places           []string
	}{ID: p.ID, Label: plain(r.Label + ", " + r.Unit)}
	for k := 0; k < shades; k += 8 {
		c := palette[k].(color.NRGBA)
		data.Stops = append(data.Stops, fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B))
	}
	a := Axis{Unit: r.Unit, Min: r.Min, Max: r.Max}
	for _, t := range a.roundTicks(320, func(s string) float64 { return textWidth(s, largeText) + 20 }) {
		data.Ticks = append(data.Ticks, t)
		data.Places = append(data.Places, units(20+320*a.place(t.At)))
	}
	var ticks []string
	for _, t := range data.Ticks {
		ticks = append(ticks, t.Label)
	}
	data.Scale = fmt.Sprintf(p.words().Scale, data.Label, strings.Join(ticks, " "))
	return render(keyTemplate, data)
}

// gamma is the transfer function of sRGB (IEC 61966-2-1), to a byte.
func gamma(linear float64) uint8 {
	v := 12.92 * linear
	if linear > 0.0031308 {
		v = 1.055*math.Pow(linear, 1/2.4) - 0.055
	}
	return uint8(math.Round(255 * min(1, max(0, v))))
}

var keyTemplate = template.Must(template.New("key").Funcs(template.FuncMap{
	"share": func(i int, all []string) string { return fmt.Sprintf("%.3f", float64(i)/float64(len(all)-1)) },
}).Parse(`<div class="plot-scale"><svg viewBox="0 0 360 44" role="img" aria-label="{{.Scale}}"><defs><linearGradient id="{{.ID}}-scale">
{{- range $i, $c := .Stops}}<stop offset="{{share $i $.Stops}}" stop-color="{{$c}}"/>{{end}}</linearGradient></defs><rect x="20" y="2" width="320" height="14" fill="url(#{{.ID}}-scale)"/>
{{- range $i, $t := .Ticks}}<text x="{{index $.Places $i}}" y="36">{{$t.Label}}</text>{{end}}</svg><span>{{.Label}}</span></div>
`))
