package plot

import (
	"encoding/xml"
	"errors"
	"html/template"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
)

func simple() Plot {
	return Plot{
		ID: "simple", Title: "Simple", Summary: "A straight line.",
		X: Frequency(20, 20000), Y: Axis{Label: "Level", Unit: "dB", Min: -20, Max: 20},
		Series: []Series{{Name: "Left", X: []float64{20, 200, 2000, 20000}, Y: []float64{-15, -5, 5, 15}}},
	}
}

// element is any XML element.
type element struct {
	XMLName  xml.Name
	Attr     []xml.Attr `xml:",any,attr"`
	Children []element  `xml:",any"`
	Text     string     `xml:",chardata"`
}

func (e element) attr(name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// all returns the elements of a class, in order.
func (e element) all(class string) []element {
	var out []element
	for _, c := range strings.Fields(e.attr("class")) {
		if c == class {
			out = append(out, e)
		}
	}
	for _, c := range e.Children {
		out = append(out, c.all(class)...)
	}
	return out
}

func (e element) texts() []string {
	var out []string
	for _, c := range e.Children {
		if c.XMLName.Local == "text" {
			out = append(out, c.Text)
		}
	}
	return out
}

func parse(t *testing.T, html template.HTML) element {
	t.Helper()
	var e element
	d := xml.NewDecoder(strings.NewReader(string(html)))
	require.NoError(t, d.Decode(&e))
	_, err := d.Token()
	for err == nil {
		_, err = d.Token()
	}
	require.ErrorIs(t, err, io.EOF)
	return e
}

func draw(t *testing.T, p Plot) element {
	t.Helper()
	svg, err := SVG(p)
	require.NoError(t, err)
	return parse(t, svg)
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// every plot has all kinds and styles, gaps, and names that would break a page.
func every() Plot {
	nan := math.NaN()
	x := []float64{20, 100, 500, 1000, 5000, 10000}
	p := simple()
	p.Title, p.Summary = `<script>alert("1")</script> & 'so on'`, "less < more \x00\x01 \xff ]]> &amp;"
	p.X.Label, p.Notes = "<b>f</b>", []string{"a < b"}
	p.Series = nil
	for kind := Line; kind <= Points; kind++ {
		for style := Blue; style <= Ochre; style++ {
			p.Series = append(p.Series, Series{
				Name: `"><img src=x onerror=alert(1)>` + "\x07", X: x, Y: []float64{1, nan, 3, 4, math.Inf(1), 6}, Kind: kind, Style: style,
				Low: []float64{0, nan, 2, nan, 1, 5}, High: []float64{2, nan, 4, 5, 6, nan},
			})
		}
	}
	p.Unknown = Outside(p.X, response.Band{Low: 50, High: 15000}, `"not" <known>`)
	return p
}

func TestOutputIsWellFormedXML(t *testing.T) {
	fig, err := Figure(every())
	require.NoError(t, err)
	root := parse(t, fig)
	assert.Equal(t, "figure", root.XMLName.Local)
	assert.NotContains(t, string(fig), "<script")
	assert.NotContains(t, string(fig), "<img")
	assert.NotContains(t, string(fig), "NaN")
	assert.NotContains(t, string(fig), "Inf")
	assert.NotContains(t, string(fig), "ZgotmplZ", "html/template met something it would not write")
}

func TestPlotHasADescription(t *testing.T) {
	svg := draw(t, simple())
	assert.Equal(t, "img", svg.attr("role"))
	words := map[string]string{}
	for _, c := range svg.Children {
		words[c.attr("id")] = c.Text
	}
	assert.Equal(t, "Simple", words[svg.attr("aria-labelledby")])
	assert.Contains(t, words[svg.attr("aria-describedby")], "A straight line.")
	assert.Empty(t, svg.attr("width"), "the page decides how large it is")
}

// IEC 60263 (from memory): a decade is as long as 50, 25 or 10 dB.
func TestProportionIEC60263(t *testing.T) {
	for _, c := range []struct{ set, decibels, low, high float64 }{
		{0, 25, -20, 20}, {25, 25, -40, 10}, {50, 50, -60, 0}, {10, 10, -5, 5},
	} {
		p := simple()
		p.DecibelsPerDecade, p.Y.Min, p.Y.Max = c.set, c.low, c.high
		f := newFrame(p)
		decade := f.atX(1000) - f.atX(100)
		assert.InDelta(t, c.decibels, decade/(f.atY(0)-f.atY(1)), 1e-9, "rounding") // an identity

		area := strings.Split(draw(t, p).attr("data-area"), ",")
		width, height := number(t, area[2]), number(t, area[3])
		assert.InDelta(t, c.decibels, (width/3)/(height/(c.high-c.low)), 0.03, "three decades, written to a tenth of a unit")
		assert.Contains(t, newPicture(p).Summary, "One decade is as long as "+strconv.Itoa(int(c.decibels))+" dB")
	}
	p := simple()
	p.X.Log = false
	assert.NotContains(t, newPicture(p).Summary, "decade", "no proportion is prescribed on a linear axis")
	p = simple()
	p.DecibelsPerDecade = 30
	_, err := SVG(p)
	assert.ErrorContains(t, err, "50, 25 or 10")
	p = simple()
	p.DecibelsPerDecade, p.Y.Max = 10, 200
	_, err = SVG(p)
	assert.ErrorIs(t, err, ErrAxis, "taller than a page")
}

func TestGridLiesWhereTheScaleSays(t *testing.T) {
	svg := draw(t, simple())
	area := strings.Split(svg.attr("data-area"), ",")
	left, top, width, height := number(t, area[0]), number(t, area[1]), number(t, area[2]), number(t, area[3])
	ticks := svg.all("plot-xticks")[0].Children
	require.Len(t, ticks, 10)
	for i, hertz := range []float64{20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000} {
		want := left + width*math.Log10(hertz/20)/3 // three decades
		assert.InDelta(t, want, number(t, ticks[i].attr("x")), 0.11, "%g Hz; twice half a tenth", hertz)
	}
	levels := svg.all("plot-yticks")[0]
	require.Equal(t, []string{"−20", "−15", "−10", "−5", "0", "5", "10", "15", "20"}, levels.texts())
	assert.InDelta(t, top+height/2, number(t, levels.Children[4].attr("y")), 0.11, "0 dB is in the middle")
}

func TestGapsBreakTheLine(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name        string
		x, y        []float64
		lines, lone int
	}{
		{"unbroken", []float64{100, 200, 300, 400}, []float64{1, 2, 3, 4}, 1, 0},
		{"one gap", []float64{100, 200, 300, 400, 500}, []float64{1, 2, nan, 4, 5}, 2, 0},
		{"infinite is not known", []float64{100, 200, 300, 400, 500}, []float64{1, 2, math.Inf(-1), 4, 5}, 2, 0},
		{"a lone value between gaps", []float64{100, 200, 300, 400}, []float64{1, nan, 3, nan}, 0, 2},
		{"a single point", []float64{100}, []float64{1}, 0, 1},
		{"nothing", nil, nil, 0, 0},
		{"nothing known", []float64{100, 200}, []float64{nan, nan}, 0, 0},
		{"no place for 0 Hz", []float64{0, 100, 200}, []float64{1, 2, 3}, 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := simple()
			p.Series[0].X, p.Series[0].Y = c.x, c.y
			svg := draw(t, p)
			count := func(class string) (n int) {
				for _, e := range svg.all(class) {
					n += strings.Count(e.attr("d"), "M")
				}
				return n
			}
			assert.Equal(t, c.lines, count("plot-path"))
			assert.Equal(t, c.lone, count("plot-lone"))
			assert.Equal(t, c.lines+c.lone == 0, p.Empty())
		})
	}
}

