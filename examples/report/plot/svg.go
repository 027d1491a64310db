package plot

import (
	"fmt"
	"html/template"
	"math"
	"strings"
)

// picture is the data of the template.
type picture struct {
	ID, Title, Summary       string
	Width                    int
	Height                   string
	Left, Top, Right, Bottom string
	AreaWidth, AreaHeight    string
	XLabel, YLabel, Unit     string
	YMin, YMax, XMin, XMax   float64
	YLog, XLog               bool
	XUnit                    string
	XTicks, YTicks           []drawnTick
	Zero                     string
	Unknown                  []drawnStretch
	Raster                   *drawnRaster
	Series                   []drawnSeries
	Places, PlaceNames       string
	TickY, TickX, XLabelY    string
}

func newPicture(p Plot) picture {
	f := newFrame(p)
	c := f.cursor(p)
	pic := picture{
		ID: p.ID, Title: plain(p.Title), Summary: plain(p.Summary),
		Width: viewWidth, Height: units(f.total()),
		Left: units(f.left), Top: units(f.top), Right: units(f.right()), Bottom: units(f.bottom()),
		AreaWidth: units(f.width), AreaHeight: units(f.height),
		XLabel: p.X.title(), YLabel: p.Y.title(), Unit: plain(p.Y.Unit),
		YMin: p.Y.Min, YMax: p.Y.Max, YLog: p.Y.Log,
		XMin: p.X.Min, XMax: p.X.Max, XLog: p.X.Log, XUnit: plain(p.X.Unit),
		TickY: units(f.bottom() + 14), TickX: units(f.left - 12), XLabelY: units(f.bottom() + 14),
		Places: strings.Join(c.at, ","), PlaceNames: strings.Join(c.name, ","),
	}
	if p.proportional() {
		pic.Summary += " " + p.proportionNote()
	}
	for _, t := range f.xTicks {
		pic.XTicks = append(pic.XTicks, drawnTick{units(f.atX(t.At)), p.words().local(t.Label), t.Strong})
	}
	for _, t := range f.yTicks {
		pic.YTicks = append(pic.YTicks, drawnTick{units(f.atY(t.At)), p.words().local(t.Label), t.Strong})
	}
	pic.Raster = f.raster(p.Raster)
	contours := f.contours(p.Series)
	for _, u := range p.Unknown {
		if d, ok := f.stretch(u, contours); ok {
			pic.Unknown = append(pic.Unknown, d)
		}
	}
	labels := f.labels(p, contours)
	for i, s := range p.Series {
		d := f.drawn(s)
		d.Index = i
		if l := labels[i]; l != nil {
			d.Label = &drawnLabel{units(l.X), units(l.Y), l.Text}
		}
		d.Values, d.Low, d.High = f.values(s, c)
		pic.Series = append(pic.Series, d)
		if s.Kind == Impulse && p.Y.holds(0) {
			pic.Zero = units(f.atY(0))
		}
	}
	return pic
}

type drawnTick struct {
	At, Label string
	Strong    bool
}

type drawnStretch struct {
	Left, Width, Middle, MiddleY, Label string
	Upright                             bool // the label is turned by a quarter
}

type drawnSeries struct {
	Index                        int
	Name, Class                  string
	Band, Bars, Area, Line, Lone string
	Hanging, Markers, Stems      string
	Label                        *drawnLabel
	Values, Low, High            string
	Prefix                       string
	Separate                     bool
}

type drawnLabel struct{ X, Y, Text string }

// drawn returns a series as paths. A path that its kind does not have is empty.
func (f frame) drawn(s Series) drawnSeries {
	d := drawnSeries{Name: plain(s.Name), Class: s.class()}
	if s.Low != nil && s.Kind == Points {
		d.Bars = f.bars(s)
	} else if s.Low != nil {
		d.Band = f.band(s)
	}
	if s.Kind == Points {
		d.Separate = true
		d.Markers = f.markers(s)
		return d
	}
	d.Line, d.Lone = f.curve(s)
	switch s.Kind {
	case Floor:
		d.Area = f.area(s)
	case Bound:
		d.Hanging, d.Prefix, d.Separate = f.hanging(s), "≤\u00a0", true
	case Impulse:
		if f.sparse(s) && !f.y.Log {
			d.Stems = f.stems(s)
		}
	}
	if styles[s.Style].marked && s.Kind == Line {
		d.Markers = f.markers(s)
	}
	return d
}

