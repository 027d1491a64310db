package report

import (
	"fmt"
	"io"
	"math"

	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme/excerpt"
	"example.com/earnest/target/review"
)

// excerptWords say what each version of an excerpt is.
var excerptWords = map[string]struct{ file, words string }{
	excerpt.Direct:             {"direct", "what was played, without the headphones"},
	excerpt.Through:            {"through", "what the microphone recorded: the headphones, with the rig's noise and the room"},
	review.FilteredByResponse:  {"by-response", "what was played, with the tonal change of the headphones alone"},
	review.FilteredByDeviation: {"by-deviation", "what was played, with the headphones' deviation from the target alone"},
}

// excerptFile is the name of the file of a version of the excerpt of piece i.
func excerptFile(i int, v excerpt.Version) string {
	return fmt.Sprintf("excerpt-%d-%s.wav", i+1, excerptWords[v.Name].file)
}

// excerptWriters write the excerpts, by the names of their files, as WAV of 24 bits.
func excerptWriters(r *review.Results) map[string]func(io.Writer) error {
	writers := map[string]func(io.Writer) error{}
	for i, p := range r.Programmes {
		if p.Excerpts == nil {
			continue
		}
		for _, v := range p.Excerpts.Versions {
			writers[excerptFile(i, v)] = func(w io.Writer) error {
				rec := &capture.Recording{Name: v.Name, SampleRate: p.Excerpts.SampleRate, Channels: [][]float64{v.Samples}}
				return capture.Encode(w, rec, capture.WriteConfig{Format: capture.Format{Bits: 24}, Seed: 1})
			}
		}
	}
	return writers
}

// excerptJSON is one version of an excerpt.
type excerptJSON struct {
	File string `json:"file"`
	What string `json:"what"`
	// GainDB was applied to what was recorded, so that all versions are equally loud.
	GainDB number `json:"gain_db"`
}

// excerptsJSON are the versions of the excerpt of a piece.
type excerptsJSON struct {
	FromS    number        `json:"from_s"`
	Versions []excerptJSON `json:"versions"`
	Missing  string        `json:"missing,omitempty"`
}

func newExcerpts(i int, p *review.Programme) *excerptsJSON {
	if p.Excerpts == nil {
		return nil
	}
	out := &excerptsJSON{FromS: number(p.Excerpts.From), Versions: []excerptJSON{}, Missing: p.Excerpts.Missing}
	if p.Excerpts.Missing != "" {
		out.FromS = number(math.NaN())
	}
	for _, v := range p.Excerpts.Versions {
		out.Versions = append(out.Versions, excerptJSON{excerptFile(i, v), excerptWords[v.Name].words, number(v.Gain)})
	}
	return out
}
