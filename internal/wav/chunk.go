package wav

import (
	"encoding/binary"
	"errors"
	"io"
)

// maxChunks limits the time for a file of empty chunks. Real files have about ten.
const maxChunks = 4096

// unstated is the size in a header whose writer did not know it, and in RF64 if the size is in
// ds64.
const unstated = 0xFFFFFFFF

// chunk is one chunk of a RIFF file.
type chunk struct {
	id   string
	at   int64 // offset of its contents in the file, in bytes
	size int64 // bytes of its contents, by its header
}

// errEnd means that no more chunks follow.
var errEnd = errors.New("end of file")

// chunks goes through the chunks of a RIFF file up to its end, whatever size the RIFF header
// states.
type chunks struct {
	r    io.ReaderAt
	size int64 // of the file
	pos  int64 // the end of the last chunk, before padding
	odd  bool  // its size is odd, so that a padding byte should follow
	seen int
	text string // of the last chunk of settings
}

// read fills b from offset at.
func (w *chunks) read(b []byte, at int64) error {
	n, err := w.r.ReadAt(b, at)
	switch {
	case n == len(b):
		return nil
	case err == io.EOF:
		return fault(ErrTruncated, at+int64(n),
			"the file has become shorter while it was read; read it again when it is complete")
	}
	return err
}

// next returns the next chunk and moves behind it. It accepts files without padding after an odd
// size: padding is zero, and no name of a chunk begins with zero.
func (w *chunks) next() (chunk, error) {
	var b [9]byte
	have := min(w.size-w.pos, int64(len(b)))
	if have < 8 {
		return chunk{}, errEnd
	}
	if w.seen++; w.seen > maxChunks {
		return chunk{}, fault(ErrHeader, w.pos, "more than %d chunks; the file is damaged", maxChunks)
	}
	if err := w.read(b[:have], w.pos); err != nil {
		return chunk{}, err
	}
	head, at := b[:8], w.pos+8
	if w.odd && (b[0] == 0 || !printable(b[:4])) {
		if have < 9 {
			return chunk{}, errEnd
		}
		head, at = b[1:], at+1
	}
	if !printable(head[:4]) {
		return chunk{}, fault(ErrHeader, at-8, "no chunk begins where the one before it ends; the file is damaged")
	}
	c := chunk{string(head[:4]), at, int64(binary.LittleEndian.Uint32(head[4:]))}
	w.skip(c)
	if c.id == settingsID {
		w.text = w.settings(c)
	}
	return c, nil
}

// skip moves behind c, whose size the caller may have corrected.
func (w *chunks) skip(c chunk) { w.pos, w.odd = c.at+c.size, c.size%2 == 1 }

// contents reads up to limit bytes of c.
func (w *chunks) contents(c chunk, limit int64) ([]byte, error) {
	if c.size > w.size-c.at {
		return nil, fault(ErrTruncated, w.size,
			"the file ends inside its %q chunk, before any sample; copy or record it again", c.id)
	}
	b := make([]byte, min(c.size, limit))
	return b, w.read(b, c.at)
}

func printable(id []byte) bool {
	for _, c := range id {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return true
}
