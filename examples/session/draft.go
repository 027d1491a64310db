package session

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"example.com/earnest/sweep"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// Recorded is a recording, or one play in it, that a session file should name.
type Recorded struct {
	File string // its path relative to the folder of the session file
	Play int    // number of the play, from 1; 0 for the only one
	review.Candidate
	// After marks the second direct recording. Resampled says that the recording's sample rate is
	// not that of the stimulus.
	After, Resampled bool
}

// section returns the section for a recording other than of sweeps; "" for a role that has no
// section.
func (r Recorded) section() string {
	name := quoted(r.File)
	switch r.Role {
	case review.CalibratorTone:
		return fmt.Sprintf("[calibrator]\nfile = %s\nlevel = 94  # dB SPL, as the calibrator says", name)
	case review.ImpedanceNoise:
		return fmt.Sprintf("[impedance]\nfile = %s\nsource = %d\nload = %d\nseries = 100  # ohm, of your resistor",
			name, r.Left, r.Right)
	case review.OpenNoise:
		return "isolation.open = " + name
	case review.CoveredNoise:
		return "isolation.covered = " + name
	case review.BackgroundNoise:
		return "isolation.background = " + name
	}
	return ""
}

// check says which value of a section the reviewer has to check. If the recording does not show a
// value, a usual one is used.
func (r Recorded) check() string {
	switch r.Role {
	case review.CalibratorTone:
		return "; then correct the level if your calibrator has another one"
	case review.ImpedanceNoise:
		return "; then correct the value if your resistor is another one"
	}
	return ""
}

func (r Recorded) key() string {
	if r.To > 0 {
		return fmt.Sprintf("%s from %.1f s#0;", r.File, r.From)
	}
	return fmt.Sprintf("%s#%d;", r.File, r.Play)
}

// side returns a channel of a recording as a session file writes it. The usual channel is not
// written.
func (r Recorded) side(channel, usual int) string {
	text := "{ file = " + quoted(r.File)
	if channel != usual {
		text += fmt.Sprintf(", channel = %d", channel)
	}
	switch {
	case r.To > 0: // one of several pieces
		text += fmt.Sprintf(", from = %.1f, to = %.1f", r.From, r.To)
	case r.Play > 0:
		text += fmt.Sprintf(", play = %d", r.Play)
	}
	return text + " }"
}

// Line is a proposed addition to a session file.
type Line struct {
	// Key identifies the line from one proposal to the next: its file and play.
	Key string
	// Text is the text to add, one line or several.
	Text string
	// Where is the place in the file at which the text is added, in words: "at the end".
	Where string

	edit func(text string) string
}

// Draft is a session file that grows line by line while recordings are made. The existing text is
// kept, except for names of missing files, which are corrected.
type Draft struct {
	text, folder string
	said         Session
}

// ReadDraft reads the session file of a folder. The file may be incomplete or missing. It returns
// the errors of Read about syntax.
func ReadDraft(folder string) (*Draft, error) {
	d := &Draft{folder: folder, said: Session{folder: folder}}
	data, err := os.ReadFile(d.path())
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return d, nil
	case err != nil:
		return nil, fmt.Errorf("session: %w", err)
	case len(data) > maxBytes:
		return nil, fmt.Errorf("session: %s: %w: a session file of %d bytes is too "+
			"large", d.path(), ErrSession, len(data))
	}
	d.text = string(bytes.TrimPrefix(data, []byte("\ufeff")))
	decoder := toml.NewDecoder(strings.NewReader(d.text))
	decoder.DisallowUnknownFields()
	if err := decoder.Decode(&d.said); err != nil {
		return nil, fmt.Errorf("session: %s: %w", d.path(), explain(err, d.text))
	}
	return d, nil
}

func (d *Draft) path() string { return filepath.Join(d.folder, "session.toml") }

// Text returns the file as read; "" if there is none.
func (d *Draft) Text() string { return d.text }

// Said returns the content of the file, complete or not.
func (d *Draft) Said() *Session { return &d.said }

// Stimulus returns the stimulus; nil if neither the file nor a stimulus.wav beside it states it
// yet.
func (d *Draft) Stimulus() (*sweep.Stimulus, error) {
	s := d.sweeps()
	if !s.Stimulus.stated() && regular(s.path(stimulusFile)) != nil {
		return nil, nil
	}
	return s.Played()
}

