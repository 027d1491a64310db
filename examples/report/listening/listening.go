// Package listening makes a page on which a reader compares versions of an excerpt without knowing
// which is which: X is A or B, and the outcome comes with its exact binomial probability. The page
// holds the sound itself and loads nothing from elsewhere.
package listening

import (
	"bytes"
	_ "embed"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"io"

	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme/excerpt"
)

//go:embed listening.html
var pageText string

//go:embed listening.css
var style string

//go:embed listening.js
var script string

var page = template.Must(template.New("listening").Parse(pageText))

// mostBytes is the largest amount of sound in a page, in bytes.
const mostBytes = 20 << 20

// ErrNothing is returned if no piece has two versions.
var ErrNothing = errors.New(
	"listening: there are no excerpts to compare; the session needs music or speech recorded both ways")

// Piece is a piece of material in its versions, the direct recording first. They are equally loud
// and equally long.
type Piece struct {
	Name       string
	SampleRate int // Hz
	Versions   []excerpt.Version
	// Words describes each version, by its name.
	Words map[string]string
}

// encode returns the piece as JSON, its samples dithered to 16 bits.
func (p Piece) encode() ([]byte, error) {
	out := sound{Name: p.Name, Rate: p.SampleRate}
	for _, version := range p.Versions {
		var file bytes.Buffer
		rec := &capture.Recording{Name: version.Name, SampleRate: p.SampleRate, Channels: [][]float64{version.Samples}}
		if err := capture.Encode(&file, rec, capture.WriteConfig{Format: capture.Format{Bits: 16}, Seed: 1}); err != nil {
			return nil, err
		}
		// The samples are the last bytes of a WAV file of one channel.
		samples := file.Bytes()[file.Len()-2*len(version.Samples):]
		out.Versions = append(out.Versions, soundVersion{version.Name, base64.StdEncoding.EncodeToString(samples)})
	}
	return json.Marshal(out)
}

type comparison struct {
	Piece, Words string
	A, B         int
}

type sound struct {
	Name     string         `json:"name"`
	Rate     int            `json:"rate"`
	Versions []soundVersion `json:"versions"`
}

type soundVersion struct {
	Name    string `json:"name"`
	Samples string `json:"samples"` // base64 of 16-bit integers, little end first
}

type view struct {
	Pair, LeftOut string
	Recorded      bool // through headphones
	Comparisons   []comparison
	Versions      []struct{ Name, Words string }
	Pieces        []struct {
		ID   string
		Data template.JS
	}
	Style  template.CSS
	Script template.JS
}

// Write writes the page for a pair of headphones. It compares the direct recording of each piece
// with every other version. The filtered versions come first, since the rig's noise betrays the
// recording through the headphones. The page holds at most 20 MB of sound; pieces beyond that are
// left out and named. It returns [ErrNothing] if nothing can be compared.
func Write(w io.Writer, pair string, pieces []Piece) error {
	v := view{Pair: pair, Style: template.CSS(style), Script: template.JS(script)}
	size, seen := 0, map[string]bool{}
	for i, p := range pieces {
		if len(p.Versions) < 2 {
			continue
		}
		data, err := p.encode()
		if err != nil {
			return fmt.Errorf("listening: %s: %w", p.Name, err)
		}
		if size+len(data) > mostBytes {
			v.LeftOut += fmt.Sprintf("%s is left out: the page would hold more than %d MB of sound. ", p.Name,
				mostBytes>>20)
			continue
		}
		size += len(data)
		id := fmt.Sprintf("piece-%d", i+1)
		v.Pieces = append(v.Pieces, struct {
			ID   string
			Data template.JS
		}{id, template.JS(data)})
		for k := 2; k <= len(p.Versions); k++ {
			other := k - 1
			if p.Versions[1].Name == excerpt.Through { // last, since its noise betrays it
				other = 1 + (k-1)%(len(p.Versions)-1)
			}
			v.Comparisons = append(v.Comparisons,
				comparison{id, fmt.Sprintf("%s: %s against %s", p.Name, p.Versions[0].Name, p.Versions[other].Name), 0,
					other})
		}
		for _, version := range p.Versions {
			v.Recorded = v.Recorded || version.Name == excerpt.Through
			if !seen[version.Name] {
				seen[version.Name] = true
				v.Versions = append(v.Versions, struct{ Name, Words string }{version.Name, p.Words[version.Name]})
			}
		}
	}
	if len(v.Pieces) == 0 {
		return ErrNothing
	}
	return page.Execute(w, v)
}
