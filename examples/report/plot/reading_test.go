package plot

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestReadingBetweenSamples(t *testing.T) {
	nan := math.NaN()
	p := simple()
	f := newFrame(p)
	s := Series{X: []float64{100, 1000, 10000}, Y: []float64{0, 10, nan}, Low: []float64{-1, 8, nan}, High: []float64{1, 12, nan}}
	middle := f.at(s, math.Sqrt(100*1000), 0)
	assert.InDelta(t, 5, middle.y, 1e-9, "half way on a logarithmic axis")
	assert.InDelta(t, 3.5, middle.low, 1e-9)
	assert.InDelta(t, 6.5, middle.high, 1e-9)
	assert.Equal(t, reading{10, 8, 12}, f.at(s, 1000, 0), "its own value, exactly")
	assert.True(t, math.IsNaN(f.at(s, 2000, 0).y), "next to a gap")
	assert.True(t, math.IsNaN(f.at(s, 50, 0).y), "before it begins")
	assert.True(t, math.IsNaN(f.at(s, 20000, 0).y), "after it ends")

	p.Y = Axis{Unit: "%", Min: 0.01, Max: 10, Log: true}
	f = newFrame(p)
	s = Series{X: []float64{100, 1000}, Y: []float64{0.1, 10}}
	assert.InDelta(t, 1, f.at(s, math.Sqrt(1e5), 0).y, 1e-9, "a straight line on two logarithmic axes")

	s.Kind = Points
	assert.True(t, math.IsNaN(f.at(s, 300, 4).y), "separate points are not joined")
	assert.Equal(t, 10.0, f.at(s, 1001, 4).y)
}

func TestCursorMeetsThePeakOfAnImpulse(t *testing.T) {
	p := simple()
	p.X, p.Y = Axis{Label: "Time", Unit: "ms", Min: 0, Max: 100}, Axis{Label: "Pressure", Min: -1, Max: 1}
	n := 9600
	s := Series{Name: "Left", X: make([]float64, n), Y: make([]float64, n), Kind: Impulse}
	for i := range s.X {
		s.X[i] = float64(i) / 96
	}
	s.Y[4711] = -0.9
	p.Series = []Series{s}
	svg := draw(t, p)
	assert.Contains(t, strings.Split(svg.all("plot-curve")[0].attr("data-y"), ","), "-0.900")
	assert.LessOrEqual(t, strings.Count(svg.attr("data-at"), ","), viewWidth/2)
	assert.Contains(t, string(Table(p)), "−0.900", "nor does the table lose it")
}

func TestCursorListsMatch(t *testing.T) {
	svg := draw(t, every())
	count := func(name string, e element) int { return len(strings.Split(e.attr(name), ",")) }
	places := count("data-at", svg)
	assert.Equal(t, places, count("data-names", svg))
	curves := svg.all("plot-curve")
	require.Len(t, curves, 30)
	for _, c := range curves {
		assert.Equal(t, places, count("data-y", c))
		assert.Equal(t, places, count("data-low", c))
		assert.Equal(t, places, count("data-high", c))
	}
}

// Nominal third-octave frequencies: ISO 266 and IEC 61260-1, from memory.
func TestTableOfThirdOctavesISO266(t *testing.T) {
	p := simple()
	n := 2000
	s := Series{Name: "Left", X: make([]float64, n), Y: make([]float64, n)}
	for i := range s.X {
		s.X[i] = 20 * math.Pow(1000, float64(i)/float64(n-1)) // the ends lie a rounding beside 20 Hz and 20 kHz
		s.Y[i] = 10 * math.Log10(s.X[i]/1000)
		if s.X[i] > 15000 { // the last, 20 kHz, too
			s.Y[i] = math.NaN()
		}
	}
	p.Series = []Series{s}
	table := string(Table(p))
	for _, want := range []string{"20 Hz", "25 Hz", "31.5 Hz", "63 Hz", "1 kHz", "1.25 kHz", "12.5 kHz", "16 kHz"} {
		assert.Contains(t, table, `<th scope="row">`+want+"</th>")
	}
	assert.Contains(t, table, "Third octaves only")
	assert.Contains(t, table, "1.25 kHz</th><td>1.0</td>", "10 lg 1.25 = 0.97")
	assert.Contains(t, table, "1.6 kHz</th><td>2.0</td>", "10 lg 1.6 = 2.04")
	assert.Contains(t, table, `16 kHz</th><td class="plot-gap">not known</td>`)
	assert.Equal(t, 31, strings.Count(table, `scope="row"`), "20 Hz to 20 kHz")
	parse(t, Table(p))
}

func TestShortTablesAreWhole(t *testing.T) {
	table := string(Table(simple()))
	assert.Equal(t, 4, strings.Count(table, `scope="row"`))
	assert.NotContains(t, table, "Third octaves only")
	assert.Contains(t, table, "200 Hz</th><td>−5.0</td>")

	p := simple()
	p.Series[0].Kind = Bound
	assert.Contains(t, string(Table(p)), "<td>≤\u00a0−5.0</td>")
}

func TestTableFromDirectCurrentUp(t *testing.T) {
	p := simple()
	p.X = Axis{Label: "Frequency", Unit: "Hz", Min: 0, Max: 20000}
	s := Series{Name: "Left"}
	for i := range 2001 {
		s.X, s.Y = append(s.X, float64(i)*10), append(s.Y, 0)
	}
	p.Series = []Series{s}
	table := string(Table(p))
	assert.Contains(t, table, `"row">1 Hz</th>`)
	assert.Less(t, strings.Count(table, `scope="row"`), 50)
}

func TestLegendHasNoDeadControls(t *testing.T) {
	p := every()
	legend := parse(t, Legend(p))
	assert.Equal(t, "simple-legend", legend.attr("id"))
	var boxes []element
	var walk func(e element)
	walk = func(e element) {
		if e.XMLName.Local == "input" {
			boxes = append(boxes, e)
		}
		for _, c := range e.Children {
			walk(c)
		}
	}
	walk(legend)
	require.Len(t, boxes, len(p.Series))
	for _, b := range boxes {
		names := fmt.Sprint(b.Attr)
		assert.Contains(t, names, "hidden", "until the script runs")
		assert.Contains(t, names, "disabled")
	}
}
