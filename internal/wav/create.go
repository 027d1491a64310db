package wav

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
)

// Create writes the file path by calling write, completely or not at all: the bytes go to a new
// file in the same folder, which takes the name path only when it is complete. If path exists, the
// error is fs.ErrExist unless overwrite is set; the old file then remains until the new one
// replaces it.
func Create(path string, overwrite bool, write func(io.Writer) error) (err error) {
	if err := vacant(path, overwrite); err != nil {
		return err
	}
	part := filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s.%016x.part", filepath.Base(path), rand.Uint64()))
	f, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%w: the folder %s; make it first", fs.ErrNotExist, filepath.Dir(path))
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%w to write in the folder %s; choose another", fs.ErrPermission, filepath.Dir(path))
	case err != nil:
		return err
	}
	defer func() {
		f.Close() // does nothing if the file is closed already
		os.Remove(part)
	}()
	b := bufio.NewWriterSize(f, blockBytes)
	if err := write(b); err != nil {
		return err
	}
	if err := b.Flush(); err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if overwrite {
		return os.Rename(part, path)
	}
	return settle(part, path, os.Link)
}

// vacant returns an error unless a file may be created at path.
func vacant(path string, overwrite bool) error {
	there, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case there.IsDir():
		return fmt.Errorf("%w as a folder; choose another name", fs.ErrExist)
	case !overwrite:
		return exists()
	}
	return nil
}

func exists() error {
	return fmt.Errorf("%w; choose another name, or ask for it to be overwritten", fs.ErrExist)
}

// settle gives part the name path unless a file has it. Unlike a renaming, a link cannot replace a
// file that another program has created in the meantime. Where the disk has no links, as on memory
// cards, settle checks again and renames.
func settle(part, path string, link func(old, new string) error) error {
	err := link(part, path)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return exists()
	}
	if err := vacant(path, false); err != nil {
		return err
	}
	return os.Rename(part, path)
}