func (s Series) class() string {
	class := fmt.Sprintf("plot-s%d plot-%s", s.Style, [...]string{"line", "floor", "bound", "impulse", "points"}[s.Kind])
	if s.Name == "" {
		class += " plot-behind"
	}
	return class
}

// sparse reports whether the samples are far enough apart to be seen one by one.
func (f frame) sparse(s Series) bool {
	const apart = 6
	inside := 0
	for _, x := range s.X {
		if f.x.holds(x) {
			inside++
		}
	}
	return float64(inside)*apart <= f.width
}

// stretch returns a part of the axis that is not known. Its label is horizontal or, in a narrow
// one, vertical. If neither fits, it is only in the legend.
func (f frame) stretch(u Stretch, contours []*contour) (drawnStretch, bool) {
	from, to := math.Max(u.From, f.x.Min), math.Min(u.To, f.x.Max)
	if !(from < to) {
		return drawnStretch{}, false
	}
	left, right := f.atX(from), f.atX(to)
	d := drawnStretch{Left: units(left), Width: units(right - left), Middle: units((left + right) / 2)}
	text := plain(u.Label)
	long, tall := textWidth(text, smallText)+12, float64(smallText)
	switch {
	case long <= right-left:
		d.Label = text
	case long <= f.height && right-left >= smallText+6:
		d.Label, d.Upright = text, true
		long, tall = tall, long
	}
	middle := (left + right) / 2
	d.MiddleY = units(f.open(middle-long/2, middle+long/2, tall, contours))
	return d, true
}

// open finds a height at which a box crosses no curve; the middle if there is none.
func (f frame) open(left, right, tall float64, contours []*contour) float64 {
	for _, share := range []float64{0.5, 0.75, 0.25, 0.85, 0.15} {
		y := f.top + tall/2 + share*(f.height-tall)
		if free(box{left, y - tall/2, right, y + tall/2}, -1, contours, nil) {
			return y
		}
	}
	return f.top + f.height/2
}

// SVG draws the plot as one svg element that scales to the available width, with title and summary
// for screen readers. CSS defines its colours and lines.
//
// The error names the plot and says what cannot be drawn. It wraps ErrAxis if an axis is the cause.
// SVG panics if slices of a series differ in length.
func SVG(p Plot) (template.HTML, error) {
	if err := p.check(); err != nil {
		return "", err
	}
	return render(svgTemplate, newPicture(p)), nil
}

func render(t *template.Template, data any) template.HTML {
	var b strings.Builder
	if err := t.Execute(&b, data); err != nil {
		panic(fmt.Sprintf("plot: %s: %v", t.Name(), err)) // cannot happen: fixed templates, written to memory
	}
	return template.HTML(b.String())
}

// units formats a length to a tenth of a unit.
func units(v float64) string { return string(appendTenths(nil, tenths(v))) }

