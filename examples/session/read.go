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
	"strconv"
	"strings"
	"unicode"

	"github.com/agnivade/levenshtein"
	"github.com/pelletier/go-toml/v2"

	"example.com/earnest/target/review"
)

// ErrSession is wrapped by every error about the content of a session file.
var ErrSession = errors.New("session file cannot be used")

// Limits far above any session file that a person would write.
const (
	maxBytes   = 1 << 20
	maxKeys    = 2000 // keys, which stand before =
	maxEntries = 100  // of each: [[seating]], [[programme]], [[claim]], [[rival]], [[compare]]
)

// checkNumbers returns an error for too many entries, for NaN, and for negative numbers where none
// are allowed.
func (s *Session) checkNumbers() error {
	for what, n := range map[string]int{"[[seating]]": len(s.Seatings), "[[programme]]": len(s.Programmes),
		"[[claim]]": len(s.Claims), "[[rival]]": len(s.Rivals), "[[compare]]": len(s.Compares)} {
		if n > maxEntries {
			return fmt.Errorf("%d times %s, but at most %d are read; split it into several "+
				"sessions", n, what, maxEntries)
		}
	}
	if key, text := withControl(reflect.ValueOf(*s), ""); key != "" {
		quoted := strconv.Quote(text)
		return fmt.Errorf("%s = %q contains a special character, because a backslash in double quotes "+
			"begins one; write the path in single quotes: "+
			"'%s'", key, shortened(text), shortened(quoted[1:len(quoted)-1]))
	}
	if key := notFinite(reflect.ValueOf(*s), ""); key != "" {
		return fmt.Errorf("%s is not a number; write one, or leave it out", key)
	}
	if s.Rig.Uncertainty < 0 {
		return fmt.Errorf("[rig] uncertainty = %v; give a standard uncertainty in dB, above zero", s.Rig.Uncertainty)
	}
	if err := errors.Join(s.checkComponents(), s.checkElectrical()); err != nil {
		return err
	}
	channels := []int{s.DirectAfter.Left, s.DirectAfter.Right, s.Direct.Left, s.Direct.Right, s.Calibrator.Channel,
		s.ImpedanceFile.Source, s.ImpedanceFile.Load}
	for _, seating := range s.Seatings {
		channels = append(channels, seating.Left.Channel, seating.Right.Channel)
	}
	for _, p := range s.Programmes {
		channels = append(channels, p.Direct.Channel, p.Through.Channel, p.Left.Channel, p.Right.Channel)
	}
	if lowest := slices.Min(channels); lowest < 0 {
		return fmt.Errorf("a channel is %d; channels are counted from 1", lowest)
	}
	return nil
}

// scopes are the values of common_to in a session file.
var scopes = []string{"seating", "side", "microphone", "pair", "rig", "everything"}

// checkComponents returns an error if a component of uncertainty is wrong.
func (s *Session) checkComponents() error {
	seen := map[string]bool{}
	for i, c := range s.Uncertainty {
		place := fmt.Sprintf("uncertainty, number %d (%q)", i+1, shortened(c.Name))
		switch {
		case c.Name == "":
			return fmt.Errorf("uncertainty, number %d, has no name; name it, such as name = \"placement\"", i+1)
		case seen[c.Name]:
			return fmt.Errorf("%s is stated twice; keep one of them", place)
		case c.DB < 0 || c.Octaves < 0 || c.Count < 0:
			return fmt.Errorf("%s has a number below zero; "+
				"db, a standard uncertainty in dB, octaves and count must not be below zero", place)
		case c.Octaves > 0 && c.Octaves < 1./24:
			return fmt.Errorf("%s: octaves = %g; give at least 1/24, the shortest distance over which "+
				"errors are correlated", place, c.Octaves)
		case (c.DB > 0) == (c.File != ""):
			return fmt.Errorf("%s needs either db = …, above zero, or file = \"…\"", place)
		case c.Count == 1:
			return fmt.Errorf("%s: count = 1; the difference between samples needs at least two", place)
		case c.CommonTo != "" && !slices.Contains(scopes, c.CommonTo):
			return fmt.Errorf("%s: common_to = %q; it is one of %s", place, shortened(c.CommonTo),
				strings.Join(scopes, ", "))
		case c.CommonTo == "" && !review.Usual(c.Name):
			return fmt.Errorf("%s is not a known name; state its scope with common_to = \"…\", one of %s",
				place, strings.Join(scopes, ", "))
		case s.Rig.Uncertainty > 0 && c.Name == "rig":
			return fmt.Errorf("%s is also stated as [rig] uncertainty; keep one of them", place)
		}
		seen[c.Name] = true
	}
	return nil
}

