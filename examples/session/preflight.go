package session

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// named is a file that the session names.
type named struct {
	place string // in the session file
	file  string
}

// preflight checks everything that the session needs before anything is measured, and returns the
// bench. A missing direct recording, a wrong line in a target or a pair from another rig is so
// reported at once and not after minutes.
func (s *Session) preflight() (*review.Bench, error) {
	also := []named{{"[target]", s.Target.File}}
	for _, photo := range s.Notes.photos() {
		also = append(also, named{"[notes]", photo})
	}
	if err := s.present(append(s.needed(), stated(also)...)); err != nil {
		return nil, err
	}
	bench, err := s.bench()
	if err != nil {
		return nil, err
	}
	criteria, err := s.criteria(s.placeholderPair, s.placeholderPair)
	if err != nil {
		return nil, err
	}
	rivals := criteria.Rivals
	criteria.Rivals = nil
	if err := bench.Preflight(s.Headphones.Name, s.leastSeatings(), criteria); err != nil {
		return nil, s.targetError(err)
	}
	criteria.Rivals = rivals
	if err := bench.Preflight(s.Headphones.Name, s.leastSeatings(), criteria); err != nil {
		return nil, fmt.Errorf("[[rival]]: %w", err)
	}
	return bench, nil
}

// leastSeatings returns the smallest possible number of seatings of the session.
func (s *Session) leastSeatings() int {
	if s.alone() {
		return 1
	}
	if s.Seatings[0].EveryPlay {
		return max(2, len(s.Seatings))
	}
	return len(s.Seatings)
}

// placeholderPair returns a stand-in for another session's pair until that is measured.
func (s *Session) placeholderPair(path string) (target.Pair, error) {
	other, err := Read(s.path(path))
	if err != nil {
		return target.Pair{}, err
	}
	same := other.sameDirect(s)
	other.Like(s)
	other = other.responseAlone()
	bench, err := other.responseBench()
	if err != nil {
		return target.Pair{}, err
	}
	if !same || !s.directReads {
		if err := other.read(other.Direct.File, 1).Err; err != nil && !other.alone() {
			return target.Pair{}, fmt.Errorf("[direct]: %w", err)
		}
		s.directReads = same
	}
	return bench.Flat(other.Headphones.Name, other.leastSeatings()), nil
}

// needed returns the files that every response needs: the stimulus, the direct recordings, the
// calibrations of the microphones, the tables of uncertainty and the table for the rig's ear.
func (s *Session) needed() []named {
	all := []named{{"[stimulus]", s.Stimulus.File}, {"[direct]", s.Direct.File}, {"[direct_after]", s.DirectAfter.File},
		{"[rig] microphone", s.Rig.Microphone},
		{"[rig] microphone_right", s.Rig.MicrophoneRight}, {"[rig] field", s.Rig.Field}}
	for _, c := range s.Uncertainty {
		all = append(all, named{fmt.Sprintf("uncertainty %q", c.Name), c.File})
	}
	return stated(all)
}

// present returns an error that lists all missing files with the places that name them.
func (s *Session) present(files []named) error {
	var errs []error
	for _, f := range files {
		if err := regular(s.path(f.file)); err != nil {
			errs = append(errs, fmt.Errorf("session: %s: %w", f.place, err))
		}
	}
	return errors.Join(errs...)
}

// stated returns the entries that name a file.
func stated(all []named) []named {
	var out []named
	for _, f := range all {
		if f.file != "" {
			out = append(out, f)
		}
	}
	return out
}

var errNotRegular = errors.New("not a regular file")

// regular returns an error unless the path is a regular file. Reading from another kind might never
// end.
func regular(path string) error {
	about, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: %w; check the name, which is relative to the folder of the session "+
			"file", path, fs.ErrNotExist)
	case err != nil:
		return err
	case about.IsDir():
		return fmt.Errorf("%s: %w but a folder; name a file in it", path, errNotRegular)
	case !about.Mode().IsRegular():
		return fmt.Errorf("%s: %w; name a recording that has been written to its end", path, errNotRegular)
	}
	return nil
}
