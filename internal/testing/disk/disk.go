// Package disk is for tests of what reads files: a disk that fails.
package disk

import (
	"errors"
	"io"
)

// ErrBroken is what a broken disk gives.
var ErrBroken = errors.New("the disk is broken")

// Failing is a file on a disk that cannot be read from byte From on.
type Failing struct {
	io.ReaderAt
	From int64
}

// ReadAt reads what lies before byte From.
func (f Failing) ReadAt(b []byte, at int64) (int, error) {
	if at+int64(len(b)) > f.From {
		return 0, ErrBroken
	}
	return f.ReaderAt.ReadAt(b, at)
}
