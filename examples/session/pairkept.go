package session

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"

	files "example.com/earnest/internal/regular"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// keptSuffix is added to the name of a session file to name the file with its measured pair.
const keptSuffix = ".measured"

// mostKept is the largest size in bytes of a kept file that is read. Pairs take a hundredth of it.
const mostKept = 64 << 20

// kept is the stored result of a measured session.
type kept struct {
	Pair  target.Pair
	Known []bool   // by seating: its curve has a list of components, perhaps empty
	Unfit []string // the recordings left out, in sentences
}

// Pair measures the pair of a session for ranking, and returns sentences about recordings left out
// as unfit. The result is kept beside the session file. It is reused as long as this program, the
// session file and all files that it names are unchanged to the last bit. If the kept file cannot
// be read or written, Pair measures without it.
func (s *Session) Pair() (target.Pair, []string, error) {
	key, keyed := s.key()
	if k, ok := s.readKept(key); keyed && ok {
		return k.Pair, k.Unfit, nil
	}
	results, err := s.ReviewResponse(nil)
	if err != nil {
		return target.Pair{}, nil, err
	}
	k := kept{Pair: results.Pair()}
	for _, c := range k.Pair.Seatings {
		k.Known = append(k.Known, c.Components != nil)
	}
	for _, f := range results.Findings {
		if f.Severity == response.Unfit {
			k.Unfit = append(k.Unfit, f.String())
		}
	}
	if keyed {
		s.keep(key, k)
	}
	return k.Pair, k.Unfit, nil
}

// key returns a hash of the session's contents and this program. It is not known if the session was
// not read from a file or if one of its files cannot be read.
func (s *Session) key() (key [sha256.Size]byte, known bool) {
	program, err := thisProgram()
	if s.file == "" || err != nil {
		return key, false
	}
	h := sha256.New()
	h.Write(program[:])
	all := []string{s.file}
	for _, name := range append([]string{stimulusFile}, s.responseFiles()...) {
		if name != "" {
			all = append(all, s.path(name))
		}
	}
	for _, path := range all {
		sum, err := files.Sum(path)
		if err != nil && path != s.path(stimulusFile) { // which may be missing
			return key, false
		}
		h.Write(sum[:])
	}
	return [sha256.Size]byte(h.Sum(nil)), true
}

// responseFiles returns the names of the files that ReviewResponse may read; some names are empty.
func (s *Session) responseFiles() []string {
	all := []string{s.Stimulus.File, s.Direct.File, s.DirectAfter.File, s.Rig.Microphone, s.Rig.MicrophoneRight,
		s.Rig.Field}
	for _, c := range s.Uncertainty {
		all = append(all, c.File)
	}
	for _, seating := range s.Seatings {
		all = append(all, seating.Left.File, seating.Right.File)
	}
	if s.alone() {
		for _, p := range s.Programmes {
			all = append(all, p.Direct.File, p.Through.File, p.Left.File, p.Right.File)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// thisProgram is the hash of this program's own file.
var thisProgram = sync.OnceValues(func() (sum [sha256.Size]byte, err error) {
	path, err := os.Executable()
	if err != nil {
		return sum, err
	}
	return files.Sum(path)
})

// readKept reads the result kept under a key; ok is false if there is none or the file is damaged.
func (s *Session) readKept(key [sha256.Size]byte) (k kept, ok bool) {
	f, size, err := files.Open(s.file + keptSuffix)
	if err != nil {
		return k, false
	}
	defer f.Close()
	if size > mostKept {
		return k, false
	}
	data, err := io.ReadAll(io.LimitReader(f, mostKept))
	if err != nil || len(data) < 2*sha256.Size || [sha256.Size]byte(data) != key {
		return k, false
	}
	sum, data := [sha256.Size]byte(data[sha256.Size:]), data[2*sha256.Size:]
	if sha256.Sum256(data) != sum || gob.NewDecoder(bytes.NewReader(data)).Decode(&k) != nil {
		return k, false
	}
	if len(k.Known) != len(k.Pair.Seatings) {
		return k, false
	}
	for i, c := range k.Pair.Seatings { // the file does not distinguish nil from empty
		if k.Known[i] && c.Components == nil {
			k.Pair.Seatings[i].Components = []response.CurveComponent{}
		}
		for _, one := range c.Components {
			for j, effect := range one.Effects {
				if len(effect) == 0 {
					one.Effects[j] = nil
				}
			}
		}
	}
	return k, true
}

// keep stores a measured result: the key, a checksum and the data. The file appears only when it is
// complete.
func (s *Session) keep(key [sha256.Size]byte, k kept) {
	var data bytes.Buffer
	if gob.NewEncoder(&data).Encode(k) != nil {
		return
	}
	f, err := os.CreateTemp(filepath.Dir(s.file), "."+filepath.Base(s.file)+keptSuffix+"-*")
	if err != nil {
		return
	}
	defer os.Remove(f.Name()) // no longer there after a successful rename
	sum := sha256.Sum256(data.Bytes())
	_, err = f.Write(slices.Concat(key[:], sum[:], data.Bytes()))
	if f.Close() == nil && err == nil {
		_ = os.Rename(f.Name(), s.file+keptSuffix)
	}
}
