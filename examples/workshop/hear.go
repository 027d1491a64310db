package main

import (
	"bytes"
	"fmt"
	"math"
	"net/http"
	"sync"
	"time"

	"example.com/earnest/examples/report/listening"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
	"example.com/earnest/response/programme/excerpt"
)

// hear shows the page of the seventh lesson, for a blind comparison of a tune with changed versions
// of itself.
func (w *workshop) hear(out http.ResponseWriter, _ *http.Request) {
	page, err := tunes()
	if err != nil {
		http.Error(out, "workshop: "+err.Error(), http.StatusInternalServerError)
		return
	}
	h := out.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy",
		"default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; "+
			"frame-ancestors 'none'")
	out.Write(page) // nolint:errcheck // the reader has gone
}

// raised are the changes of the tune about 3 kHz, in dB.
var raised = []float64{0.5, 1, 3}

// tunes makes the page once: invented music, unchanged and with a rise one octave wide about 3 kHz.
var tunes = sync.OnceValues(func() ([]byte, error) {
	const rate, seconds = 48000, 9
	tune := programme.Channel{Name: "a tune", Samples: rig.Music(rate, seconds, 3)[0], SampleRate: rate}
	cut, err := excerpt.Cut(tune, tune, &programme.Alignment{To: seconds}, excerpt.Config{Length: 8 * time.Second})
	if err != nil {
		return nil, err
	}
	words := map[string]string{excerpt.Direct: "the tune as it is"}
	for _, by := range raised {
		name := fmt.Sprintf("raised by %g dB about 3 kHz", by)
		words[name] = "the tune with a rise that is an octave wide"
		if cut, err = cut.Filter(name, rise(by)); err != nil {
			return nil, err
		}
	}
	all, err := cut.Equalise()
	if err != nil {
		return nil, err
	}
	all = append(all[:1], all[2:]...) // there is no recording through headphones
	var page bytes.Buffer
	err = listening.Write(&page, "The workshop",
		[]listening.Piece{{Name: tune.Name, SampleRate: rate, Versions: all, Words: words}})
	return page.Bytes(), err
})

// rise returns a response with a peak in dB at 3 kHz, a Gaussian over log frequency that falls to
// half half an octave away.
func rise(by float64) response.Curve {
	f := response.LogGrid(15, 22000, 24)
	c := response.Curve{Frequency: f, Level: make([]float64, len(f)), Valid: response.Band{Low: f[0], High: f[len(f)-1]}}
	for i, v := range f {
		octaves := math.Log2(v / 3000)
		c.Level[i] = by * math.Exp2(-4*octaves*octaves)
	}
	return c
}
