package plot_test

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
)

// A page holds the style sheet and the script once, and any number of figures.
func Example() {
	x := plot.Frequency(20, 20000)
	p := plot.Plot{
		ID: "response", Title: "Response", Summary: "Level is even from 100 Hz to 10 kHz.",
		X: x,
		Series: []plot.Series{
			{Name: "Left", X: []float64{100, 1000, 10000}, Y: []float64{-1, 0, -3}, Style: plot.Blue},
			{Name: "Right", X: []float64{100, 1000, 10000}, Y: []float64{-2, 0, math.NaN()}, Style: plot.Vermilion},
		},
		Unknown: plot.Outside(x, response.Band{Low: 100, High: 10000}, "not known here"),
	}
	low, high := plot.Span(x, 10, p.Series...)
	p.Y = plot.Axis{Label: "Level", Unit: "dB", Min: low - 10, Max: high + 10}

	figure, err := plot.Figure(p)
	if err != nil {
		fmt.Println(err)
		return
	}
	page := template.Must(template.New("page").Parse(`<!doctype html>
<html lang="en"><title>Report</title><style>{{.CSS}}</style>
<body>{{.Figure}}<script>{{.Script}}</script></body></html>`))
	var out strings.Builder
	err = page.Execute(&out, map[string]any{"CSS": plot.CSS(), "Script": plot.Script(plot.English), "Figure": figure})
	fmt.Println(err, strings.Count(out.String(), "<svg xmlns"), "plot")
	// Output: <nil> 1 plot
}

// Values that cannot be drawn give an error that names the place.
func ExampleSVG() {
	_, err := plot.SVG(plot.Plot{
		ID: "distortion", Title: "Distortion", Summary: "Distortion below one per cent.",
		X: plot.Frequency(20, 20000),
		Y: plot.Axis{Label: "THD", Unit: "%", Min: 0, Max: 10, Log: true},
	})
	fmt.Println(err)
	// Output: plot: distortion: Y axis cannot be drawn: it is logarithmic and begins at 0; begin above zero
}

// The table has the values of the picture and says where they are not known.
func ExampleTable() {
	fmt.Println(plot.Table(plot.Plot{
		ID: "match", Title: "Left less right",
		X:      plot.Frequency(20, 20000),
		Y:      plot.Axis{Label: "Level", Unit: "dB", Min: -10, Max: 10},
		Series: []plot.Series{{Name: "Difference", X: []float64{100, 1000}, Y: []float64{-0.5, math.NaN()}}},
	}))
	// Output:
	// <details class="plot-table" id="match-table"><summary>Values as a table<span class="plot-said">: Left less right</span></summary><div class="plot-scroll" tabindex="0" role="region" aria-label="Left less right: values"><table>
	// <thead><tr><th scope="col">Frequency, Hz</th><th scope="col">Difference, dB</th></tr></thead>
	// <tbody>
	// <tr><th scope="row">100 Hz</th><td>−0.50</td></tr>
	// <tr><th scope="row">1 kHz</th><td class="plot-gap">not known</td></tr>
	// </tbody></table></div></details>
}

func ExampleSpan() {
	s := plot.Series{X: []float64{100, 1000}, Y: []float64{-7.5, 12}}
	fmt.Println(plot.Span(plot.Frequency(20, 20000), 5, s))
	// Output: -10 15
}

// A response of one's own as a picture for a video.
func ExampleWritePicture() {
	measured := response.Curve{Frequency: []float64{20, 100, 1000, 10000, 16000}, Level: []float64{-6, -1, 0, 2, -4}, Valid: response.Band{Low: 20, High: 16000}}
	x := plot.Frequency(20, 20000)
	p := plot.Plot{
		ID: "mine", Title: "A response of my own", Summary: "Level within 6 dB.", X: x,
		Y:       plot.Axis{Label: "Level", Unit: "dB", Min: -10, Max: 10},
		Series:  []plot.Series{{Name: "Left", X: measured.Frequency, Y: measured.Level, Style: plot.Blue}},
		Unknown: plot.Outside(x, measured.Valid, "not known"),
	}
	var file strings.Builder
	err := plot.WritePicture(&file, p, plot.Picture{Format: "svg", Line: "on my rig"})
	fmt.Println(err, strings.Contains(file.String(), "A response of my own"))
	// Output: <nil> true
}
