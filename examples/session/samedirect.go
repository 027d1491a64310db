package session

import (
	"cmp"
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

// Like names another session that may have the same direct recording, such as one of the same day.
// If stimulus and direct recording are equal to the last bit, the session takes over what was
// measured of them. The results stay the same. Call it before Review.
func (s *Session) Like(other *Session) {
	if !s.sameDirect(other) {
		return
	}
	if other.played != nil {
		s.played, s.playedHolds = other.played, other.playedHolds
		s.playedNotes, s.playedDoubts = other.playedNotes, other.playedDoubts
	}
	if direct := cmp.Or(other.direct, other.like); direct != nil {
		s.like = direct
	}
}

// sameDirect reports whether two sessions have the same stimulus and the same direct recording,
// under the same names.
func (s *Session) sameDirect(other *Session) bool {
	a, known := s.directKey()
	b, otherKnown := other.directKey()
	return known && otherKnown && a == b
}

// directKey identifies stimulus and direct recording. It is not known for a session whose direct
// recording has several plays, is also a seating, or is resampled.
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