// sweeps returns the session as far as it concerns sweeps, even if it names no recording yet.
func (d *Draft) sweeps() *Session {
	s := d.said
	s.Direct.File = cmp.Or(s.Direct.File, "direct.wav")
	s.Calibrator = Calibrator{} // levels in sound pressure are only for the report
	return &s
}

// Bench returns a bench for the recordings. The rig's name is used if the file names none.
func (d *Draft) Bench(rig string) (*review.Bench, error) {
	s := d.sweeps()
	s.Rig.Name = cmp.Or(s.Rig.Name, rig)
	return s.bench()
}

// Claims returns the maker's claims in the file.
func (d *Draft) Claims() (all []claim.Claim) {
	for _, c := range d.said.Claims {
		all = append(all, c.claim())
	}
	return all
}

// Names returns the roles that the file gives a recording; nil if it does not name the recording.
func (d *Draft) Names(file string) []Recorded {
	var all []Recorded
	add := func(name string, play int, c review.Candidate, after bool) {
		if name != "" && filepath.Clean(name) == filepath.Clean(file) {
			all = append(all, Recorded{File: file, Play: play, Candidate: c, After: after})
		}
	}
	s := &d.said
	for i, direct := range []StereoFile{s.Direct, s.DirectAfter} {
		add(direct.File, direct.Play, review.Candidate{Role: review.DirectSweep, Left: cmp.Or(direct.Left, 1),
			Right: cmp.Or(direct.Right, 2)}, i == 1)
	}
	for _, seating := range s.Seatings {
		l, r := seating.Left, seating.Right
		if l.File == r.File && l.File != "" && l.Play == r.Play {
			add(l.File, l.Play, review.Candidate{Role: review.ThroughSweep, Left: cmp.Or(l.Channel, 1),
				Right: cmp.Or(r.Channel, 2)}, false)
			continue
		}
		add(l.File, l.Play, review.Candidate{Role: review.ThroughSweep, Left: cmp.Or(l.Channel, 1)}, false)
		add(r.File, r.Play, review.Candidate{Role: review.ThroughSweep, Right: cmp.Or(r.Channel, 1)}, false)
	}
	for _, p := range s.Programmes {
		add(p.Direct.File, 0, review.Candidate{Role: review.DirectPiece, Left: 1, Right: 2}, false)
		add(p.Through.File, 0, review.Candidate{Role: review.ThroughPiece, Left: 1, With: p.Direct.File}, false)
		add(p.Left.File, 0, review.Candidate{Role: review.ThroughPiece, Left: cmp.Or(p.Left.Channel, 1),
			With: p.Direct.File, From: p.Left.From, To: p.Left.To}, false)
		add(p.Right.File, 0, review.Candidate{Role: review.ThroughPiece, Right: cmp.Or(p.Right.Channel, 1),
			With: p.Direct.File, From: p.Right.From, To: p.Right.To}, false)
	}
	for role, name := range map[review.Role]string{review.CalibratorTone: s.Calibrator.File,
		review.ImpedanceNoise: s.ImpedanceFile.File,
		review.ReferenceNoise: s.ImpedanceFile.Reference, review.OpenNoise: s.Isolation.Open,
		review.CoveredNoise:    s.Isolation.Covered,
		review.BackgroundNoise: s.Isolation.Background} {
		add(name, 0, review.Candidate{Role: role, Left: 1}, false)
	}
	return all
}

