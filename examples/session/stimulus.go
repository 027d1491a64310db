package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"example.com/earnest/internal/duration"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
	"example.com/earnest/sweep/recognise"
	"example.com/earnest/target/review"
)

// stimulusFile is the name of the file that the stimulus example writes.
const stimulusFile = "stimulus.wav"

// Stimulus describes the stimulus. Zero values mean the defaults of sweep.Config and
// sweep.StimulusConfig.
type Stimulus struct {
	// File is the played file, of any kind, or the direct recording of it. All other fields are
	// then empty.
	File string `toml:"file"`
	// Resample converts the file to the sample rate of the direct recording, if the player did so
	// while playing.
	Resample   bool    `toml:"resample"`
	Start      float64 `toml:"start"`       // Hz
	Stop       float64 `toml:"stop"`        // Hz
	Seconds    float64 `toml:"seconds"`     // of one sweep
	SampleRate int     `toml:"sample_rate"` // Hz
	Level      float64 `toml:"level"`       // dBFS peak
	Silence    float64 `toml:"silence"`     // seconds at each end
	Gap        float64 `toml:"gap"`         // seconds after each sweep
	Repeats    int     `toml:"repeats"`     // sweeps on each side
	Unmarked   bool    `toml:"unmarked"`    // without timing marks
	FadeIn     float64 `toml:"fade_in"`     // seconds; below zero for none
	FadeOut    float64 `toml:"fade_out"`    // seconds; below zero for none
	// With lists the measurements beyond the response: "distortion", "levels", "modulation",
	// "crosstalk", "gain".
	With   []string  `toml:"with,omitempty"`
	Tones  []float64 `toml:"tones,omitempty"`  // Hz, of steady tones in addition to the usual ones
	Louder bool      `toml:"louder,omitempty"` // adds a level 6 dB above Level
}

// stated reports whether the session states anything about the stimulus.
func (s Stimulus) stated() bool { return !reflect.ValueOf(s).IsZero() }

// Build makes the stimulus.
func (s Stimulus) Build() (*sweep.Stimulus, error) {
	sw, err := sweep.New(sweep.Config{
		Start: s.Start, Stop: s.Stop, Duration: duration.Of(s.Seconds), SampleRate: s.SampleRate, Level: s.Level,
		FadeIn: duration.Of(s.FadeIn), FadeOut: duration.Of(s.FadeOut),
	})
	if err != nil {
		return nil, err
	}
	c := sweep.StimulusConfig{
		Sweep: sw, Silence: duration.Of(s.Silence), Gap: duration.Of(s.Gap),
		Repeats: s.Repeats, Unmarked: s.Unmarked, Tones: s.Tones, Louder: s.Louder,
	}
	for _, q := range s.With {
		c.Asks = append(c.Asks, sweep.Question(q))
	}
	return sweep.NewStimulus(c)
}

// Settings returns the stimulus as TOML, for capture.Recording, so that the file itself states its
// settings.
func (s Stimulus) Settings() (string, error) {
	text, err := toml.Marshal(map[string]Stimulus{"stimulus": s})
	return string(text), err
}

// Played returns the stimulus: from the named file, from the stimulus file beside the session, or
// from the session's own settings; nil for music and speech alone.
func (s *Session) Played() (*sweep.Stimulus, error) {
	if s.played != nil || s.alone() {
		return s.played, nil
	}
	var err error
	s.played, err = s.findStimulus()
	return s.played, err
}

