package report

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/gofrs/flock"
)

// ErrBusy is returned for a folder that another run is writing to.
var ErrBusy = errors.New("another run is writing here")

// unfinished begins the names of incomplete files.
const unfinished = ".unfinished-"

// finished begins the name of a folder with all files of a report, complete but not yet moved to
// their places.
const finished = ".finished-"

// rename is os.Rename. A test replaces it to be killed between two calls.
var rename = os.Rename

// Lock keeps other runs on this machine from writing a report into a folder, or a file of results,
// until release is called or the process ends. It removes what a killed run has left in a folder,
// or moves its finished report into place. It returns ErrBusy if another run has the lock.
//
// The lock is a file in the folder for temporary files, so that it leaves nothing beside the
// report.
func Lock(folder string) (release func(), err error) {
	path, err := filepath.Abs(folder)
	if err != nil {
		return nil, fmt.Errorf("report: %w", err)
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	} else if real, err := filepath.EvalSymlinks(filepath.Dir(path)); err == nil { // it does not exist yet
		path = filepath.Join(real, filepath.Base(path))
	}
	lock := flock.New(filepath.Join(os.TempDir(), fmt.Sprintf("earnest-%x.lock", sha256.Sum256([]byte(path)))))
	switch locked, err := lock.TryLock(); {
	case err != nil:
		return nil, fmt.Errorf("report: %s: %w", folder, err)
	case !locked:
		return nil, fmt.Errorf("report: %s: %w; wait until it is done, or name another place", folder, ErrBusy)
	}
	entries, _ := os.ReadDir(folder) // a file or a missing folder has no entries
	for _, e := range entries {
		var err error
		switch left := filepath.Join(folder, e.Name()); {
		case strings.HasPrefix(e.Name(), unfinished):
			err = os.RemoveAll(left)
		case strings.HasPrefix(e.Name(), finished):
			err = moveAll(left, folder)
		}
		if err != nil {
			_ = lock.Unlock()
			return nil, fmt.Errorf("report: %w", err)
		}
	}
	return func() { _ = lock.Unlock() }, nil
}

// Writable returns an error if a folder is not writable and cannot be created. Call it before
// minutes of measuring. It leaves no files behind.
func Writable(folder string) error {
	for {
		about, err := os.Stat(folder)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			folder = filepath.Dir(folder)
			continue
		case err != nil:
			return fmt.Errorf("report: %w", err)
		case !about.IsDir():
			return fmt.Errorf("report: %s is not a folder; name another", folder)
		}
		probe, err := os.MkdirTemp(folder, unfinished)
		if err != nil {
			var of *fs.PathError
			if errors.As(err, &of) { // its path names an internal file
				err = of.Err
			}
			return fmt.Errorf("report: nothing can be written into %s: %w; name another folder", folder, err)
		}
		return os.Remove(probe)
	}
}

// settle moves the files in a temporary folder to another folder, all or none. It first renames the
// temporary folder to say that they are complete. If the run is killed, the next one moves the
// rest.
func settle(temporary, folder string) error {
	whole := filepath.Join(folder, finished+strings.TrimPrefix(filepath.Base(temporary), unfinished))
	if err := rename(temporary, whole); err != nil {
		return err
	}
	return moveAll(whole, folder)
}

// moveAll moves the files of a folder into another and removes the folder.
func moveAll(from, to string) error {
	entries, err := os.ReadDir(from)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if err := rename(filepath.Join(from, e.Name()), filepath.Join(to, e.Name())); err != nil {
			return err
		}
	}
	return os.Remove(from)
}
