// Package disk has a disk that fails, for tests of code that reads files.
package disk

import (
	"errors"
	"io"
)

// ErrBroken is the error of a broken disk.
var ErrBroken = errors.New("the disk is broken")

// Failing is a file on a disk that cannot be read from byte From on.
type Failing struct {
	io.ReaderAt
	From int64
}

// ReadAt reads the bytes before From.
func (f Failing) ReadAt(b []byte, at int64) (int, error) {
	if at+int64(len(b)) > f.From {
		return 0, ErrBroken
	}
	return f.ReaderAt.ReadAt(b, at)
}
