// Package regular opens regular files by name, and refuses all other kinds at once.
package regular

import (
	"crypto/sha256"
	"errors"
	"io"
	"io/fs"
	"os"
)

// The errors for other kinds of files, for errors.Is. A pipe would be read without end, and a
// device has no end.
var (
	ErrFolder  = errors.New("a folder; name a file in it")
	ErrSpecial = errors.New("a pipe or a device; name a file that has been written to its end")
)

// Open opens a regular file, or a link to one, for reading, and returns its size in bytes. The
// error is ErrFolder or ErrSpecial for other kinds, before they are opened, and otherwise that of
// the system.
func Open(path string) (f *os.File, size int64, err error) {
	if err := Check(path); err != nil {
		return nil, 0, err
	}
	if f, err = os.Open(path); err != nil {
		return nil, 0, err
	}
	about, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, 0, err
	}
	return f, about.Size(), nil
}

// Check returns ErrFolder or ErrSpecial unless path leads to a regular file. Other errors are those
// of the system.
func Check(path string) error {
	about, err := os.Stat(path)
	switch {
	case err != nil:
		return err
	case about.IsDir():
		return &fs.PathError{Op: "open", Path: path, Err: ErrFolder}
	case !about.Mode().IsRegular():
		return &fs.PathError{Op: "open", Path: path, Err: ErrSpecial}
	}
	return nil
}

// Sum returns the SHA-256 sum of what a regular file holds. The errors are those of Open, and of
// reading.
func Sum(path string) (sum [sha256.Size]byte, err error) {
	f, _, err := Open(path)
	if err != nil {
		return sum, err
	}
	defer f.Close()
	h := sha256.New()
	_, err = io.Copy(h, f)
	return [sha256.Size]byte(h.Sum(nil)), err
}