// Propose returns the lines to write so that the file names the recordings, with those of a side in
// the order in which they were made. A line adds a recording or replaces the name of a missing
// file. A new file begins with the names of pair and rig.
func (d *Draft) Propose(pair, rig string, recorded []Recorded) []Line {
	var all []Line
	if d.said.Headphones.Name == "" && d.said.Rig.Name == "" {
		all = append(all, atEnd("pair and rig", fmt.Sprintf("[headphones]\nname = %s\n\n[rig]\nname = %s", quoted(pair),
			quoted(rig))))
	}
	var left, right []Recorded
	with := map[string][]Recorded{} // recordings through the headphones, by the direct recording of the piece
	var pieces []string
	for _, r := range recorded {
		named := slices.ContainsFunc(d.Names(r.File), func(n Recorded) bool {
			if r.To > 0 { // one of several pieces
				return n.With == r.With
			}
			return n.Play == 0 || n.Play == r.Play
		})
		if r.Resampled && !d.said.Resample && !slices.ContainsFunc(all,
			func(l Line) bool { return l.Key == "another rate" }) {
			all = append(all, Line{Key: "another rate", Text: "resample = true", Where: "at the top",
				edit: func(text string) string { return "resample = true\n\n" + text }})
		}
		if named {
			continue
		}
		switch r.Role {
		case review.DirectSweep:
			all = append(all, d.direct(r))
		case review.ThroughSweep:
			switch {
			case r.Left > 0 && r.Right > 0:
				text := fmt.Sprintf("[[seating]]\nleft = %s\nright = %s", r.side(r.Left, 1), r.side(r.Right, 2))
				all = append(all, atEnd(r.key(), text))
			case r.Left > 0:
				left = append(left, r)
			default:
				right = append(right, r)
			}
		case review.ThroughPiece:
			if with[r.With] == nil {
				pieces = append(pieces, r.With)
			}
			with[r.With] = append(with[r.With], r)
		default:
			if text := r.section(); text != "" {
				l := atEnd(r.key(), text)
				l.Where += r.check()
				all = append(all, l)
			}
		}
	}
	all = append(all, d.seatings(left, right)...)
	for _, direct := range pieces {
		all = append(all, piece(direct, with[direct])...)
	}
	return all
}

// direct returns the line for a direct recording of the stimulus.
func (d *Draft) direct(r Recorded) Line {
	table, before := "direct", d.said.Direct.File
	if r.After {
		table, before = "direct_after", d.said.DirectAfter.File
	}
	if before != "" && !d.there(before) {
		return instead(r.key(), before, quoted(before), quoted(r.File))
	}
	text := fmt.Sprintf("[%s]\nfile = %s", table, quoted(r.File))
	if r.Left != 1 || r.Right != 2 {
		text += fmt.Sprintf("\nleft = %d\nright = %d", cmp.Or(r.Left, r.Right), cmp.Or(r.Right, r.Left))
	}
	if r.Play > 0 {
		text += fmt.Sprintf("\nplay = %d", r.Play)
	}
	return atEnd(r.key(), text)
}

// seatings fills in the missing sides of seatings in the file, and adds seatings for the rest.
func (d *Draft) seatings(left, right []Recorded) (all []Line) {
	for _, seating := range d.said.Seatings {
		if seating.EveryPlay {
			continue
		}
		for _, one := range []struct {
			mine, other File
			name        string
			from        *[]Recorded
		}{{seating.Left, seating.Right, "left", &left}, {seating.Right, seating.Left, "right", &right}} {
			if len(*one.from) == 0 {
				continue
			}
			r := (*one.from)[0]
			table := r.side(max(r.Left, r.Right), 1)
			switch {
			case one.mine.File != "" && !d.there(one.mine.File):
				all = append(all, insteadTable(r.key(), one.mine.File, table))
			case one.mine.File == "" && one.other.File != "":
				text := one.name + " = " + table
				all = append(all, Line{Key: r.key(), Text: text, Where: "beside " + one.other.File,
					edit: func(t string) string { return afterLine(t, quoted(one.other.File), text) }})
			default:
				continue
			}
			*one.from = (*one.from)[1:]
		}
	}
	for i := range max(len(left), len(right)) {
		text, key := "[[seating]]", ""
		if i < len(left) {
			text, key = text+"\nleft = "+left[i].side(left[i].Left, 1), left[i].key()
		}
		if i < len(right) {
			text, key = text+"\nright = "+right[i].side(right[i].Right, 1), key+right[i].key()
		}
		all = append(all, atEnd(key, text))
	}
	return all
}

func (d *Draft) there(file string) bool { return regular(d.said.path(file)) == nil }

