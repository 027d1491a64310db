// Package demo makes the session of the demonstration. It simulates an invented pair, two invented
// rivals and an invented rig, and writes the WAV files of their recordings beside session files.
// A review then reads them like any other recordings.
package demo

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/template"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/parallel"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/smoothing"
	"example.com/earnest/sweep"
)

//go:embed session.toml
var sessionText string

//go:embed material.toml
var materialText string

var (
	sessionTemplate  = template.Must(template.New("session").Parse(sessionText))
	materialTemplate = template.Must(template.New("material").Parse(materialText))
)

// Options size the demonstration; the zero value is the usual one.
type Options struct {
	Seconds  float64 // of one sweep; 0 means 6
	Seatings int     // of each pair; 0 means 3
	Material float64 // seconds of music and of speech; 0 means 20, less than 0 none
	Alone    bool    // without the rivals
}

// pair is one pair whose folder is being written.
type pair struct {
	h       rig.Headphones
	rig     rig.Rig
	folder  string
	rivals  []string
	Subject bool // the pair that the demonstration is about
	Options
}

func (p pair) write(direct [][]float64, played *rig.Output) error {
	if err := os.MkdirAll(p.folder, 0o755); err != nil {
		return err
	}
	through := played.Seatings(p.h)
	var files []func() error // what takes longest first
	if p.Subject && p.Material > 0 {
		files = append(files,
			func() error { return p.programme("tune", rig.Music(p.rig.SampleRate, p.Material, 1)) },
			func() error { return p.programme("voice", rig.Speech(p.rig.SampleRate, p.Material, 2)) })
	}
	for i := range p.Seatings {
		files = append(files, func() error { return p.save(seatingFile(i), through(i)) })
	}
	if p.Subject {
		files = append(files, p.impedance, p.isolation, p.calibrator)
	}
	files = append(files, func() error { return p.save("direct.wav", direct) }, p.microphone)
	errs := make([]error, len(files))
	parallel.Do(len(files), func(i int) { errs[i] = files[i]() }) // one is written while another is simulated
	if err := errors.Join(errs...); err != nil {
		return err
	}
	if p.Subject && p.Material > 0 {
		if err := p.session(materialTemplate, "material.toml"); err != nil {
			return err
		}
	}
	return p.session(sessionTemplate, "session.toml")
}

// microphone writes the calibration from the maker of the microphone: how much it reads too high
// and its phase, at third octaves.
func (p pair) microphone() error {
	bands, err := smoothing.Bands(3, 20, 20000)
	if err != nil {
		return err
	}
	var c response.Curve
	var phase []float64
	for _, b := range bands {
		h := complex(1, 0)
		for _, f := range p.rig.Microphone {
			h *= f.Response(b.Nominal, float64(p.rig.SampleRate))
		}
		c.Frequency = append(c.Frequency, b.Nominal)
		c.Level, phase = append(c.Level, decibel.OfAmplitude(cmplx.Abs(h))), append(phase, cmplx.Phase(h))
	}
	c.Valid = response.Band{Low: bands[0].Nominal, High: bands[len(bands)-1].Nominal}
	out := bytes.NewBufferString("# an invented microphone\n")
	if err := response.WriteCurve(out, c, phase); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(p.folder, "microphone.txt"), out.Bytes(), 0o644)
}

// calibrator writes 10 s of a calibrator's tone, 94 dB SPL at 1 kHz, which the rig's microphone
// turns into −24 dBFS rms.
func (p pair) calibrator() error {
	tone := make([]float64, 10*p.rig.SampleRate)
	amplitude := math.Sqrt2 * decibel.Amplitude(-24)
	for i := range tone {
		tone[i] = amplitude * math.Sin(2*math.Pi*1000*float64(i)/float64(p.rig.SampleRate))
	}
	return p.save("calibrator.wav", p.rig.Direct([][]float64{tone, make([]float64, len(tone))})[:1])
}

// impedance writes noise across 100 Ω and the headphones in series: 38 Ω with a
// resonance at 70 Hz, as a filter between the two channels.
func (p pair) impedance() error {
	fs := float64(p.rig.SampleRate)
	noise := func(seed uint64) []float64 {
		random := rand.New(rand.NewPCG(p.rig.Seed, seed))
		x := make([]float64, 15*p.rig.SampleRate)
		for i := range x {
			x[i] = 0.1 * random.NormFloat64()
		}
		return x
	}
	source := noise(11)
	headphones, known := slices.Clone(source), slices.Clone(source)
	biquad.New(biquad.Peaking, 70, 1.2, 4, fs).Apply(headphones)
	for i := range source {
		headphones[i] *= 38.0 / 138
		known[i] *= 100.0 / 200
	}
	silence := make([]float64, len(source))
	loaded, reference := p.rig.Direct([][]float64{source, headphones}), p.rig.Direct([][]float64{silence, known})
	reference[0] = loaded[0] // the same source with the same noise, which is not simulated twice
	return errors.Join(p.save("impedance.wav", loaded), p.save("impedance-reference.wav", reference))
}

