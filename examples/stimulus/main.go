// Command stimulus writes stimulus.wav, the file to play when measuring a pair of headphones. It
// also writes a sheet that says how to record it, and a session file to fill in.
//
//	go run ./examples/stimulus -to my-review
//
// It can also describe the contents of an existing file: sweeps of any program, noise, sequences,
// tones.
//
//	go run ./examples/stimulus -what played.wav
package main

import (
	_ "embed"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"text/template"

	"example.com/earnest/examples/session"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
	"example.com/earnest/sweep/recognise"
)

//go:embed sheet.txt
var sheet string

//go:embed louder.txt
var louder string

//go:embed session.txt
var starter string

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "stimulus:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	var s session.Stimulus
	flags := flag.NewFlagSet("stimulus", flag.ContinueOnError)
	to := flags.String("to", "stimulus", "folder to write into")
	replace := flags.Bool("replace", false, "replace existing files")
	encoding := flags.String("encoding", "pcm24", "pcm16, pcm24 or float32")
	flags.Float64Var(&s.Start, "start", 20, "first frequency, Hz")
	flags.Float64Var(&s.Stop, "stop", 20000, "last frequency, Hz")
	flags.Float64Var(&s.Seconds, "seconds", 6, "length of one sweep")
	flags.IntVar(&s.SampleRate, "rate", 48000, "sample rate, Hz")
	flags.Float64Var(&s.Level, "level", -12, "peak level, dBFS")
	flags.Float64Var(&s.Silence, "silence", 2, "seconds of silence at each end")
	flags.Float64Var(&s.Gap, "gap", 1.5, "seconds of silence after each sweep")
	flags.IntVar(&s.Repeats, "repeats", 1, "sweeps on each side")
	flags.BoolVar(&s.Unmarked, "unmarked", false, "leave out the timing marks")
	flags.Float64Var(&s.FadeIn, "fade-in",
		0, "seconds of fade at the beginning of a sweep; 0 means one period of its first frequency, below "+
			"zero no fade")
	flags.Float64Var(&s.FadeOut, "fade-out", 0, "seconds of fade at its end; 0 means 0.005, below zero no fade")
	with := flags.String("with",
		string(sweep.AskGain), "measurements beyond the response, separated by commas: "+
			"distortion, levels, modulation, crosstalk, gain; nothing if empty")
	tones := flags.String("tones", "",
		"frequencies of further steady tones in Hz, separated by commas; needs distortion")
	flags.BoolVar(&s.Louder, "louder",
		false, "add a level 6 dB above -level; needs levels. First read what is printed without it")
	what := flags.String("what", "", "say what a `file` holds, and write nothing")
	inverse := flags.Bool("inverse", false, "also write the sweep's classic inverse filter, for a convolver")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if *what != "" {
		return say(*what)
	}
	asked := false
	flags.Visit(func(f *flag.Flag) { asked = asked || f.Name == "with" })
	if s.Unmarked && !asked { // parts are located by the marks
		*with = ""
	}
	if *with != "" {
		s.With = strings.Split(*with, ",")
	}
	if *tones != "" {
		for _, text := range strings.Split(*tones, ",") {
			f, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
			if err != nil {
				return fmt.Errorf("-tones %q: %q is not a frequency; give numbers in Hz, separated by "+
					"commas", *tones, text)
			}
			s.Tones = append(s.Tones, f)
		}
	}
	format, ok := map[string]capture.Format{"pcm16": {Bits: 16}, "pcm24": {Bits: 24},
		"float32": {Bits: 32, Float: true}}[*encoding]
	if !ok {
		return fmt.Errorf("-encoding %q; choose pcm16, pcm24 or float32", *encoding)
	}
	stimulus, err := s.Build()
	if err != nil {
		return err
	}
	if err := write(*to, *replace, s, stimulus, format); err != nil || !*inverse {
		return err
	}
	return writeInverse(filepath.Join(*to, "inverse.wav"), *replace, stimulus.Sweep())
}

// say prints the contents of a file.
func say(path string) error {
	rec, err := capture.Read(path)
	if err != nil {
		return err
	}
	found := recognise.Find(rec.Channels, rec.SampleRate)
	for _, c := range found {
		harmonics := "harmonics: not known with this signal"
		if c.Law() != nil {
			harmonics = "harmonics: can be read from this signal"
		}
		fmt.Printf("%v; %s\n", c, harmonics)
		if doubt := c.Doubt; doubt != "" {
			fmt.Println("  doubt:", doubt)
		}
	}
	if len(found) == 0 {
		fmt.Println("silence")
	}
	return nil
}