func TestUncertaintyIsDrawnWhereKnown(t *testing.T) {
	nan := math.NaN()
	p := simple()
	p.Series[0].Low, p.Series[0].High = []float64{-16, -6, nan, 14}, []float64{-14, -4, 6, 16}
	d := draw(t, p).all("plot-band")[0].attr("d")
	assert.Equal(t, 2, strings.Count(d, "M"))
	p.Series[0].Kind = Points
	d = draw(t, p).all("plot-bars")[0].attr("d")
	assert.Equal(t, 3, strings.Count(d, "M"))
}

func TestKindsAreDrawnAsThemselves(t *testing.T) {
	p := simple()
	for kind, parts := range map[Kind][]string{
		Line: {"plot-path"}, Floor: {"plot-area", "plot-path"}, Bound: {"plot-path", "plot-hanging"},
		Impulse: {"plot-stems", "plot-path"}, Points: {"plot-marker"},
	} {
		p.Series[0].Kind = kind
		group := draw(t, p).all("plot-curve")[0]
		var got []string
		for _, part := range group.Children {
			got = append(got, part.attr("class"))
		}
		assert.Equal(t, parts, got)
	}
	p.Series[0].Kind = Impulse
	assert.Len(t, draw(t, p).all("plot-zero"), 1)
}

