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

// How long a file must not grow before it counts as complete: with a header that agrees with its
// size, with an open header, and with a header that promises more.
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
	still   time.Time // time since which it has not grown
	arrived int       // order of arrival

	judged, replaced, gone bool
	named                  string // what the session file says about it
	sum                    string // checksum of its bytes
	problem                string // why it cannot be read
	forbidden              bool   // to this account; a change of that leaves size and time as they are
	takes                  []*take
}

// look lists the folder and reports whether anything has changed.
func (d *desk) look(now time.Time) (changed bool) {
	entries, err := os.ReadDir(d.folder)
	if err != nil {
		return d.notice("folder", fmt.Sprintf("The folder cannot be read: %v. The results so far are kept. "+
			"Once the folder is back, or may be read, the assistant continues.", err))
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
				// not just still growing
				f.replaced = f.judged && (about.Size() < f.size || !os.SameFile(about, f.about))
				f.arrived, changed = d.arrived, true
			}
			f.about = about
			f.size, f.changed, f.still = about.Size(), about.ModTime(), now
			f.judged, f.gone, f.takes, f.problem = false, false, nil, ""
			d.lost(f)
		case f.judged && f.forbidden && readable(filepath.Join(d.folder, e.Name())):
			f.judged, f.still, changed = false, now, true
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

// lost drops the bench if its direct recording is gone or was replaced.
func (d *desk) lost(f *file) {
	if f.name == d.direct {
		d.bench, d.direct = nil, ""
	}
}

func (d *desk) file(name string) *file {
	for _, f := range d.files {
		if f.name == name {
			return f
		}
	}
	return nil
}

// settled returns the complete file to judge next; nil if there is none. The latest file comes
// first. Of the files present at the start, the direct recording named in the session file comes
// first, since others are judged with it, and then the oldest.
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

// readable reports whether this account may open a file.
func readable(path string) bool {
	in, err := os.Open(path)
	if err == nil {
		in.Close()
	}
	return err == nil
}

// recording reports by its name whether a file may be a recording. Files of the report are not.
func recording(name string) bool {
	extension := strings.ToLower(filepath.Ext(name))
	return slices.Contains([]string{".wav", ".wave", ".flac", ".rf64"}, extension) && !strings.HasPrefix(name, ".") &&
		!strings.HasPrefix(name, "excerpt-") && name != "stimulus.wav"
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

// headerOf returns how long a file must not grow, given its header.
func headerOf(path string, size int64) time.Duration {
	in, err := os.Open(path)
	if err != nil {
		return stillWhole // judging gives the reason
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
		return "It was removed before it was read."
	}
	return strings.TrimPrefix(err.Error(), "capture: ")
}
