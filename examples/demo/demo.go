// Package demo makes a session on the spot: an invented pair, two invented
// rivals and an invented rig are simulated, and what a recorder would have
// written is written, as WAV files beside session files. What reads them
// afterwards takes the path that anybody's recordings take.
package demo

import (
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"text/template"
	"time"

	"example.com/earnest/examples/rig"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

//go:embed session.toml
var sessionText string

var sessionTemplate = template.Must(template.New("session").Parse(sessionText))

// Options size the demonstration; the zero value is the usual one.
type Options struct {
	Seconds  float64 // of one sweep; 0 means 6
	Seatings int     // of each pair; 0 means 3
}

// Write makes the demonstration in a folder: session.toml and the recordings of
// the pair that is judged, and a folder for each rival. Where there is a session
// already it writes nothing and returns an error that is fs.ErrExist. It calls
// progress before each step.
func Write(folder string, o Options, progress func(step string)) error {
	if o.Seconds == 0 {
		o.Seconds = 6
	}
	if o.Seatings == 0 {
		o.Seatings = 3
	}
	if _, err := os.Lstat(filepath.Join(folder, "session.toml")); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("demo: %s: %w; name another folder", filepath.Join(folder, "session.toml"), fs.ErrExist)
	}
	sw, err := sweep.New(sweep.Config{Duration: time.Duration(o.Seconds * float64(time.Second)), Level: -12})
	if err != nil {
		return err
	}
	stimulus, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: sw})
	if err != nil {
		return err
	}
	subject, rivals, r := rig.Demonstration()
	direct := r.Direct(stimulus.Channels())
	pairs := append([]rig.Headphones{subject}, rivals...)
	var names []string
	for _, h := range rivals {
		names = append(names, folderName(h.Name))
	}
	// The subject comes last: its session file says that all is there.
	for i := len(pairs) - 1; i >= 0; i-- {
		p := pair{h: pairs[i], rig: r, folder: folder, seconds: o.Seconds, seatings: o.Seatings}
		if i > 0 {
			p.folder = filepath.Join(folder, names[i-1])
		} else {
			p.rivals, p.Subject = names, true
		}
		progress("simulating the recordings of " + p.h.Name)
		if err := p.write(direct, stimulus); err != nil {
			return fmt.Errorf("demo: %w", err)
		}
	}
	return nil
}

// folderName is a name as a folder: the first word, in small letters.
func folderName(name string) string { return strings.ToLower(strings.Fields(name)[0]) }

// pair is one pair's folder in the making.
type pair struct {
	h        rig.Headphones
	rig      rig.Rig
	folder   string
	seconds  float64
	seatings int
	rivals   []string
	Subject  bool // the pair that the demonstration is about
}

func (p pair) write(direct [][]float64, stimulus *sweep.Stimulus) error {
	if err := os.MkdirAll(p.folder, 0o755); err != nil {
		return err
	}
	if err := p.save("direct.wav", direct); err != nil {
		return err
	}
	for i := range p.seatings {
		if err := p.save(seatingFile(i), p.rig.Through(p.h, i, stimulus.Channels())); err != nil {
			return err
		}
	}
	if p.Subject {
		if err := p.programme(); err != nil {
			return err
		}
	}
	text, err := p.session()
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(p.folder, "session.toml"), []byte(text), 0o644)
}

// programme writes a tune and a voice, both ways.
func (p pair) programme() error {
	const seconds = 20
	for name, material := range map[string][][]float64{
		"tune":  rig.Music(p.rig.SampleRate, seconds, 1),
		"voice": rig.Speech(p.rig.SampleRate, seconds, 2),
	} {
		if err := p.save(name+"-direct.wav", p.rig.Direct(material)); err != nil {
			return err
		}
		if err := p.save(name+"-through.wav", p.rig.Through(p.h, 0, material)); err != nil {
			return err
		}
	}
	return nil
}

// save writes a recording as an interface of 24 bits does.
func (p pair) save(name string, channels [][]float64) error {
	r := &capture.Recording{Name: name, SampleRate: p.rig.SampleRate, Format: capture.Format{Bits: 24}, Channels: channels}
	return capture.Write(filepath.Join(p.folder, name), r, capture.WriteOptions{})
}

func seatingFile(i int) string { return fmt.Sprintf("seating-%d.wav", i+1) }

func (p pair) session() (string, error) {
	var files []string
	for i := range p.seatings {
		files = append(files, seatingFile(i))
	}
	var out strings.Builder
	err := sessionTemplate.Execute(&out, map[string]any{
		"Name": p.h.Name, "Rig": p.rig.Name, "Seconds": p.seconds,
		"Files": files, "Rivals": p.rivals, "Subject": p.Subject,
	})
	return out.String(), err
}
