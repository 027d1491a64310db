package main

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"math"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response"
	"example.com/earnest/target/change"
)

//go:embed overnight.html
var overnightText string

var overnightTemplate = template.Must(template.New("overnight").Parse(overnightText))

// night is a pair that is measured in the evening and the next morning. Its number seeds the draw,
// so that a class can discuss the same one.
type night struct {
	Number, Seatings int
	Guess            string // yes or no; empty before the reader has guessed
	Right, Of        int    // guesses so far, this one among them

	Changed            bool
	What, Answer, Text string
	Curves, Difference template.HTML
	PlotStyle, Style   template.CSS
	moved              func(octaves float64) float64
}

// measure draws the night and, once the reader has guessed, tests it.
func (n *night) measure() error {
	r := rand.New(rand.NewPCG(uint64(n.Number), 8))
	n.Changed, n.What = r.IntN(2) == 0, "It is the same pair, and nothing about it changed."
	n.moved = func(float64) float64 { return 0 }
	if n.Changed {
		at, by := -3+6*r.Float64(), (1+r.Float64())*math.Copysign(1, r.Float64()-0.5)
		n.moved = func(x float64) float64 { return by * math.Exp2(-(x-at)*(x-at)) }
		n.What = signed(fmt.Sprintf("It changed, by %+.1f dB about %s.", by,
			response.FormatFrequency(math.Round(100*math.Exp2(at))*10)))
	}
	var all []change.Seating
	for _, i := range r.Perm(2 * n.Seatings) {
		condition := "evening"
		if i >= n.Seatings {
			condition = "morning"
		}
		all = append(all, change.Seating{Condition: condition, Response: n.seated(r, condition == "morning")})
	}
	p := plot.Plot{ID: "night", Title: "All seatings",
		Summary: "The response in every seating, of the evening and of the morning.",
		X:       plot.Frequency(20, 20000), Y: plot.Axis{Label: "Level", Unit: "dB", Min: -10, Max: 10},
		DecibelsPerDecade: 25}
	named := map[string]bool{}
	for _, s := range all {
		one := plot.Series{X: s.Response.Frequency, Y: s.Response.Level, Style: plot.Blue}
		if s.Condition == "morning" {
			one.Style = plot.Vermilion
		}
		if !named[s.Condition] { // for the legend
			one.Name, named[s.Condition] = "a seating of the "+s.Condition, true
		}
		p.Series = append(p.Series, one)
	}
	var err error
	n.PlotStyle, n.Style = plot.CSS(), template.CSS(pageStyle)
	if n.Curves, err = plot.Figure(p); err != nil || n.Guess == "" {
		return err
	}
	if n.Of++; (n.Guess == "yes") == n.Changed {
		n.Right++
	}
	changes, err := change.Compare(all, change.Config{Against: "evening", Random: true})
	if err != nil {
		return err
	}
	return n.tested(&changes[0])
}

// tested adds the result of the test.
func (n *night) tested(c *change.Change) (err error) {
	n.Answer, n.Text = c.Answer.String(), signed(c.String())
	band := plot.Series{Name: "morning less evening, with the band of the whole curve",
		X: c.Curve.Frequency, Y: c.Curve.Level, Style: plot.Blue}
	truth := plot.Series{Name: "the truth", X: c.Curve.Frequency, Style: plot.Ink}
	margin := plot.Series{Name: fmt.Sprintf("changes up to ± %g dB", c.Margin), X: c.Curve.Frequency, Style: plot.Green}
	for i, v := range c.Curve.Level {
		band.Low, band.High = append(band.Low, v-c.Simultaneous[i]), append(band.High, v+c.Simultaneous[i])
		truth.Y = append(truth.Y, n.moved(math.Log2(c.Curve.Frequency[i]/1000)))
		margin.Y = append(margin.Y, 0)
		margin.Low, margin.High = append(margin.Low, -c.Margin), append(margin.High, c.Margin)
	}
	n.Difference, err = plot.Figure(plot.Plot{ID: "overnight", Title: "The difference", Summary: n.Text,
		X: plot.Frequency(20, 20000), Y: plot.Axis{Label: "Difference", Unit: "dB", Min: -6, Max: 6},
		Series: []plot.Series{margin, band, truth}, DecibelsPerDecade: 10})
	return err
}

