package main

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

	"example.com/earnest/examples/workshop/bench"
)

// The picture's pixels, and the levels from its first colour to its last.
const (
	pictureColumns, pictureRows = 450, 220
	softest, loudest            = -100.0, 0.0 // dBFS
)

// The frame in units of the viewBox, which has the width of the other plots. The template uses the
// same values.
const (
	frameLeft, frameWidth    = 62.0, 630.0
	frameBottom, frameHeight = 348.0, 300.0
)

// mark is a tick of an axis of the picture.
type mark struct{ At, Label string }

// stops returns colours of the ramp at equal distances.
func (r ramp) stops() []string {
	const parts = 16
	var out []string
	for i := range parts + 1 {
		red, green, blue, _ := r[i*(shades-1)/parts].RGBA()
		out = append(out, fmt.Sprintf("#%02x%02x%02x", red>>8, green>>8, blue>>8))
	}
	return out
}

// spectrogramFigure is the spectrogram as a figure that looks like the plots: the picture in two
// palettes, with axes and the scale of levels. The page shows the palette that matches its colours.
func spectrogramFigure(s bench.Spectrogram) (template.HTML, error) {
	d := struct {
		Light, Dark               template.URL
		LightStops, DarkStops     []string
		Times, Frequencies, Scale []mark
		FrequencyLabel, Summary   string
	}{FrequencyLabel: "Frequency, Hz",
		Summary: "The sweep is a straight line, since each octave takes the same time; its harmonics are " +
			"the same line higher up, where they are above the noise."}
	if s.Linear {
		d.FrequencyLabel = "Frequency, kHz"
		d.Summary = "On a linear axis the sweep stays in the lowest part of the picture for most of its time and then " +
			"rises ever faster."
	}
	var err error
	if d.Light, err = picture(s, onLight); err != nil {
		return "", err
	}
	if d.Dark, err = picture(s, onDark); err != nil {
		return "", err
	}
	d.LightStops, d.DarkStops = onLight.stops(), onDark.stops()
	d.Times, d.Frequencies = timeMarks(s), frequencyMarks(s)
	for level := softest; level <= loudest; level += 20 {
		d.Scale = append(d.Scale, mark{units(frameLeft + frameWidth*(level-softest)/(loudest-softest)),
			signed(fmt.Sprint(level))})
	}
	var b strings.Builder
	err = spectrogramTemplate.Execute(&b, d)
	return template.HTML(b.String()), err
}

// picture draws the spectrogram in the colours of a ramp, with the lowest row at the bottom.
func picture(s bench.Spectrogram, colours ramp) (template.URL, error) {
	rows, columns := len(s.Levels), len(s.Levels[0])
	img := image.NewPaletted(image.Rect(0, 0, columns, rows), color.Palette(colours))
	for i, row := range s.Levels {
		for c, level := range row {
			shade := (level - softest) / (loudest - softest) * (shades - 1)
			img.Pix[(rows-1-i)*img.Stride+c] = uint8(max(0, min(shades-1, shade)))
		}
	}
	var b bytes.Buffer
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := encoder.Encode(&b, img); err != nil {
		return "", err
	}
	return template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes())), nil
}

// timeMarks returns about six marks at round times.
func timeMarks(s bench.Spectrogram) []mark {
	step := 0.1
	for _, t := range []float64{0.2, 0.5, 1} {
		if s.Length/step > 9 {
			step = t
		}
	}
	var out []mark
	for k := math.Ceil(s.Start / step); k*step <= s.Start+s.Length; k++ {
		out = append(out, mark{units(frameLeft + frameWidth*(k*step-s.Start)/s.Length),
			fmt.Sprintf("%.1f", math.Abs(k*step))})
	}
	return out
}

// frequencyMarks returns marks at the decades and between or, on a linear axis, every 5 kHz.
func frequencyMarks(s bench.Spectrogram) []mark {
	place := func(f float64) string {
		share := (f - s.Low) / (s.High - s.Low)
		if !s.Linear {
			share = math.Log(f/s.Low) / math.Log(s.High/s.Low)
		}
		return units(frameBottom - frameHeight*share)
	}
	if s.Linear {
		return []mark{{place(5000), "5"}, {place(10000), "10"}, {place(15000), "15"}, {place(20000), "20"}}
	}
	return []mark{{place(20), "20"}, {place(50), "50"}, {place(100), "100"}, {place(200), "200"}, {place(500), "500"},
		{place(1000), "1k"}, {place(2000), "2k"}, {place(5000), "5k"}, {place(10000), "10k"}, {place(20000), "20k"}}
}

func units(v float64) string { return fmt.Sprintf("%.1f", v) }

var spectrogramTemplate = template.Must(template.New("spectrogram").Funcs(template.FuncMap{
	"share": func(i int, stops []string) string { return units(100 * float64(i) / float64(len(stops)-1)) },
}).Parse(`<figure class="plot" id="spectrogram"><figcaption>The spectrogram</figcaption>
<svg xmlns="http://www.w3.org/2000/svg" class="plot-svg" viewBox="0 0 720 524" role="img" aria-labelledby="spectrogram-title" aria-describedby="spectrogram-desc">
<title id="spectrogram-title">The spectrogram</title>
<desc id="spectrogram-desc">{{.Summary}}</desc>
<defs>
<linearGradient id="spectrogram-light">{{range $i, $c := .LightStops}}<stop offset="{{share $i $.LightStops}}%" stop-color="{{$c}}"/>{{end}}</linearGradient>
<linearGradient id="spectrogram-dark">{{range $i, $c := .DarkStops}}<stop offset="{{share $i $.DarkStops}}%" stop-color="{{$c}}"/>{{end}}</linearGradient>
</defs>
<g class="on-light"><image x="62" y="48" width="630" height="300" preserveAspectRatio="none" href="{{.Light}}"/><rect x="62" y="462" width="630" height="16" fill="url(#spectrogram-light)"/></g>
<g class="on-dark"><image x="62" y="48" width="630" height="300" preserveAspectRatio="none" href="{{.Dark}}"/><rect x="62" y="462" width="630" height="16" fill="url(#spectrogram-dark)"/></g>
<g class="plot-grid"><path class="plot-decade" d="M62 48H692V348H62ZM62 462h630v16h-630Z"/>{{range .Times}}<path class="plot-decade" d="M{{.At}} 348v6"/>{{end}}{{range .Frequencies}}<path class="plot-decade" d="M62 {{.At}}h-6"/>{{end}}{{range .Scale}}<path class="plot-decade" d="M{{.At}} 478v6"/>{{end}}</g>
<g class="plot-ticks plot-xticks">{{range .Times}}<text x="{{.At}}" y="357" dy="0.8em">{{.Label}}</text>{{end}}{{range .Scale}}<text x="{{.At}}" y="487" dy="0.8em">{{.Label}}</text>{{end}}</g>
<g class="plot-ticks plot-yticks">{{range .Frequencies}}<text x="52" y="{{.At}}" dy="0.35em">{{.Label}}</text>{{end}}</g>
<text class="plot-axis" x="2" y="24">{{.FrequencyLabel}}</text>
<text class="plot-axis plot-xaxis" x="692" y="357" dy="2.25em">Time from the beginning of the sweep, s</text>
<text class="plot-axis" x="2" y="452">Level, dBFS</text>
</svg>
<p class="plot-note">{{.Summary}} A Hann window of 43 ms; a sine shows its peak level.</p>
</figure>`))