func (s *Session) findStimulus() (*sweep.Stimulus, error) {
	if s.Stimulus.File != "" {
		rec, err := capture.Read(s.path(s.Stimulus.File))
		if err != nil {
			return nil, err
		}
		rec.Name = s.Stimulus.File
		return s.heldBy(rec)
	}
	said, err := s.Stimulus.Build()
	if err != nil {
		return nil, err
	}
	path := filepath.Join(s.folder, stimulusFile)
	if _, err := os.Stat(path); s.folder == "" || errors.Is(err, fs.ErrNotExist) {
		return said, nil
	}
	rec, err := capture.Read(path)
	if err != nil {
		return nil, err
	}
	if !s.Stimulus.stated() {
		return s.heldBy(rec)
	}
	carried, err := settingsOf(rec)
	if err != nil || carried == nil {
		return said, err
	}
	if len(s.Stimulus.With) == 0 && asksGainAlone(carried) { // which is the file's default
		one := s.Stimulus
		one.With = []string{string(sweep.AskGain)}
		if said, err = one.Build(); err != nil {
			return nil, err
		}
	}
	if differences := differences(said, carried); len(differences) > 0 {
		return nil, fmt.Errorf("session: %w: [stimulus] and %s beside the session file do not agree: %s; "+
			"leave [stimulus] out if that file was played, or remove the file if it was not",
			ErrSession, stimulusFile, strings.Join(differences, ", "))
	}
	return carried, nil
}

// heldBy returns the stimulus in a file, from its settings or by recognition, and keeps notes about
// it for the results.
func (s *Session) heldBy(rec *capture.Recording) (*sweep.Stimulus, error) {
	if carried, err := settingsOf(rec); err != nil || carried != nil {
		return carried, err
	}
	direct, err := capture.Read(s.path(s.Direct.File))
	if err != nil {
		direct = nil // reported when it is measured
	}
	if direct != nil {
		if rec, err = s.atRateOf(direct, rec); err != nil {
			return nil, err
		}
	}
	st, found, err := recognise.Stimulus(rec.Channels, rec.SampleRate)
	if err != nil {
		return nil, fmt.Errorf("session: %w: [stimulus] %s: %w", ErrSession, rec.Name, err)
	}
	if direct != nil && rec.Name != s.Direct.File {
		if what := recognise.Mismatch(found, recognise.Find(direct.Channels, direct.SampleRate)); what != "" {
			return nil, fmt.Errorf("session: %w: [direct] %s: %s", ErrSession, s.Direct.File, what)
		}
	}
	s.playedHolds = found
	for _, c := range found {
		s.playedNotes = append(s.playedNotes, fmt.Sprintf("%s is taken as the stimulus: %v.", rec.Name, c))
		if doubt := c.Doubt; doubt != "" && rec.Name != s.Direct.File {
			what, remedy, _ := strings.Cut(doubt, "; ")
			s.playedDoubts = append(s.playedDoubts, response.Finding{Recording: rec.Name,
				Kind:     "stimulus not as it was made",
				Severity: response.Warning,
				Channel:  c.Channel, Time: float64(c.From) / float64(rec.SampleRate),
				Duration: float64(c.Len) / float64(rec.SampleRate), What: what, Remedy: remedy})
		}
	}
	if st.Sweep() == nil {
		s.playedNotes = append(s.playedNotes,
			fmt.Sprintf("%s: harmonics are not known with this signal; an exponential sweep gives them.", rec.Name))
	}
	return st, nil
}

// atRateOf returns the stimulus at the sample rate of the direct recording. The effect of the
// player's resampling on the treble is in both recordings and divides out.
func (s *Session) atRateOf(direct, played *capture.Recording) (*capture.Recording, error) {
	if played.SampleRate == direct.SampleRate {
		return played, nil
	}
	if !s.Stimulus.Resample && !s.Resample {
		return nil, fmt.Errorf("session: %w: [stimulus] %s is at %d Hz and [direct] %s at %d Hz; "+
			"add resample = true under [stimulus] if the player converted the rate while playing, or record "+
			"at the rate of the file",
			ErrSession, played.Name, played.SampleRate, s.Direct.File, direct.SampleRate)
	}
	s.playedNotes = append(s.playedNotes, resampled(played, direct.SampleRate))
	return played.Resampled(direct.SampleRate), nil
}

