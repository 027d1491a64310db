// Package report writes the results of a review for publication: a page that loads nothing from
// elsewhere (report.html), the results for other programs (results.json, described by
// results.schema.json), tidy tables (response.csv, distortion.csv) and the response as text
// (response.txt). It writes all of them from one review.Results.
package report

import (
	"bufio"
	"cmp"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"

	"example.com/earnest/internal/parallel"
	"example.com/earnest/target/review"
)

// ErrExists is returned for a folder that already holds a report.
var ErrExists = errors.New("a report already exists")

// ErrNotJudged is returned for results that have not been judged.
var ErrNotJudged = errors.New("report: the results are not judged; call Judge of review.Results first")

// ResultsSchema is the JSON Schema of results.json.
//
//go:embed results.schema.json
var ResultsSchema []byte

// spectraFile is the file with the spectra of music and speech.
const spectraFile = "spectra.csv"

// Files are the files that Write makes. A stimulus with further parts adds further.csv. Music and
// speech add spectra.csv and the excerpts, as WAV and FLAC files whose names begin with "excerpt-".
var Files = []string{"report.html", "results.json", "results.schema.json", "response.csv",
	"distortion.csv", "response.txt"}

// Vacant returns ErrExists for a folder with any file of a report, and nil for any other or a
// missing folder. Call it before minutes of measuring.
func Vacant(folder string) error {
	excerpts, err := filepath.Glob(filepath.Join(folder, "excerpt-*.[wf]*"))
	if err != nil { // a folder whose name is a pattern
		excerpts = nil
	}
	names := append(slices.Clone(Files), spectraFile, furtherFile)
	for _, path := range excerpts {
		names = append(names, filepath.Base(path))
	}
	for _, name := range names {
		if _, err := os.Lstat(filepath.Join(folder, name)); !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("report: %s: %w; name another folder, or ask for it to be replaced",
				filepath.Join(folder, name), ErrExists)
		}
	}
	return nil
}

// Write writes the report of judged results into a folder, which it creates if needed. If any file
// of a report exists, it writes nothing and returns ErrExists, unless replace is set. It writes the
// files to a temporary folder and moves them once all are complete, so a failure leaves no
// incomplete report. If the process is killed during the move, the next Lock of the folder moves
// the rest.
func Write(folder string, r *review.Results, replace bool) error {
	return write(folder, r, replace, false)
}

// WriteEmbedded is like Write but also puts the excerpts of music and speech into the page, 20 MB
// at most, so that the page alone can be passed on. Publishing the page publishes that material.
func WriteEmbedded(folder string, r *review.Results, replace bool) error {
	return write(folder, r, replace, true)
}

func write(folder string, r *review.Results, replace, embed bool) error {
	if r.Judgement == nil {
		return ErrNotJudged
	}
	if !replace {
		if err := Vacant(folder); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	temporary, err := os.MkdirTemp(folder, unfinished)
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	defer os.RemoveAll(temporary)
	writers := map[string]func(io.Writer, *review.Results) error{
		"report.html":         func(w io.Writer, r *review.Results) error { return writePage(w, r, english, embed) },
		"results.json":        WriteJSON,
		"results.schema.json": func(w io.Writer, _ *review.Results) error { _, err := w.Write(ResultsSchema); return err },
		"response.csv":        writeResponse,
		"distortion.csv":      writeDistortion,
		"response.txt":        writeText,
	}
	files := slices.Clone(Files)
	if len(r.Programmes) > 0 {
		files = append(files, spectraFile)
		writers[spectraFile] = writeSpectra
	}
	if len(askedFurther(r)) > 0 {
		files = append(files, furtherFile)
		writers[furtherFile] = writeFurther
	}
	for name, write := range excerptWriters(r) {
		files = append(files, name)
		writers[name] = func(w io.Writer, _ *review.Results) error { return write(w) }
	}
	errs := make([]error, len(files))
	parallel.Do(len(files), func(i int) {
		if err := writeFile(filepath.Join(temporary, files[i]), r, writers[files[i]]); err != nil {
			errs[i] = fmt.Errorf("report: %s: %w", files[i], err)
		}
	})
	if err := cmp.Or(errs...); err != nil {
		return err
	}
	if err := settle(temporary, folder); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	return nil
}

func writeFile(path string, r *review.Results, write func(io.Writer, *review.Results) error) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	if err := write(w, r); err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return f.Close()
}

// orNaN returns v, or NaN if it was not given.
func orNaN(v float64) float64 {
	if v == 0 {
		return math.NaN()
	}
	return v
}