// writeInverse writes the inverse filter of a sweep as 32-bit float: convolved with a recording of
// the sweep, it gives the impulse response. Sweep.InverseFilter states its errors.
func writeInverse(path string, replace bool, s *sweep.Sweep) error {
	sound := &capture.Recording{SampleRate: s.SampleRate(), Channels: [][]float64{s.InverseFilter()}}
	if err := capture.Write(path, sound, capture.WriteConfig{Format: capture.Format{Bits: 32, Float: true},
		Overwrite: replace}); err != nil {
		return err
	}
	fmt.Println(path)
	return nil
}

// write puts the three files into the folder. It writes none of them if one of that name is there
// and may not be replaced.
func write(to string, replace bool, s session.Stimulus, stimulus *sweep.Stimulus, format capture.Format) error {
	if err := os.MkdirAll(to, 0o755); err != nil {
		return err
	}
	files := []struct{ name, text string }{{"how-to-record.txt", sheet}, {"session.toml", starter}}
	if !replace {
		for _, name := range []string{"stimulus.wav", files[0].name, files[1].name} {
			if _, err := os.Stat(filepath.Join(to, name)); !errors.Is(err, fs.ErrNotExist) {
				return fmt.Errorf("%s already exists; give another folder with -to, or "+
					"-replace", filepath.Join(to, name))
			}
		}
	}
	settings, err := s.Settings()
	if err != nil {
		return err
	}
	sound := &capture.Recording{SampleRate: stimulus.Sweep().SampleRate(), Channels: stimulus.Channels(),
		Settings: settings}
	if err := capture.Write(filepath.Join(to, "stimulus.wav"), sound,
		capture.WriteConfig{Format: format, Overwrite: replace}); err != nil {
		return err
	}
	fmt.Printf("%s: %.1f s\n", filepath.Join(to, "stimulus.wav"), stimulus.Duration())
	for _, f := range files {
		text, err := fill(f.text, s, stimulus)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(to, f.name), []byte(text), 0o644); err != nil {
			return err
		}
		fmt.Println(filepath.Join(to, f.name))
	}
	fmt.Println("Read how-to-record.txt before you play anything: the sweep can hurt.")
	if slices.Contains(s.With, string(sweep.AskLevels)) {
		fmt.Println(louder)
	}
	return nil
}

// fill completes a text with the data of the stimulus.
func fill(text string, s session.Stimulus, stimulus *sweep.Stimulus) (string, error) {
	t, err := template.New("").Parse(text)
	if err != nil {
		return "", err
	}
	var out strings.Builder
	err = t.Execute(&out, map[string]any{
		"S": s, "Duration": stimulus.Duration(), "Timeline": timeline(stimulus),
		"Further": slices.ContainsFunc(stimulus.Parts(),
			func(p sweep.Part) bool { return p.Asks != "" && p.Asks != sweep.AskGain }),
		"Gain":   slices.Contains(s.With, string(sweep.AskGain)),
		"Levels": levels(stimulus), "Louder": louder,
	})
	return out.String(), err
}

// timeline lists the segments with their times.
func timeline(stimulus *sweep.Stimulus) string {
	var out strings.Builder
	fs := float64(stimulus.Sweep().SampleRate())
	for _, s := range stimulus.Segments() {
		fmt.Fprintf(&out, "  %6.2f s to %6.2f s   %v\n", float64(s.Start)/fs, float64(s.Start+s.Len)/fs, s.Kind)
	}
	for _, p := range stimulus.Parts() {
		fmt.Fprintf(&out, "  %6.2f s to %6.2f s   %v\n", float64(p.Start)/fs, float64(p.Start+p.Len)/fs, p)
	}
	return strings.TrimRight(out.String(), "\n")
}

// levels announces each level of the sweeps at rising levels: the time at which it begins, and how
// much louder it is than the one before.
func levels(stimulus *sweep.Stimulus) string {
	var out strings.Builder
	before := math.NaN()
	for _, p := range stimulus.Parts() {
		if p.Asks != sweep.AskLevels || p.Level == before {
			continue
		}
		fmt.Fprintf(&out, "  from %6.2f s on: %.4g dBFS", float64(p.Start)/float64(stimulus.Sweep().SampleRate()), p.Level)
		if !math.IsNaN(before) {
			fmt.Fprintf(&out, ", %.4g dB louder than before", p.Level-before)
		}
		if p.Level > stimulus.Level() {
			fmt.Fprint(&out, ", LOUDER THAN THE SWEEPS AT THE BEGINNING")
		}
		fmt.Fprintln(&out)
		before = p.Level
	}
	return strings.TrimRight(out.String(), "\n")
}
