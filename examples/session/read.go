package session

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"github.com/agnivade/levenshtein"
	"github.com/pelletier/go-toml/v2"
)

// ErrSession is what every complaint about a session file is.
var ErrSession = errors.New("session file cannot be used")

// maxBytes is far above any session file that a person writes.
const maxBytes = 1 << 20

// Read reads and checks a session file. Given a folder it reads session.toml
// in it. The errors wrap ErrSession or fs.ErrNotExist and name the file, the
// line and the remedy; a key that is not known comes with the nearest that is.
func Read(path string) (*Session, error) {
	if about, err := os.Stat(path); err == nil && about.IsDir() {
		path = filepath.Join(path, "session.toml")
	}
	about, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("session: %s: %w; name a session file or the folder that holds session.toml", path, fs.ErrNotExist)
	case err != nil:
		return nil, fmt.Errorf("session: %w", err)
	case about.Size() > maxBytes:
		return nil, fmt.Errorf("session: %s: %w: %d bytes are too many for one; name the TOML file, not a recording", path, ErrSession, about.Size())
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("session: %w", err)
	}
	s, err := Decode(data)
	if err != nil {
		return nil, fmt.Errorf("session: %s: %w", path, err)
	}
	s.folder = filepath.Dir(path)
	return s, nil
}

// Decode reads a session from TOML. Its paths are then relative to the working
// folder.
func Decode(data []byte) (*Session, error) {
	decoder := toml.NewDecoder(bytes.NewReader(data))
	decoder.DisallowUnknownFields()
	var s Session
	if err := decoder.Decode(&s); err != nil {
		return nil, explain(err)
	}
	if err := s.check(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrSession, err)
	}
	return &s, nil
}

// explain puts a decoder's error into words with a line number.
func explain(err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		first := strict.Errors[0]
		line, _ := first.Position()
		key := strings.Join(first.Key(), ".")
		return fmt.Errorf("%w: line %d: unknown key %q; the nearest known one is %q", ErrSession, line, key, nearest(key, keys(reflect.TypeFor[Session](), "")))
	}
	var syntax *toml.DecodeError
	if errors.As(err, &syntax) {
		line, column := syntax.Position()
		return fmt.Errorf("%w: line %d, column %d: %s", ErrSession, line, column, strings.TrimPrefix(syntax.Error(), "toml: "))
	}
	return fmt.Errorf("%w: %w", ErrSession, err)
}

// keys lists the dotted keys that a type takes from TOML.
func keys(t reflect.Type, prefix string) []string {
	if t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	if t.Kind() != reflect.Struct {
		return nil
	}
	var all []string
	for i := range t.NumField() {
		name := t.Field(i).Tag.Get("toml")
		if name == "" {
			continue
		}
		all = append(all, prefix+name)
		all = append(all, keys(t.Field(i).Type, prefix+name+".")...)
	}
	return all
}

// nearest is the known key that takes the fewest edits.
func nearest(key string, known []string) string {
	return slices.MinFunc(known, func(a, b string) int {
		return levenshtein.ComputeDistance(key, a) - levenshtein.ComputeDistance(key, b)
	})
}

// check says what is missing or contradicts itself.
func (s *Session) check() error {
	switch {
	case s.Headphones.Name == "":
		return errors.New(`it does not say what was measured; add [headphones] with name = "…"`)
	case s.Rig.Name == "":
		return errors.New(`it does not say what it was measured on; add [rig] with name = "…", for curves are compared on one rig only`)
	case s.Direct.File == "":
		return errors.New(`there is no direct recording; patch the interface into itself, record the stimulus, and add [direct] with file = "…"`)
	case len(s.Seatings) == 0:
		return errors.New(`there is no recording of the headphones; add [[seating]] with left = { file = "…" } and right = { file = "…" }`)
	case s.Target.File != "" && s.Target.Pair != "":
		return errors.New("[target] has a file and a pair; keep one of them")
	case s.Rig.Ceiling < 0 || s.Target.Tolerance < 0 || s.Target.Low < 0 || s.Target.High < 0:
		return errors.New("a ceiling, a tolerance or a band edge below zero; they are Hz and ± dB")
	}
	if u := s.Rig.Uncertainty; !(u >= 0) || math.IsInf(u, 0) {
		return fmt.Errorf("[rig] uncertainty = %v; it is a standard uncertainty in dB, above zero", u)
	}
	for i, seating := range s.Seatings {
		if seating.Left.File == "" && seating.Right.File == "" {
			return fmt.Errorf("seating %d names no file; give it left = { file = \"…\" }, right = { file = \"…\" } or both", i+1)
		}
	}
	if err := s.checkPlays(); err != nil {
		return err
	}
	for i, p := range s.Programmes {
		if p.Direct.File == "" || p.Through.File == "" {
			return fmt.Errorf("programme %d (%q) needs both direct = { file = \"…\" } and through = { file = \"…\" }", i+1, p.Name)
		}
	}
	for i, p := range s.Programmes {
		if !slices.Contains([]string{"", "left", "right"}, p.Side) {
			return fmt.Errorf("programme %d (%q): side = %q; it is left or right", i+1, p.Name, p.Side)
		}
		if !slices.Contains([]string{"", "music", "speech", "effects"}, p.Kind) {
			return fmt.Errorf("programme %d (%q): kind = %q; it is music, speech or effects", i+1, p.Name, p.Kind)
		}
	}
	for i, c := range s.Claims {
		if err := c.check(); err != nil {
			return fmt.Errorf("claim %d: %w", i+1, err)
		}
	}
	if _, err := s.Stimulus.Build(); err != nil {
		return fmt.Errorf("[stimulus]: %w", err)
	}
	return nil
}

// path makes a path of the session file's one that can be opened.
func (s *Session) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(s.folder, filepath.FromSlash(name))
}