func TestValuesOutsideAreClipped(t *testing.T) {
	p := simple()
	p.Series[0].Y = []float64{0, 1e9, -1e9, 0}
	svg := draw(t, p)
	clip := svg.all("plot-curve")[0]
	require.NotEmpty(t, clip.Children)
	html, _ := SVG(p)
	assert.Contains(t, string(html), `<g clip-path="url(#simple-clip)">`)
	assert.Less(t, len(clip.all("plot-path")[0].attr("d")), 80, "coordinates stay short")
}

func TestStretchesNotKnown(t *testing.T) {
	x := Frequency(20, 20000)
	assert.Equal(t, []Stretch{{20, 50, "no"}, {15000, 20000, "no"}}, Outside(x, response.Band{Low: 50, High: 15000}, "no"))
	assert.Empty(t, Outside(x, response.AllFrequencies, "no"))
	assert.Equal(t, []Stretch{{20, 20000, "no"}}, Outside(x, response.Band{}, "no"))

	p := simple()
	p.Unknown = []Stretch{{0, 100, "too low"}, {10000, math.Inf(1), "too high"}, {30000, 40000, "beside"}, {math.NaN(), 1, "nowhere"}}
	unknown := draw(t, p).all("plot-unknown")
	require.Len(t, unknown, 2)
	assert.Contains(t, string(Legend(p)), "too high")
}

func TestMistakes(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(*Plot)
		want string
	}{
		{"no id", func(p *Plot) { p.ID = "" }, "id"},
		{"id of digits", func(p *Plot) { p.ID = "1st" }, "letter"},
		{"id with a space", func(p *Plot) { p.ID = "a b" }, "letter"},
		{"no title", func(p *Plot) { p.Title = "" }, "title"},
		{"no summary", func(p *Plot) { p.Summary = " " }, "summary"},
		{"X falls", func(p *Plot) { p.Series[0].X = []float64{4, 3, 2, 1} }, "falls from 4 to 3"},
		{"X not known", func(p *Plot) { p.Series[0].X[2] = math.NaN() }, "finite place"},
		{"no such style", func(p *Plot) { p.Series[0].Style = 99 }, "style 99"},
		{"no such kind", func(p *Plot) { p.Series[0].Kind = -1 }, "kind -1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := simple()
			c.do(&p)
			for _, output := range []func(Plot) (template.HTML, error){SVG, Figure} {
				_, err := output(p)
				require.ErrorContains(t, err, c.want)
				assert.False(t, errors.Is(err, ErrAxis))
			}
		})
	}
	for name, s := range map[string]Series{
		"Y":          {X: []float64{1, 2}, Y: []float64{1}},
		"Low":        {X: []float64{1}, Y: []float64{1}, Low: []float64{}, High: []float64{1}},
		"Low alone":  {X: []float64{1}, Y: []float64{1}, Low: []float64{1}},
		"High alone": {X: []float64{1}, Y: []float64{1}, High: []float64{1}},
	} {
		p := simple()
		p.Series = []Series{s}
		assert.Panics(t, func() { SVG(p) }, name)
	}
}

// Curves that coincide are not labelled directly, since a label would be ambiguous. Curves apart
// are.
func TestDirectLabels(t *testing.T) {
	x := []float64{20, 200, 2000, 20000}
	together, apart := simple(), simple()
	together.Series = []Series{{Name: "One", X: x, Y: []float64{0, 0, 0, 0}}, {Name: "Two", X: x, Y: []float64{0.2, 0.2, 0.2, 0.2}, Style: Vermilion}}
	apart.Series = []Series{{Name: "One", X: x, Y: []float64{0, 0, 0, 0}}, {Name: "Two", X: x, Y: []float64{10, 10, 10, 10}, Style: Vermilion}}
	assert.Empty(t, draw(t, together).all("plot-direct"))
	names := draw(t, apart).all("plot-direct")
	require.Len(t, names, 2)
	assert.Equal(t, "One", names[0].Text)
	assert.Less(t, number(t, names[1].attr("y")), number(t, names[0].attr("y")), "the higher curve has the higher name")
}

var pathNumber = regexp.MustCompile(`^([MlhVHz]|-?\d+(\.\d)?| )*$`)

func TestPathsAreTenthsOfAUnit(t *testing.T) {
	p := simple()
	for i := range p.Series[0].Y {
		p.Series[0].Y[i] = math.Pi * float64(i)
	}
	for _, e := range draw(t, p).all("plot-path") {
		assert.Regexp(t, pathNumber, e.attr("d"))
	}
}