// check returns an error if something is missing or contradictory.
func (s *Session) check() error {
	switch {
	case s.Headphones.Name == "":
		return errors.New(`it does not say what was measured; add [headphones] with name = "…"`)
	case s.Rig.Name == "":
		return errors.New(`it does not name the rig; add [rig] with name = "…", since only curves from one rig are compared`)
	case s.alone():
	case s.Direct.File == "":
		return errors.New(`there is no direct recording; patch the interface into itself, record the stimulus, and add [direct] with file = "…"`)
	case len(s.Seatings) == 0:
		return errors.New(`there is no recording of the headphones; add [[seating]] with left = { file = "…" } and right = { file = "…" }`)
	}
	switch {
	case s.alone() && s.Stimulus.stated():
		return errors.New("there is [stimulus] but no recording of it; add [direct] and [[seating]], or " +
			"leave [stimulus] out, which music and speech do not need")
	case s.alone() && s.DirectAfter.File != "":
		return errors.New("there is [direct_after] but no [direct]; name the first direct recording of the " +
			"stimulus too, or leave [direct_after] out")
	case s.Rig.MicrophoneRight != "" && s.Rig.Microphone == "":
		return errors.New(`[rig] has microphone_right but no microphone; name the left side's file too, with microphone = "…"`)
	case s.Target.File != "" && s.Target.Pair != "":
		return errors.New("[target] has a file and a pair; keep one of them")
	case s.Rig.Ceiling < 0 || s.Target.Tolerance < 0 || s.Target.Low < 0 || s.Target.High < 0:
		return errors.New("a ceiling, a tolerance or a band edge is below zero; they are in Hz and ± dB")
	}
	if err := s.checkNumbers(); err != nil {
		return err
	}
	for i, seating := range s.Seatings {
		if seating.Left.File == "" && seating.Right.File == "" {
			return fmt.Errorf("seating %d names no file; give it left = { file = \"…\" }, right = { file = \"…\" } or both", i+1)
		}
	}
	if err := errors.Join(s.checkPlays(), s.Notes.check()); err != nil {
		return err
	}
	if err := s.checkConditions(); err != nil {
		return err
	}
	for i, p := range s.Programmes {
		sides := p.Left.File != "" || p.Right.File != ""
		switch {
		case p.Direct.File == "" || p.Through.File == "" && !sides:
			return fmt.Errorf("programme %d (%q) needs both direct = { file = \"…\" } and through = { file = \"…\" }, "+
				"or left and right in place of through", i+1, p.Name)
		case sides && (p.Through.File != "" || p.Side != ""):
			return fmt.Errorf("programme %d (%q) mixes left or right with through or side; use left and "+
				"right for both sides, or through and side for one", i+1, p.Name)
		case p.Seating != "" && !s.alone():
			return fmt.Errorf("programme %d (%q) has seating = %q, which is only for sessions of music and "+
				"speech alone; leave it out", i+1, p.Name, p.Seating)
		}
		if !slices.Contains([]string{"", "left", "right"}, p.Side) {
			return fmt.Errorf("programme %d (%q): side = %q; it is left or right", i+1, p.Name, p.Side)
		}
		if !slices.Contains([]string{"", "music", "speech", "effects"}, p.Kind) {
			return fmt.Errorf("programme %d (%q): kind = %q; it is music, speech or effects", i+1, p.Name, p.Kind)
		}
	}
	chosen := 0
	for i, rival := range s.Rivals {
		if rival.Chosen && chosen > 0 {
			return fmt.Errorf("rivals %d and %d are both chosen, but the others are compared with only one; "+
				"keep chosen = true in one",
				chosen, i+1)
		}
		if rival.Chosen {
			chosen = i + 1
		}
	}
	for i, c := range s.Claims {
		if err := c.check(); err != nil {
			return fmt.Errorf("claim %d: %w", i+1, err)
		}
	}
	if file := s.Stimulus.File; file != "" &&
		!reflect.DeepEqual(s.Stimulus, Stimulus{File: file, Resample: s.Stimulus.Resample}) {
		return errors.New("[stimulus] has file = … and more; the file states everything, so leave the rest out")
	}
	if _, err := s.Stimulus.Build(); err != nil {
		return fmt.Errorf("[stimulus]: %w", err)
	}
	return nil
}

// path returns a path of the session file in a form that can be opened.
func (s *Session) path(name string) string {
	if filepath.IsAbs(name) {
		return name
	}
	return filepath.Join(s.folder, filepath.FromSlash(name))
}

