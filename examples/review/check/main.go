// Command check verifies the output of the main command on the demonstration: every file exists,
// the results follow their schema, the page is complete and loads nothing from elsewhere, and the
// measured response agrees with the simulated pair.
package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"example.com/earnest/examples/report"
	"example.com/earnest/internal/rig"
)

// results are the parts of results.json that checkTruth looks at; a level that is not known is
// null.
type results struct {
	Response struct {
		Frequency []float64             `json:"frequency_hz"`
		Level     map[string][]*float64 `json:"level_db"`
	} `json:"response"`
}

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "usage: check folder")
		os.Exit(2)
	}
	if err := check(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "check:", err)
		os.Exit(1)
	}
	fmt.Println("the report is correct:", os.Args[1])
}

func check(folder string) error {
	for _, name := range report.Files {
		if about, err := os.Stat(filepath.Join(folder, name)); err != nil || about.Size() == 0 {
			return fmt.Errorf("%s is missing or empty", name)
		}
	}
	return errors.Join(checkPage(folder), checkResults(folder), checkTable(folder, "response.csv", 6),
		checkTable(folder, "distortion.csv", 7))
}

// elsewhere finds text that would make a browser fetch something.
var elsewhere = regexp.MustCompile(`(?i)(src|href)\s*=\s*["']?(https?:)?//|@import|url\(\s*["']?(https?:)?//`)

// script finds content other than text: code, pictures and sound.
var script = regexp.MustCompile(`(?s)<script>.*?</script>|data:[a-z]+/[a-z]+;base64,[^"]*`)

func checkPage(folder string) error {
	page, err := os.ReadFile(filepath.Join(folder, "report.html"))
	if err != nil {
		return err
	}
	if found := elsewhere.Find(page); found != nil {
		return fmt.Errorf("report.html loads something from elsewhere: %s", found)
	}
	for _, id := range []string{"response", "response-linear", "match", "distortion-left", "distortion-right", "impulse"} {
		if !bytes.Contains(page, []byte(`id="`+id)) {
			return fmt.Errorf("report.html has no plot %q", id)
		}
	}
	text := script.ReplaceAll(page, nil)
	for _, word := range []string{"NaN", "Inf", "ZgotmplZ", "%!"} {
		if bytes.Contains(text, []byte(word)) {
			return fmt.Errorf("report.html contains %q", word)
		}
	}
	return nil
}

func checkResults(folder string) error {
	data, err := os.ReadFile(filepath.Join(folder, "results.json"))
	if err != nil {
		return err
	}
	schema, err := jsonschema.UnmarshalJSON(bytes.NewReader(report.ResultsSchema))
	if err != nil {
		return err
	}
	compiler := jsonschema.NewCompiler()
	if err := compiler.AddResource("results", schema); err != nil {
		return err
	}
	compiled, err := compiler.Compile("results")
	if err != nil {
		return err
	}
	value, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		return err
	}
	if err := compiled.Validate(value); err != nil {
		return err
	}
	var r results
	if err := json.Unmarshal(data, &r); err != nil {
		return err
	}
	return checkTruth(r)
}

// checkTruth compares the measured response of each side, averaged over the seatings, with that of
// the simulated pair from 100 Hz to 5 kHz, where a seating changes little. The calibration has
// removed the microphone's response. The limit of 0.5 dB is four times the scatter of seatings
// there.
func checkTruth(r results) error {
	subject, _, bench := rig.Demonstration()
	for name, side := range map[string]rig.Side{"left": rig.Left, "right": rig.Right} {
		var offset, worst float64
		for pass := range 2 {
			var sum, count float64
			for i, f := range r.Response.Frequency {
				if f < 100 || f > 5000 {
					continue
				}
				level := r.Response.Level[name][i]
				if level == nil {
					return fmt.Errorf("the %s response is not known at %v Hz", name, f)
				}
				h := bench.Truth(subject, side, 0, f)
				for _, q := range bench.Microphone {
					h /= q.Response(f, float64(bench.SampleRate))
				}
				d := *level - 10*math.Log10(real(h)*real(h)+imag(h)*imag(h)) - offset
				sum, count = sum+d, count+1
				worst = max(worst, math.Abs(d))
			}
			if pass == 0 {
				offset, worst = sum/count, 0
			}
		}
		if !(worst < 0.5) {
			return fmt.Errorf("the %s response is up to %.2f dB from the one that was simulated", name, worst)
		}
	}
	return nil
}

func checkTable(folder, name string, columns int) error {
	f, err := os.Open(filepath.Join(folder, name))
	if err != nil {
		return err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if len(rows) < 100 || len(rows[0]) != columns || !strings.HasSuffix(rows[0][0], "_hz") {
		return fmt.Errorf("%s: %d rows with the header %v", name, len(rows), rows[0])
	}
	return nil
}
