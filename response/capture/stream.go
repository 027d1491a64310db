package capture

import (
	"bufio"
	"bytes"
	"io"

	"example.com/earnest/internal/flac"
	"example.com/earnest/internal/wav"
)

// decode decodes a file of the given size, FLAC or WAV by its first bytes.
func decode(r io.ReaderAt, size, limit int64) (*wav.File, error) {
	if flac.Detect(r) {
		return flac.Decode(r, size, limit)
	}
	return wav.Read(r, size)
}

// readAll decodes what r delivers up to its end, FLAC or WAV, of at most limit bytes.
func readAll(r io.Reader, limit int64) (*wav.File, error) {
	if rest := anywhere(r, limit); rest != nil {
		return decode(rest, rest.Size(), limit)
	}
	b := bufio.NewReader(r)
	if start, _ := b.Peek(len(flac.Magic)); string(start) != flac.Magic {
		return wav.ReadAll(b, limit)
	}
	var all bytes.Buffer
	if _, err := all.ReadFrom(io.LimitReader(b, limit+1)); err != nil {
		return nil, err
	}
	if int64(all.Len()) > limit {
		return nil, wav.TooLarge(limit)
	}
	return flac.Decode(bytes.NewReader(all.Bytes()), int64(all.Len()), limit)
}

// anywhere returns what is left of r, up to limit bytes, if that can be read anywhere and not only in order, which saves a copy, and moves r to its
// end. Otherwise it returns nil and leaves r where it is.
func anywhere(r io.Reader, limit int64) *io.SectionReader {
	file, ok := r.(interface {
		io.ReaderAt
		io.Seeker
	})
	if !ok {
		return nil
	}
	from, err := file.Seek(0, io.SeekCurrent)
	if err != nil {
		return nil
	}
	to, err := file.Seek(0, io.SeekEnd)
	if err != nil || to <= from || to-from > limit { // a device says 0
		_, _ = file.Seek(from, io.SeekStart)
		return nil
	}
	return io.NewSectionReader(file, from, to-from)
}
