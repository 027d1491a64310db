package report

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"

	"example.com/earnest/examples/report/listening"
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

// ListeningFile is what WriteListening makes.
const ListeningFile = "listening.html"

// WriteListening writes a page on which readers compare the excerpts of music and speech without
// knowing which is which. It holds the sound, up to 20 MB. Where the file is there already it returns
// ErrExists, unless replace is set. The error is listening.ErrNothing where there are no excerpts.
func WriteListening(folder string, r *review.Results, replace bool) error {
	words := map[string]string{}
	for name, w := range excerptWords {
		words[name] = w.words
	}
	var pieces []listening.Piece
	for _, p := range r.Programmes {
		if p.Excerpts != nil {
			pieces = append(pieces, listening.Piece{Name: p.Name, SampleRate: p.Excerpts.SampleRate, Versions: p.Excerpts.Versions, Words: words})
		}
	}
	path := filepath.Join(folder, ListeningFile)
	if _, err := os.Lstat(path); err == nil && !replace {
		return fmt.Errorf("report: %s: %w; name another folder, or ask for it to be replaced", path, ErrExists)
	}
	temporary, err := os.CreateTemp(folder, unfinished+"*")
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	defer os.Remove(temporary.Name())
	defer temporary.Close()
	if err := listening.Write(temporary, r.About.Name, pieces); err != nil {
		return err
	}
	if err := temporary.Chmod(0o644); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	if err := temporary.Close(); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return os.Rename(temporary.Name(), path)
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