// seated returns the response in one seating, with random changes of bass by the seal, of treble by
// the position, and of level.
func (n *night) seated(r *rand.Rand, morning bool) response.Curve {
	c := response.Curve{Frequency: response.LogGrid(20, 20000, 48), Rig: "simulated",
		Valid: response.Band{Low: 20, High: 20000}}
	leak, corner, level := 1.5*math.Abs(r.NormFloat64()), -3.5+0.6*r.NormFloat64(), 0.15*r.NormFloat64()
	var notches [5]struct{ at, by float64 }
	for k := range notches {
		notches[k].at, notches[k].by = 2.4+0.4*(float64(k)+r.Float64()), r.NormFloat64()
	}
	for _, f := range c.Frequency {
		x := math.Log2(f / 1000)
		v := 2*math.Sin(1.3*x) - 0.4*x + level - leak/(1+math.Exp2(2*(x-corner)))
		for _, one := range notches {
			v += one.by * math.Exp2(-60*(x-one.at)*(x-one.at))
		}
		if morning {
			v += n.moved(x)
		}
		c.Level = append(c.Level, v)
	}
	return c
}

// Link returns the address of a night with other seatings or with a guess.
func (n *night) Link(number, seatings int, guess string) string {
	q := url.Values{"night": {strconv.Itoa(number)}, "seatings": {strconv.Itoa(seatings)},
		"right": {strconv.Itoa(n.Right)}, "of": {strconv.Itoa(n.Of)}}
	if guess != "" {
		q.Set("guess", guess)
	}
	return "/overnight?" + q.Encode()
}

// Next returns the number of another pair, and Others the numbers of seatings to choose from.
func (n *night) Next() int { return n.Number%9999 + 1 }

func (n *night) Others() []int { return slices.Clone(seatingsOffered) }

// seatingsOffered are the numbers of seatings, in the evening and in the morning, that the reader
// may choose.
var seatingsOffered = []int{2, 4, 8}

// overnight shows the page of the eighth lesson.
func (w *workshop) overnight(out http.ResponseWriter, in *http.Request) {
	n, err := readNight(in.URL.Query())
	if err == nil {
		var leave func()
		if leave, err = w.queue.enter(in.Context()); err != nil {
			out.Header().Set("Retry-After", again)
			http.Error(out, "workshop: "+err.Error(), http.StatusServiceUnavailable)
			return
		}
		defer leave()
		err = n.measure()
	}
	if err != nil {
		http.Error(out, "workshop: "+err.Error(), http.StatusBadRequest)
		return
	}
	var page bytes.Buffer
	if err := overnightTemplate.Execute(&page, n); err != nil {
		panic(err) // a fixed template, written to memory
	}
	h := out.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; "+
		"form-action 'none'; frame-ancestors 'none'")
	out.Write(page.Bytes()) //nolint:errcheck // nobody waits for it any more
}

func readNight(q url.Values) (*night, error) {
	n := &night{Number: 1, Seatings: 4, Guess: q.Get("guess")}
	for _, one := range []struct {
		key       string
		into      *int
		low, high int
	}{
		{"night", &n.Number, 1, 9999}, {"seatings", &n.Seatings, 2, 8},
		{"right", &n.Right, 0, 9999}, {"of", &n.Of, 0, 9999},
	} {
		text := q.Get(one.key)
		if text == "" {
			continue
		}
		v, err := strconv.Atoi(text)
		if err != nil || v < one.low || v > one.high {
			return nil, fmt.Errorf("%s=%q; it is a number from %d to %d", one.key, text, one.low, one.high)
		}
		*one.into = v
	}
	if n.Guess != "" && n.Guess != "yes" && n.Guess != "no" {
		return nil, fmt.Errorf("guess=%q; it is yes or no", n.Guess)
	}
	return n, nil
}