// Write adds lines to the text that ReadDraft read and replaces the file with the result, wholly or
// not at all. Read the draft again just before. If the result cannot be read, nothing is written
// and the error says why.
func (d *Draft) Write(lines []Line) error {
	text := d.text
	for _, l := range lines {
		text = l.edit(text)
	}
	var said Session
	if err := toml.Unmarshal([]byte(text), &said); err != nil {
		return fmt.Errorf("session: %s: the new lines do not fit the existing text: %w", d.path(), explain(err, text))
	}
	temporary, err := os.CreateTemp(d.folder, ".session-*.toml")
	if err != nil {
		return fmt.Errorf("session: %w", err)
	}
	defer os.Remove(temporary.Name())
	_, err = temporary.WriteString(text)
	if err = errors.Join(err, temporary.Sync(), temporary.Close()); err != nil {
		var cause *fs.PathError
		if errors.As(err, &cause) {
			err = cause.Err // without the temporary name
		}
		return fmt.Errorf("session: %s is unchanged: %w; correct that and write again", d.path(), err)
	}
	if about, err := os.Stat(d.path()); err == nil {
		_ = os.Chmod(temporary.Name(), about.Mode().Perm())
	} else {
		_ = os.Chmod(temporary.Name(), 0o644)
	}
	return os.Rename(temporary.Name(), d.path())
}

// piece returns the lines for a piece of music or speech: the recordings through the headphones
// with their direct recording.
func piece(direct string, through []Recorded) (all []Line) {
	for len(through) > 0 {
		r := through[0]
		text := fmt.Sprintf("[[programme]]\nname = %s\nkind = \"music\"  # or speech\ndirect = { file = %s }",
			quoted(strings.TrimSuffix(filepath.Base(direct), filepath.Ext(direct))), quoted(direct))
		key := r.key()
		through = through[1:]
		if r.Left > 0 {
			text += "\nleft = " + r.side(r.Left, 1)
		}
		if i := slices.IndexFunc(through, func(o Recorded) bool { return o.Right > 0 && o.Left == 0 }); r.Right == 0 &&
			i >= 0 {
			o := through[i]
			text, key = text+"\nright = "+o.side(o.Right, 1), key+o.key()
			through = slices.Delete(through, i, i+1)
		}
		if r.Right > 0 {
			text += "\nright = " + r.side(r.Right, 2)
		}
		all = append(all, atEnd(key, text))
	}
	return all
}

// quoted returns a text as a TOML string, in single quotes if possible.
func quoted(text string) string {
	if strings.ContainsAny(text, "\\\"") && !strings.ContainsAny(text, "'\n") {
		return "'" + text + "'"
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`, "\n", `\n`).Replace(text) + `"`
}

// atEnd returns a line for the end of the file. A dotted key of a table goes below the table's
// heading, if there is one.
func atEnd(key, text string) Line {
	where := "at the end"
	if rest, dotted := strings.CutPrefix(text, "isolation."); dotted {
		return Line{Key: key, Text: text, Where: "in [isolation]", edit: func(t string) string {
			if regexp.MustCompile(`(?m)^\s*\[isolation\]`).MatchString(t) {
				return afterLine(t, "[isolation]", rest)
			}
			return joined(t, "[isolation]\n"+rest)
		}}
	}
	return Line{Key: key, Text: text, Where: where, edit: func(t string) string { return joined(t, text) }}
}

func joined(text, block string) string {
	if text = strings.TrimRight(text, "\n"); text != "" {
		text += "\n\n"
	}
	return text + block + "\n"
}

// instead returns a line that replaces the name of a missing file.
func instead(key, missing, before, now string) Line {
	return Line{Key: key, Text: now, Where: "in place of " + missing + ", which does not exist",
		edit: func(text string) string {
			return inLines(text, before, func(l string) string { return strings.Replace(l, before, now, 1) })
		}}
}

func insteadTable(key, missing, table string) Line {
	line := instead(key, missing, "", table)
	old := regexp.MustCompile(`\{[^{}]*` + regexp.QuoteMeta(quoted(missing)) + `[^{}]*\}`)
	line.edit = func(text string) string {
		return inLines(text, quoted(missing), func(l string) string {
			return old.ReplaceAllStringFunc(l, func(string) string { return table })
		})
	}
	return line
}

// inLines changes the first line that contains a text and is not a comment.
func inLines(text, has string, change func(string) string) string {
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if strings.Contains(l, has) && !strings.HasPrefix(strings.TrimSpace(l), "#") {
			lines[i] = change(l)
			break
		}
	}
	return strings.Join(lines, "\n")
}

func afterLine(text, has, added string) string {
	return inLines(text, has, func(l string) string { return l + "\n" + added })
}