// Read reads and checks a session file. Given a folder it reads session.toml in it. The errors wrap
// ErrSession or fs.ErrNotExist and name the file, the line and the remedy. For an unknown key they
// suggest the nearest known one.
func Read(path string) (*Session, error) {
	if about, err := os.Stat(path); err == nil && about.IsDir() {
		path = filepath.Join(path, "session.toml")
	}
	about, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("session: %s: %w; name a session file or the folder that holds session.toml",
			path, fs.ErrNotExist)
	case err != nil:
		return nil, fmt.Errorf("session: %w", err)
	case !about.Mode().IsRegular():
		return nil, fmt.Errorf("session: %s: %w: it is not a regular file; "+
			"name the TOML file, or the folder that holds session.toml", path, ErrSession)
	case about.Size() > maxBytes:
		return nil, fmt.Errorf("session: %s: %w: a session file of %d bytes is too large; name the TOML "+
			"file, not a recording",
			path, ErrSession, about.Size())
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("session: %w", err)
	}
	s, err := Decode(data)
	if err != nil {
		return nil, fmt.Errorf("session: %s: %w", path, err)
	}
	s.file, s.folder = path, filepath.Dir(path)
	return s, nil
}

// Decode reads a session from TOML. Its paths are then relative to the working
// folder.
func Decode(data []byte) (*Session, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff")) // the byte order mark that some editors write
	if n := bytes.Count(data, []byte("=")); len(data) > maxBytes || n > maxKeys {
		return nil, fmt.Errorf("%w: it has %d bytes and %d keys, but at most %d and %d are read; split it "+
			"into several sessions", ErrSession, len(data), n, maxBytes, maxKeys)
	}
	decoder := toml.NewDecoder(bytes.NewReader(data))
	decoder.DisallowUnknownFields()
	var s Session
	if err := decoder.Decode(&s); err != nil {
		return nil, explain(err, string(data))
	}
	if err := s.check(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrSession, err)
	}
	return &s, nil
}

// suggestion returns the likely meaning of an unknown key: the nearest key of its table if at most
// two letters differ, else all keys of the table, or the nearest table. line is the line as
// written.
func suggestion(key []string, line string) string {
	if words := misplaced(key, line); words != "" {
		return words
	}
	known := keys(reflect.TypeFor[Session](), "")
	name, last := shortened(strings.Join(key, ".")), shortened(key[len(key)-1])
	table := strings.Join(key[:len(key)-1], ".")
	var within []string
	for _, k := range known {
		if rest, found := strings.CutPrefix(k, table+"."); found && !strings.Contains(rest, ".") {
			within = append(within, rest)
		}
	}
	if len(within) == 0 || levenshtein.ComputeDistance(last, nearest(last, within)) <= 2 {
		return fmt.Sprintf("the nearest known one is %q", nearest(name, known))
	}
	return fmt.Sprintf("the keys of %s are: %s", table, strings.Join(within, ", "))
}

// shortened returns the beginning of a long text.
func shortened(text string) string {
	const most = 60
	if letters := []rune(text); len(letters) > most {
		return string(letters[:most]) + "…"
	}
	return text
}

// keyOf returns the key that a field takes from TOML; "" if it takes none.
func keyOf(f reflect.StructField) string {
	name, _, _ := strings.Cut(f.Tag.Get("toml"), ",") // the rest is for the encoder
	return name
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
		name := keyOf(t.Field(i))
		if name == "" {
			continue
		}
		all = append(all, prefix+name)
		all = append(all, keys(t.Field(i).Type, prefix+name+".")...)
	}
	return all
}

// nearest returns the known key with the fewest edits.
func nearest(key string, known []string) string {
	return slices.MinFunc(known, func(a, b string) int {
		return levenshtein.ComputeDistance(key, a) - levenshtein.ComputeDistance(key, b)
	})
}

// notFinite returns the dotted key of the first number that is NaN or infinite; "" if there is
// none.
func notFinite(v reflect.Value, key string) string {
	switch v.Kind() {
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			return key
		}
	case reflect.Slice:
		for i := range v.Len() {
			if found := notFinite(v.Index(i), key); found != "" {
				return fmt.Sprintf("%s, number %d,", found, i+1)
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if name := keyOf(v.Type().Field(i)); name != "" {
				if found := notFinite(v.Field(i), strings.TrimPrefix(key+"."+name, ".")); found != "" {
					return found
				}
			}
		}
	}
	return ""
}

// withControl returns the dotted key of the first path with a control character, such as "C:\new"
// in double quotes, and the path; "" if there is none.
func withControl(v reflect.Value, key string) (at, text string) {
	switch v.Kind() {
	case reflect.String:
		free := strings.HasPrefix(key, "notes.") ||
			slices.Contains([]string{"title", "name", "kind", "date"}, key[strings.LastIndex(key, ".")+1:])
		if !free && strings.ContainsFunc(v.String(), unicode.IsControl) {
			return key, v.String()
		}
	case reflect.Slice:
		for i := range v.Len() {
			if at, text = withControl(v.Index(i), key); at != "" {
				return at, text
			}
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if name := keyOf(v.Type().Field(i)); name != "" {
				if at, text = withControl(v.Field(i), strings.TrimPrefix(key+"."+name, ".")); at != "" {
					return at, text
				}
			}
		}
	}
	return "", ""
}