// atRate returns a channel converted to another sample rate, if the session asks for that. With
// inspect it is inspected before the conversion, after which flat tops are no longer flat.
func (s *Session) atRate(c review.Channel, rate int, inspect bool) review.Channel {
	if !s.Resample || c.Err != nil || c.Recording.SampleRate == rate {
		return c
	}
	if placed, err := placement.Locate(c.Recording, nil); err == nil && inspect && !s.UseUnfit {
		config := fitness.Config{}
		if c.Number > 0 && c.Number <= len(c.Recording.Channels) {
			config.Sides = make([]sweep.Side, len(c.Recording.Channels))
			config.Sides[c.Number-1] = fitness.EitherSide
		}
		c.Err = fitness.Inspect(placed, config).Err()
	}
	if note := resampled(c.Recording, rate); !slices.Contains(s.playedNotes, note) {
		s.playedNotes = append(s.playedNotes, note)
	}
	c.Recording = c.Recording.Resampled(rate)
	return c
}

// asksGainAlone reports whether a stimulus has parts after its sweeps and all of them ask for gain.
func asksGainAlone(st *sweep.Stimulus) bool {
	return len(st.Parts()) > 0 &&
		!slices.ContainsFunc(st.Parts(), func(p sweep.Part) bool { return p.Asks != "" && p.Asks != sweep.AskGain })
}

// resampled returns the note that a recording was converted to another rate.
func resampled(r *capture.Recording, rate int) string {
	return fmt.Sprintf("%s was converted from %d Hz to %d Hz, accurate to %v dB up to %.1f kHz.",
		r.Name, r.SampleRate, rate, capture.ResampledRipple, capture.ResampledShare/2e3*float64(min(r.SampleRate, rate)))
}

// settingsOf returns the stimulus stated in a file; nil if the file states none.
func settingsOf(rec *capture.Recording) (*sweep.Stimulus, error) {
	if rec.Settings == "" {
		return nil, nil
	}
	var s Session
	if err := toml.Unmarshal([]byte(rec.Settings), &s); err != nil {
		return nil, fmt.Errorf("session: %w: the settings in %s cannot be read: %w; write it again with the "+
			"stimulus example, or remove it and add [stimulus]",
			ErrSession, rec.Name, explain(err, rec.Settings))
	}
	made, err := s.Stimulus.Build()
	if err != nil {
		return nil, fmt.Errorf("session: %w: the settings in %s: %w; write it again with the stimulus example",
			ErrSession, rec.Name, err)
	}
	return made, nil
}

// differences returns the differences of two stimuli, with the session's values first.
func differences(said, carried *sweep.Stimulus) []string {
	var out []string
	note := func(what string, a, b any) {
		if a, b := fmt.Sprint(a), fmt.Sprint(b); a != b {
			out = append(out, fmt.Sprintf("%s is %s in one and %s in the other", what, a, b))
		}
	}
	a, b := said.Sweep(), carried.Sweep()
	note("sample_rate", a.SampleRate(), b.SampleRate())
	note("start", a.Start(), b.Start())
	note("stop", a.Stop(), b.Stop())
	note("level", a.Level(), b.Level())
	note("the length of a sweep", fmt.Sprintf("%.4g s", a.Duration()), fmt.Sprintf("%.4g s", b.Duration()))
	note("repeats", len(said.Sweeps(sweep.Left)), len(carried.Sweeps(sweep.Left)))
	note("the number of timing marks", len(said.Find(sweep.Mark)), len(carried.Find(sweep.Mark)))
	parts, others := said.Parts(), carried.Parts()
	note("the number of parts after the sweeps", len(parts), len(others))
	for i := range min(len(parts), len(others)) {
		note(fmt.Sprintf("part %d after the sweeps", i+1), parts[i], others[i])
	}
	note("the total length", fmt.Sprintf("%.4g s", said.Duration()), fmt.Sprintf("%.4g s", carried.Duration()))
	x, y := a.Samples(), b.Samples()
	for i := range x {
		if len(out) == 0 && x[i] != y[i] {
			out = append(out, fmt.Sprintf("fade_in or fade_out differ, first at %.3f s in the sweep",
				float64(i)/float64(a.SampleRate())))
		}
	}
	return out
}
