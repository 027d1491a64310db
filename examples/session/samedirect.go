package session

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"

	files "example.com/earnest/internal/regular"
	"example.com/earnest/target/review"
)

// measuredDirect is a direct recording on the bench that it was measured on.
type measuredDirect struct {
	bench    *review.Bench
	channels review.Channels
}

// Like tells that another session may be of the same direct recording, such as one made on the same
// day: where stimulus and direct recording are the same to the last bit, they are not read, located,
// inspected and measured once more. It does nothing to the results. It comes before Review.
func (s *Session) Like(other *Session) {
	if !s.sameDirect(other) {
		return
	}
	s.played, s.playedHolds = other.played, other.playedHolds
	s.playedNotes, s.playedDoubts = other.playedNotes, other.playedDoubts
	s.like = other.direct
}

// sameDirect tells whether two sessions have the same stimulus and the same direct recording, by the
// same names.
func (s *Session) sameDirect(other *Session) bool {
	a, known := s.directKey()
	b, otherKnown := other.directKey()
	return known && otherKnown && a == b
}

// directKey tells stimulus and direct recording from all others. It is not known for a session whose
// direct recording has several plays, is a seating too, or is brought to another rate.
func (s *Session) directKey() (key [sha256.Size]byte, known bool) {
	if s.alone() || s.Direct.Play != 0 || s.Resample || s.Stimulus.Resample || s.file == "" {
		return key, false
	}
	for _, one := range s.Seatings {
		if one.Left.File == s.Direct.File || one.Right.File == s.Direct.File {
			return key, false
		}
	}
	if s.keyOfDirect != nil {
		return *s.keyOfDirect, true
	}
	h := sha256.New()
	fmt.Fprintf(h, "%#v\n%#v\n%v %v\n", s.Stimulus, s.Direct, s.UseUnfit, s.Rig.Ceiling)
	for _, name := range []string{s.Stimulus.File, stimulusFile, s.Direct.File} {
		if name == "" {
			continue
		}
		sum, err := files.Sum(s.path(name))
		if errors.Is(err, fs.ErrNotExist) && name == stimulusFile {
			continue
		}
		if err != nil {
			return key, false
		}
		fmt.Fprintf(h, "%s %x\n", name, sum)
	}
	key = [sha256.Size]byte(h.Sum(nil))
	s.keyOfDirect = &key
	return key, true
}
