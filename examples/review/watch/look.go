package watch

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// How long a file has to lie still before it counts as whole: with a header that says so, with one that is
// left open, and with one that says that there is more to come.
const (
	stillWhole = 250 * time.Millisecond
	stillOpen  = time.Second
	stillCut   = 3 * time.Second
)

// file is a recording in the folder.
type file struct {
	name    string
	about   fs.FileInfo
	size    int64
	changed time.Time // on the disk
	still   time.Time // since when it has not grown
	arrived int       // in which order

	judged, replaced, gone bool
	named                  string // what the session file says of it
	sum                    string // of its bytes
	problem                string // why it cannot be read
	takes                  []*take
}

// look lists the folder, and says whether anything has changed.
func (d *desk) look(now time.Time) (changed bool) {
	entries, err := os.ReadDir(d.folder)
	if err != nil {
		return d.notice("folder", fmt.Sprintf("The folder cannot be read: %v. Nothing is lost of what was judged; "+
			"put it back, and this goes on.", err))
	}
	changed = d.notice("folder", "")
	there := map[string]bool{}
	for _, e := range entries {
		if !recording(e.Name()) {
			continue
		}
		about, err := os.Stat(filepath.Join(d.folder, e.Name()))
		if err != nil || !about.Mode().IsRegular() {
			continue
		}
		there[e.Name()] = true
		f := d.file(e.Name())
		switch {
		case f == nil:
			d.arrived++
			d.files = append(d.files, &file{name: e.Name(), about: about, size: about.Size(), changed: about.ModTime(),
				still: now, arrived: d.arrived})
			changed = true
		case f.size != about.Size() || !f.changed.Equal(about.ModTime()) || f.gone:
			if f.judged || f.gone {
				d.arrived++
				f.replaced = f.judged && (about.Size() < f.size || !os.SameFile(about, f.about)) // or it went on growing
				f.arrived, changed = d.arrived, true
			}
			f.about = about
			f.size, f.changed, f.still = about.Size(), about.ModTime(), now
			f.judged, f.gone, f.takes, f.problem = false, false, nil, ""
			d.lost(f)
		}
	}
	for _, f := range d.files {
		if !there[f.name] && !f.gone {
			f.gone, changed = true, true
			d.lost(f)
		}
	}
	return changed
}

// lost takes back the bench where its direct recording is another one now, or gone.
func (d *desk) lost(f *file) {
	if f.name == d.direct {
		d.bench, d.direct = nil, ""
	}
}

// recording tells by a file's name whether it may be one. What the report is made of is none.
func recording(name string) bool {
	extension := strings.ToLower(filepath.Ext(name))
	return slices.Contains([]string{".wav", ".wave", ".flac", ".rf64"}, extension) && !strings.HasPrefix(name, ".") &&
		!strings.HasPrefix(name, "excerpt-") && name != "stimulus.wav"
}

func (d *desk) file(name string) *file {
	for _, f := range d.files {
		if f.name == name {
			return f
		}
	}
	return nil
}

// settled is the file that is to be judged next of those that are whole; nil where there is none. The one that came
// last comes first, but of those that were there at the beginning the direct recording that the session file
// names, by which others are judged, and then the oldest.
func (d *desk) settled(now time.Time) *file {
	var whole []*file
	for _, f := range d.files {
		if lies := now.Sub(f.still); !f.judged && !f.gone && lies >= stillWhole &&
			lies >= headerOf(filepath.Join(d.folder, f.name), f.size) {
			whole = append(whole, f)
		}
	}
	if len(whole) == 0 {
		return nil
	}
	return slices.MinFunc(whole, func(a, b *file) int {
		newA, newB := a.arrived > d.first, b.arrived > d.first
		directA, directB := a.name == d.draft.Said().Direct.File, b.name == d.draft.Said().Direct.File
		switch {
		case newA != newB:
			return -compare(newA, newB)
		case newA:
			return b.arrived - a.arrived
		case directA != directB:
			return -compare(directA, directB)
		}
		return a.changed.Compare(b.changed)
	})
}

// compare orders false before true.
func compare(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// headerOf is how long a file has to lie still, by what its header says.
func headerOf(path string, size int64) time.Duration {
	in, err := os.Open(path)
	if err != nil {
		return stillWhole // judging it says why
	}
	defer in.Close()
	var head [42]byte
	if _, err := io.ReadFull(in, head[:]); err != nil {
		return stillCut
	}
	switch string(head[:4]) {
	case "RIFF":
		stated := int64(binary.LittleEndian.Uint32(head[4:8])) + 8
		switch {
		case stated == size || stated == size-1 || stated == size+1:
			return stillWhole
		case stated > size && stated < 1<<31-1<<20:
			return stillCut
		}
		return stillOpen
	case "fLaC": // 36 bits of samples in STREAMINFO, from byte 21 on (RFC 9639, 8.2)
		if samples := int64(head[21]&15)<<32 | int64(binary.BigEndian.Uint32(head[22:26])); samples > 0 {
			return 2 * stillWhole
		}
	}
	return stillOpen
}

// unreadable says in words why a file cannot be read.
func unreadable(err error) string {
	switch {
	case errors.Is(err, fs.ErrPermission):
		return "This account may not read it. Allow that, or save it again under this account."
	case errors.Is(err, fs.ErrNotExist):
		return "It went away before it was read."
	}
	return strings.TrimPrefix(err.Error(), "capture: ")
}
