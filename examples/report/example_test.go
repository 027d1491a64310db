//go:build !race

package report_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/target/review"
)

// A measured and judged session becomes a page, results for programs, and tables.
func ExampleWrite() {
	folder, err := os.MkdirTemp("", "report")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(folder)
	results, err := measure(folder)
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := report.Write(folder, results, false); err != nil {
		fmt.Println(err)
		return
	}
	for _, name := range report.Files {
		_, err := os.Stat(filepath.Join(folder, name))
		fmt.Println(name, err)
	}
	// Output:
	// report.html <nil>
	// results.json <nil>
	// results.schema.json <nil>
	// response.csv <nil>
	// distortion.csv <nil>
	// response.txt <nil>
}

// The results for other programs can be written anywhere, once they are judged.
func ExampleWriteJSON() {
	err := report.WriteJSON(os.Stdout, &review.Results{})
	fmt.Println(err)
	// Output:
	// report: the results are not judged; call Judge of review.Results first
}

// measure measures and judges a small invented pair.
func measure(folder string) (*review.Results, error) {
	small := demo.Options{Seconds: 1, Seatings: 1, Material: -1, Alone: true}
	if err := demo.Write(folder, small, func(string) {}); err != nil {
		return nil, err
	}
	s, err := session.Read(folder)
	if err != nil {
		return nil, err
	}
	return s.Review(nil)
}

// A page for a blind comparison needs music or speech.
func ExampleWriteListening() {
	fmt.Println(report.WriteListening(os.TempDir(), &review.Results{}, true))
	// Output: listening: there are no excerpts to compare; the session needs music or speech recorded both ways
}

// A page that holds its sound is written as any other, from results that are judged.
func ExampleWriteEmbedded() {
	fmt.Println(report.WriteEmbedded(os.TempDir(), &review.Results{}, true))
	// Output: report: the results are not judged; call Judge of review.Results first
}

// Pictures to publish are drawn from results that are judged.
func ExampleWritePictures() {
	fmt.Println(report.WritePictures(os.TempDir(), &review.Results{}, true))
	// Output: report: the results are not judged; call Judge of review.Results first
}

// Results that are not judged are not written, in any language.
func ExampleWriteTranslation() {
	err := report.WriteTranslation(os.TempDir(), &review.Results{}, "de", false)
	fmt.Println(errors.Is(err, report.ErrNotJudged))
	// Output: true
}
