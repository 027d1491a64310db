package report

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"example.com/earnest/examples/report/listening"
	"example.com/earnest/internal/flac"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme/excerpt"
	"example.com/earnest/target/review"
)

// excerptFiles maps a version of an excerpt to its part of file names and of text keys.
var excerptFiles = map[string]string{
	excerpt.Direct: "direct", excerpt.Through: "through",
	review.FilteredByResponse: "by-response", review.FilteredByDeviation: "by-deviation",
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
	for k, v := range p.Excerpts.Versions {
		out.Versions = append(out.Versions, excerptJSON{excerptFile(i, p.Excerpts, k) + ".wav", english.ExcerptIs(v),
			number(v.Gain)})
	}
	return out
}

// ExcerptIs returns the description of a version of an excerpt.
func (l language) ExcerptIs(v excerpt.Version) string {
	if rival, is := strings.CutPrefix(v.Name, review.FilteredByRival); is {
		return l.Text("excerpt.by-rival", rival)
	}
	return l.Text("excerpt." + excerptFiles[v.Name])
}

// mostEmbedded is the largest amount of sound in a page, in bytes.
const mostEmbedded = 20 << 20

// Source returns the address of an excerpt's sound: in the page itself, as FLAC, if that is asked
// for and the total stays below 20 MB; otherwise the file beside the page.
func (v *view) Source(file string, version excerpt.Version, e *review.Excerpts) (template.URL, error) {
	beside := template.URL(file + ".wav")
	if !v.embed {
		return beside, nil
	}
	var sound bytes.Buffer
	if err := writeFLAC(&sound, version, e.SampleRate); err != nil {
		return "", err
	}
	text := base64.StdEncoding.EncodeToString(sound.Bytes())
	if v.embedded+len(text) > mostEmbedded {
		return beside, nil
	}
	v.embedded += len(text)
	return template.URL("data:audio/flac;base64," + text), nil
}

// ListeningFile is the name of the file that WriteListening makes.
const ListeningFile = "listening.html"

// WriteListening writes a page on which readers compare the excerpts of music and speech without
// knowing which is which. It holds the sound, up to 20 MB. If the file exists, it returns
// ErrExists, unless replace is set. It returns listening.ErrNothing if there are no excerpts.
func WriteListening(folder string, r *review.Results, replace bool) error {
	words := map[string]string{}
	var pieces []listening.Piece
	for _, p := range r.Programmes {
		if p.Excerpts != nil {
			for _, v := range p.Excerpts.Versions {
				words[v.Name] = english.ExcerptIs(v)
			}
			pieces = append(pieces, listening.Piece{Name: p.Name, SampleRate: p.Excerpts.SampleRate,
				Versions: p.Excerpts.Versions, Words: words})
		}
	}
	return writeBeside(folder, ListeningFile, replace, func(w io.Writer) error {
		return listening.Write(w, r.About.Name, pieces)
	})
}

// excerptFile is the name of the file of version k of the excerpt of piece i, without its
// extension.
func excerptFile(i int, e *review.Excerpts, k int) string {
	name, rivals := excerptFiles[e.Versions[k].Name], 0
	for _, v := range e.Versions[:k+1] {
		if strings.HasPrefix(v.Name, review.FilteredByRival) {
			rivals++
		}
	}
	if name == "" {
		name = fmt.Sprintf("by-rival-%d", rivals)
	}
	return fmt.Sprintf("excerpt-%d-%s", i+1, name)
}

// writeFLAC writes a version in 24 bits.
func writeFLAC(w io.Writer, v excerpt.Version, rate int) error {
	x, err := whole(v, rate, 24)
	if err != nil {
		return err
	}
	return flac.Write(w, rate, [][]int32{x}, 24)
}

// excerptWriters returns functions that write the excerpts as WAV and FLAC of 24 bits, by file
// name.
func excerptWriters(r *review.Results) map[string]func(io.Writer) error {
	writers := map[string]func(io.Writer) error{}
	for i, p := range r.Programmes {
		if p.Excerpts == nil {
			continue
		}
		for k, v := range p.Excerpts.Versions {
			rate := p.Excerpts.SampleRate
			writers[excerptFile(i, p.Excerpts, k)+".wav"] = func(w io.Writer) error { return encode(w, v, rate, 24) }
			writers[excerptFile(i, p.Excerpts, k)+".flac"] = func(w io.Writer) error { return writeFLAC(w, v, rate) }
		}
	}
	return writers
}

// encode writes a version as WAV.
func encode(w io.Writer, v excerpt.Version, rate, bits int) error {
	rec := &capture.Recording{Name: v.Name, SampleRate: rate, Channels: [][]float64{v.Samples}}
	return capture.Encode(w, rec, capture.WriteConfig{Format: capture.Format{Bits: bits}, Seed: 1})
}

// whole returns the samples of a version as the integers of its WAV file, with dither.
func whole(v excerpt.Version, rate, bits int) ([]int32, error) {
	var file bytes.Buffer
	if err := encode(&file, v, rate, bits); err != nil {
		return nil, err
	}
	size := bits / 8
	n := size * len(v.Samples)
	data := file.Bytes()[file.Len()-n-n%2:] // at the end of the file, whose length is even
	x := make([]int32, len(v.Samples))
	for i := range x {
		for b := range size {
			x[i] |= int32(data[size*i+b]) << (32 - bits + 8*b)
		}
		x[i] >>= 32 - bits
	}
	return x, nil
}

// writeBeside writes a file beside a report, whole or not at all.
func writeBeside(folder, name string, replace bool, write func(io.Writer) error) error {
	path := filepath.Join(folder, name)
	if _, err := os.Lstat(path); err == nil && !replace {
		return fmt.Errorf("report: %s: %w; name another folder, or ask for it to be replaced", path, ErrExists)
	}
	temporary, err := os.CreateTemp(folder, unfinished+"*")
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	defer os.Remove(temporary.Name())
	defer temporary.Close()
	if err := write(temporary); err != nil {
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
