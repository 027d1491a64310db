package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"

	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// named is a file that the session names.
type named struct {
	place string // in the session file
	file  string
}

// preflight looks at all that the session names before anything is measured: what would only be
// missed after minutes, a name that leads nowhere, a line of a target that is none, a pair from
// another rig, is said at once. It returns the bench.
func (s *Session) preflight() (*review.Bench, error) {
	if err := s.present(slices.Concat(s.recordings(), s.microphone(), s.others())); err != nil {
		return nil, err
	}
	bench, err := s.bench()
	if err != nil {
		return nil, err
	}
	for _, p := range s.Programmes {
		for _, f := range []File{p.Direct, p.Through} {
			if _, err := s.read(f.File); err != nil {
				return nil, fmt.Errorf("programme %q: %w", p.Name, err)
			}
		}
	}
	criteria, err := s.criteria(s.placeholderPair)
	if err != nil {
		return nil, err
	}
	rivals := criteria.Rivals
	criteria.Rivals = nil
	if err := bench.Foresee(s.Headphones.Name, s.leastSeatings(), criteria); err != nil {
		return nil, s.targetError(err)
	}
	criteria.Rivals = rivals
	if err := bench.Foresee(s.Headphones.Name, s.leastSeatings(), criteria); err != nil {
		return nil, fmt.Errorf("[[rival]]: %w", err)
	}
	return bench, nil
}

// leastSeatings is how many seatings the session has at least.
func (s *Session) leastSeatings() int {
	if s.Seatings[0].EveryPlay {
		return max(2, len(s.Seatings))
	}
	return len(s.Seatings)
}

// placeholderPair stands for another session's pair until that is measured.
func (s *Session) placeholderPair(path string) (target.Session, error) {
	other, err := Read(s.path(path))
	if err != nil {
		return target.Session{}, err
	}
	other = other.responseAlone()
	bench, err := other.responseBench()
	if err != nil {
		return target.Session{}, err
	}
	for _, f := range other.recordings() {
		if _, err := other.read(f.file); err != nil {
			return target.Session{}, fmt.Errorf("%s: %w", f.place, err)
		}
	}
	return bench.Flat(other.Headphones.Name, other.leastSeatings()), nil
}

// microphone is the calibration of the microphone, and what the rig's ear reads higher than a field.
func (s *Session) microphone() []named {
	return stated([]named{{"[rig] microphone", s.Rig.Microphone}, {"[rig] field", s.Rig.Field}})
}

// recordings are those of the stimulus.
func (s *Session) recordings() []named {
	all := []named{{"[direct]", s.Direct.File}}
	for i, seating := range s.Seatings {
		place := "[[seating]] " + or(seating.Name, fmt.Sprintf("seating %d", i+1))
		all = append(all, named{place + ", left", seating.Left.File}, named{place + ", right", seating.Right.File})
	}
	return stated(all)
}

// others are the files beside the recordings of the stimulus. Sessions are not
// among them: those are read.
func (s *Session) others() []named {
	all := []named{
		{"[target]", s.Target.File}, {"[calibrator]", s.Calibrator.File},
		{"[impedance]", s.ImpedanceFile.File}, {"[impedance] reference", s.ImpedanceFile.Reference},
		{"[isolation] open", s.Isolation.Open}, {"[isolation] covered", s.Isolation.Covered}, {"[isolation] background", s.Isolation.Background},
		{"[spill] beside", s.Spill.Beside}, {"[spill] background", s.Spill.Background},
	}
	for _, p := range s.Programmes {
		place := fmt.Sprintf("[[programme]] %q", p.Name)
		all = append(all, named{place + ", direct", p.Direct.File}, named{place + ", through", p.Through.File})
	}
	return stated(all)
}

// stated leaves out what names no file.
func stated(all []named) []named {
	var out []named
	for _, f := range all {
		if f.file != "" {
			out = append(out, f)
		}
	}
	return out
}

// present tells which files are missing, all of them at once and each where it is
// named first.
func (s *Session) present(files []named) error {
	var errs []error
	seen := map[string]bool{}
	for _, f := range files {
		path := s.path(f.file)
		if seen[path] {
			continue
		}
		seen[path] = true
		about, err := os.Stat(path)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			errs = append(errs, fmt.Errorf("session: %s: %s: %w; check the name, which counts from the folder of the session file", f.place, path, fs.ErrNotExist))
		case err != nil:
			errs = append(errs, fmt.Errorf("session: %s: %w", f.place, err))
		case about.IsDir():
			errs = append(errs, fmt.Errorf("session: %s: %w: %s is a folder; name a file in it", f.place, ErrSession, path))
		case !about.Mode().IsRegular():
			errs = append(errs, fmt.Errorf("session: %s: %w: %s is not a regular file; name a recording that has been written to its end", f.place, ErrSession, path))
		}
	}
	return errors.Join(errs...)
}
