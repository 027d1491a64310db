package flac

import "io"

// filePiece is a piece of a file in memory.
type filePiece struct {
	r    io.ReaderAt
	size int64 // of the file
	from int64 // offset of b in the file
	b    []byte
}

// load reads n bytes from offset at, or those that the file has. If the file has become shorter
// since it was opened, load uses its present size.
func (p *filePiece) load(at, n int64) error {
	n = max(min(n, p.size-at), 0)
	if int64(cap(p.b)) < n {
		p.b = make([]byte, n)
	}
	p.from, p.b = at, p.b[:n]
	got, err := p.r.ReadAt(p.b, at)
	if got == len(p.b) {
		return nil
	}
	p.b = p.b[:got]
	if err != io.EOF {
		return err
	}
	p.size = at + int64(got)
	return nil
}

// end returns the offset in the file at which b ends.
func (p *filePiece) end() int64 { return p.from + int64(len(p.b)) }

// last reports whether the file ends where b does.
func (p *filePiece) last() bool { return p.end() >= p.size }
