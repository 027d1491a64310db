package plot

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func labels(ticks []Tick) string {
	var out []string
	for _, t := range ticks {
		if t.Label != "" {
			out = append(out, t.Label)
		}
	}
	return strings.Join(out, " ")
}

// The labels of the ticks of an audio plot follow common practice: 1, 2 and 5 in each decade.
func TestTickLabels(t *testing.T) {
	roomy := func(string) float64 { return 20 }
	for _, c := range []struct {
		name string
		axis Axis
		want string
	}{
		{"audio band", Frequency(20, 20000), "20 50 100 200 500 1k 2k 5k 10k 20k"},
		{"ends between ticks", Frequency(31.5, 16000), "50 100 200 500 1k 2k 5k 10k"},
		{"linear frequency", Axis{Unit: "Hz", Min: 0, Max: 20000}, "0 1k 2k 3k 4k 5k 6k 7k 8k 9k 10k 11k 12k 13k 14k 15k 16k 17k 18k 19k 20k"},
		{"distortion", Axis{Unit: "%", Min: 0.01, Max: 10, Log: true}, "0.01 0.02 0.05 0.1 0.2 0.5 1 2 5 10"},
		{"level", Axis{Unit: "dB", Min: -20, Max: 10}, "−20 −19 −18 −17 −16 −15 −14 −13 −12 −11 −10 −9 −8 −7 −6 −5 −4 −3 −2 −1 0 1 2 3 4 5 6 7 8 9 10"},
		{"within a decade", Axis{Unit: "Hz", Min: 310, Max: 390, Log: true}, "310 320 330 340 350 360 370 380 390"},
		{"time", Axis{Unit: "ms", Min: -0.25, Max: 0.25}, "−0.25 −0.20 −0.15 −0.10 −0.05 0.00 0.05 0.10 0.15 0.20 0.25"},
		{"the caller's own", Axis{Unit: "", Min: 0, Max: 2, Ticks: []Tick{{At: 1, Label: "one"}, {At: 3, Label: "outside"}}}, "one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			length := 640.0
			if c.name == "time" || c.name == "within a decade" {
				length = 300
			}
			assert.Equal(t, c.want, labels(c.axis.ticks(length, roomy)))
		})
	}
}

func TestDecadesAreStrong(t *testing.T) {
	var strong []float64
	for _, tick := range Frequency(20, 20000).ticks(640, func(string) float64 { return 20 }) {
		if tick.Strong {
			strong = append(strong, tick.At)
		}
	}
	assert.Equal(t, []float64{100, 1000, 10000}, strong)
}

func TestTickLabelsNeverTouch(t *testing.T) {
	wide := func(s string) float64 { return textWidth(s, largeText) }
	for _, a := range []Axis{
		Frequency(1, 1e6), Frequency(20, 20000), {Unit: "%", Min: 1e-6, Max: 100, Log: true}, {Unit: "Hz", Min: 0, Max: 24000},
		{Unit: "s", Min: -123456, Max: 654321}, {Unit: "V", Min: 0.99999, Max: 1.00001}, {Min: -1e300, Max: 1e300},
	} {
		ticks := a.ticks(600, wide)
		assert.NotEmpty(t, labels(ticks), "%+v", a)
		var last *Tick
		for i := range ticks {
			if ticks[i].Label == "" {
				continue
			}
			if last != nil {
				gap := 600 * (a.place(ticks[i].At) - a.place(last.At))
				if len(ticks) > 2 { // two are the ends, and have the whole length
					assert.GreaterOrEqual(t, gap, (wide(last.Label)+wide(ticks[i].Label))/2-1e-6, "%s and %s", last.Label, ticks[i].Label) // rounding
				}
			}
			last = &ticks[i]
		}
	}
}

func TestAxisErrors(t *testing.T) {
	for _, c := range []struct {
		name string
		axis Axis
		want string
	}{
		{"nothing between the ends", Axis{Min: 1, Max: 1}, "runs from 1 to 1"},
		{"upside down", Axis{Min: 2, Max: 1}, "runs from 2 to 1"},
		{"not a number", Axis{Min: math.NaN(), Max: 1}, "finite"},
		{"endless", Axis{Min: 0, Max: math.Inf(1)}, "finite"},
		{"wider than a number", Axis{Min: -math.MaxFloat64, Max: math.MaxFloat64}, "finite"},
		{"logarithm of zero", Axis{Min: 0, Max: 1, Log: true}, "begin above zero"},
		{"logarithm of less", Axis{Min: -1, Max: 1, Log: true}, "begin above zero"},
		{"too many decades", Axis{Min: 1e-300, Max: 1e300, Log: true}, "decades"},
		{"too narrow", Axis{Min: 1e9, Max: 1e9 + 0.1}, "narrow"},
		{"long label", Axis{Label: strings.Repeat("long ", 12), Min: 0, Max: 1}, "telephone"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, upright := range []bool{false, true} {
				p := simple()
				if upright {
					p.Y = c.axis
				} else {
					p.X = c.axis
				}
				_, err := SVG(p)
				require.ErrorIs(t, err, ErrAxis)
				assert.ErrorContains(t, err, c.want)
				assert.ErrorContains(t, err, "plot: simple: ")
			}
		})
	}
}

func TestNumbersAsRead(t *testing.T) {
	level, percent := Axis{Unit: "dB", Min: -20, Max: 20}, Axis{Unit: "%", Min: 0.001, Max: 10, Log: true}
	assert.Equal(t, "−3.2\u00a0dB", level.text(-3.21))
	assert.Equal(t, "0.0\u00a0dB", level.text(-0.01), "no minus before zero")
	assert.Equal(t, "not known", level.text(math.NaN()))
	assert.Equal(t, "not known", level.text(math.Inf(-1)))
	assert.Equal(t, "0.00123\u00a0%", percent.text(0.001234))
	assert.Equal(t, "12.3\u00a0%", percent.text(12.34))
	assert.Equal(t, "0.00\u00a0%", percent.text(0))
	assert.Equal(t, "1.25 kHz", Frequency(20, 20000).text(1250))
	assert.Equal(t, "0.50", Axis{Min: 0, Max: 10}.text(0.5))
}

func TestSpan(t *testing.T) {
	x := Frequency(20, 20000)
	nan := math.NaN()
	s := Series{X: []float64{10, 100, 1000, 2000}, Y: []float64{99, -7.2, nan, 3}, Low: []float64{0, -11, nan, 2}, High: []float64{0, -6, nan, 4}}
	low, high := Span(x, 5, s)
	assert.Equal(t, []float64{-15, 5}, []float64{low, high}, "with the uncertainty, without what lies beside the axis")
	low, high = Span(x, 5)
	assert.Equal(t, []float64{0, 5}, []float64{low, high})
	low, high = Span(x, 5, Series{X: []float64{100}, Y: []float64{10}})
	assert.Equal(t, []float64{10, 15}, []float64{low, high})
	assert.Panics(t, func() { Span(x, 0) })
}