var svgTemplate = template.Must(template.New("svg").Parse(`<svg xmlns="http://www.w3.org/2000/svg" class="plot-svg" viewBox="0 0 {{.Width}} {{.Height}}" role="img" aria-labelledby="{{.ID}}-title" aria-describedby="{{.ID}}-desc" data-plot="{{.ID}}" data-area="{{.Left}},{{.Top}},{{.AreaWidth}},{{.AreaHeight}}" data-size="{{.Width}},{{.Height}}" data-range="{{.YMin}},{{.YMax}}" data-log="{{.YLog}}" data-x="{{.XMin}},{{.XMax}},{{.XLog}},{{.XUnit}}" data-unit="{{.Unit}}" data-at="{{.Places}}" data-names="{{.PlaceNames}}">
<title id="{{.ID}}-title">{{.Title}}</title>
<desc id="{{.ID}}-desc">{{.Summary}}</desc>
<defs>
<clipPath id="{{.ID}}-clip"><rect x="{{.Left}}" y="{{.Top}}" width="{{.AreaWidth}}" height="{{.AreaHeight}}"/></clipPath>
<pattern id="{{.ID}}-hatch" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="plot-hatch" d="M4.5 0v9"/></pattern>
</defs>
{{with .Raster}}<g class="plot-map" clip-path="url(#{{$.ID}}-clip)" data-cells="{{.Columns}},{{.Rows}},{{.First}}" data-rows="{{.RowNames}}" data-scale="{{.Min}},{{.Max}}" data-unit="{{.Unit}}"><rect x="{{.X}}" y="{{.Y}}" width="{{.Width}}" height="{{.Height}}" fill="url(#{{$.ID}}-hatch)"/><image x="{{.X}}" y="{{.Y}}" width="{{.Width}}" height="{{.Height}}" preserveAspectRatio="none" href="{{.URL}}"/></g>
{{end}}<g class="plot-grid{{if .Raster}} plot-over{{end}}">
{{- range .XTicks}}<path{{if .Strong}} class="plot-decade"{{end}} d="M{{.At}} {{$.Top}}V{{$.Bottom}}"/>{{end}}
{{- range .YTicks}}<path{{if .Strong}} class="plot-decade"{{end}} d="M{{$.Left}} {{.At}}H{{$.Right}}"/>{{end}}
{{- if .Zero}}<path class="plot-zero" d="M{{.Left}} {{.Zero}}H{{.Right}}"/>{{end}}</g>
<g class="plot-ticks plot-xticks">{{range .XTicks}}{{if .Label}}<text x="{{.At}}" y="{{$.TickY}}" dy="0.8em">{{.Label}}</text>{{end}}{{end}}</g>
<g class="plot-ticks plot-yticks">{{range .YTicks}}{{if .Label}}<text x="{{$.TickX}}" y="{{.At}}" dy="0.35em">{{.Label}}</text>{{end}}{{end}}</g>
<text class="plot-axis" x="2" y="24">{{.YLabel}}</text>
<text class="plot-axis plot-xaxis" x="{{.Right}}" y="{{.XLabelY}}" dy="2.25em">{{.XLabel}}</text>
{{range .Unknown}}<g class="plot-unknown"><rect x="{{.Left}}" y="{{$.Top}}" width="{{.Width}}" height="{{$.AreaHeight}}" fill="url(#{{$.ID}}-hatch)"/>
{{- if .Label}}<text class="plot-direct" x="{{.Middle}}" y="{{.MiddleY}}" dy="0.35em"{{if .Upright}} transform="rotate(-90 {{.Middle}} {{.MiddleY}})"{{end}}>{{.Label}}</text>{{end}}</g>
{{end -}}
<g clip-path="url(#{{.ID}}-clip)">
{{range .Series}}<g class="plot-curve {{.Class}}"{{if .Name}} data-curve="{{.Index}}"{{end}} data-name="{{.Name}}" data-y="{{.Values}}"{{if .Low}} data-low="{{.Low}}" data-high="{{.High}}"{{end}}{{if .Prefix}} data-prefix="{{.Prefix}}"{{end}}{{if .Separate}} data-separate=""{{end}}>
{{- if .Band}}<path class="plot-band" d="{{.Band}}"/>{{end}}
{{- if .Area}}<path class="plot-area" d="{{.Area}}"/>{{end}}
{{- if .Bars}}<path class="plot-bars" d="{{.Bars}}"/>{{end}}
{{- if .Stems}}<path class="plot-stems" d="{{.Stems}}"/>{{end}}
{{- if .Line}}<path class="plot-path" d="{{.Line}}"/>{{end}}
{{- if .Lone}}<path class="plot-marker plot-lone" d="{{.Lone}}"/>{{end}}
{{- if .Hanging}}<path class="plot-hanging" d="{{.Hanging}}"/>{{end}}
{{- if .Markers}}<path class="plot-marker" d="{{.Markers}}"/>{{end}}
{{- if .Label}}<text class="plot-direct" x="{{.Label.X}}" y="{{.Label.Y}}">{{.Label.Text}}</text>{{end}}</g>
{{end}}</g>
</svg>`))