// isolation writes noise from outside, open and under the cup, and the
// background.
func (p pair) isolation() error {
	fs := float64(p.rig.SampleRate)
	noise := func(amplitude float64, seed uint64) []float64 {
		random := rand.New(rand.NewPCG(p.rig.Seed, seed))
		x := make([]float64, 10*p.rig.SampleRate)
		for i := range x {
			x[i] = amplitude * random.NormFloat64()
		}
		biquad.New(biquad.LowShelf, 500, 0.5, 12, fs).Apply(x)
		return x
	}
	covered := noise(0.03, 22)
	biquad.New(biquad.LowPass, 350, 0.5, 0, fs).Apply(covered)
	for i, v := range noise(0.0008, 23) {
		covered[i] += v
	}
	return errors.Join(
		p.save("noise-open.wav", [][]float64{noise(0.03, 21)}),
		p.save("noise-covered.wav", [][]float64{covered}),
		p.save("noise-background.wav", [][]float64{noise(0.00003, 24)}))
}

// programme writes music or speech, direct and through the headphones.
func (p pair) programme(name string, material [][]float64) error {
	played := p.rig.Play(material)
	return errors.Join(p.save(name+"-direct.wav", played.Direct()), p.save(name+"-through.wav", played.Seatings(p.h)(0)))
}

// save writes a recording like an interface of 24 bits.
func (p pair) save(name string, channels [][]float64) error {
	r := &capture.Recording{Name: name, SampleRate: p.rig.SampleRate, Format: capture.Format{Bits: 24}, Channels: channels}
	return capture.Write(filepath.Join(p.folder, name), r, capture.WriteConfig{})
}

func (p pair) session(t *template.Template, file string) error {
	var files []string
	for i := range p.Seatings {
		files = append(files, seatingFile(i))
	}
	var out bytes.Buffer
	if err := t.Execute(&out, map[string]any{
		"Name": p.h.Name, "Rig": p.rig.Name, "Seconds": p.Seconds,
		"Files": files, "Rivals": p.rivals, "Subject": p.Subject, "Programme": p.Material > 0,
	}); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(p.folder, file), out.Bytes(), 0o644)
}

// Write makes the demonstration in a folder: session.toml and the recordings of the pair that is
// judged, material.toml for its music and speech alone, and a folder for each rival. If there is a
// session already, it writes nothing and returns an error that is fs.ErrExist. It calls progress
// before each step.
func Write(folder string, o Options, progress func(step string)) error {
	if o.Seconds == 0 {
		o.Seconds = 6
	}
	if o.Seatings == 0 {
		o.Seatings = 3
	}
	if o.Material == 0 {
		o.Material = 20
	}
	if _, err := os.Lstat(filepath.Join(folder, "session.toml")); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("demo: %s: %w; name another folder", filepath.Join(folder, "session.toml"), fs.ErrExist)
	}
	sw, err := sweep.New(sweep.Config{Duration: duration.Of(o.Seconds), Level: -12})
	if err != nil {
		return err
	}
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: sw})
	if err != nil {
		return err
	}
	subject, rivals, r := rig.Demonstration()
	if o.Alone {
		rivals = nil
	}
	played := r.Play(stimulus.Channels())
	direct := played.Direct()
	pairs := append([]rig.Headphones{subject}, rivals...)
	var names []string
	for _, h := range rivals {
		names = append(names, folderName(h.Name))
	}
	// The subject comes last, since its session file means that all files are there.
	for i := len(pairs) - 1; i >= 0; i-- {
		p := pair{h: pairs[i], rig: r, folder: folder, Options: o}
		if i > 0 {
			p.folder = filepath.Join(folder, names[i-1])
		} else {
			p.rivals, p.Subject = names, true
		}
		progress("simulating the recordings of " + p.h.Name)
		if err := p.write(direct, played); err != nil {
			return fmt.Errorf("demo: %w", err)
		}
	}
	return nil
}

// folderName returns the folder for a name: its first word, in small letters.
func folderName(name string) string { return strings.ToLower(strings.Fields(name)[0]) }

func seatingFile(i int) string { return fmt.Sprintf("seating-%d.wav", i+1) }
