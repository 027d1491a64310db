package capture

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"example.com/earnest/internal/flac"
	"example.com/earnest/internal/hugepage"
	"example.com/earnest/internal/regular"
	"example.com/earnest/internal/wav"
)

// Block is a stretch of a file that is read piece by piece.
type Block struct {
	*Recording      // of the stretch; reading the next block overwrites its samples
	From       int  // the sample of the file at which the block begins
	Last       bool // the file ends with this block
}

// source is a file that is read in windows.
type source struct {
	Recording // without channels
	channels  int
	window    func(from, n int) (channels [][]float64, last bool, err error)
	cut       func() error // reports a truncation, which is known once the end is reached
	close     func()
}

// ReadBlocks reads a WAV or FLAC file of any length in blocks of up to length samples of each
// channel, and passes each block to the function each. That function returns the sample of the file
// at which the next block begins: after Block.From, and no later than the end of the block. Memory
// holds one block at a time.
//
// The errors are those of Read, and those of each, which end the reading. ErrTooLarge is for a
// block of more than 2^27 samples of all channels together. A file that was cut short is read to
// its end; the error is then ErrTruncated. ReadBlocks panics if each returns another place.
func ReadBlocks(path string, length int, each func(Block) (next int, err error)) error {
	f, size, err := regular.Open(path)
	if err != nil {
		return opening(path, err)
	}
	defer f.Close()
	source, err := open(f, size)
	if err != nil {
		return named(path, err)
	}
	defer source.close()
	if n := int64(source.channels); int64(length) > usualLimit/n {
		return named(path, wav.TooLarge(int64(length)*n, usualLimit))
	}
	head := source.Recording
	head.Name = filepath.Base(path)
	for from := 0; ; {
		b := Block{Recording: new(Recording), From: from}
		*b.Recording = head
		if b.Channels, b.Last, err = source.window(from, length); err != nil {
			return named(path, err)
		}
		if b.Len() == 0 { // the file ended with the block before
			return named(path, source.cut())
		}
		next, err := each(b)
		if err != nil {
			return err
		}
		if b.Last {
			return named(path, source.cut())
		}
		if next <= from || next > from+b.Len() {
			panic(fmt.Sprintf("capture: after the block from sample %d to %d the next cannot begin at %d",
				from, from+b.Len(), next))
		}
		from = next
	}
}

func open(f *os.File, size int64) (source, error) {
	all := io.NewSectionReader(f, 0, size)
	if flac.Detect(all) {
		r, err := flac.Open(all, size)
		if err != nil {
			return source{}, err
		}
		return source{Recording{SampleRate: r.SampleRate, Format: Format(r.Format), LengthUnstated: r.LengthUnstated},
			r.Channels,
			r.Window, func() error { return r.Cut }, r.Close}, nil
	}
	r, err := wav.Open(all, size)
	if err != nil {
		return source{}, err
	}
	room := make([][]float64, r.Channels)
	window := func(from, n int) ([][]float64, bool, error) {
		n = min(n, r.Len-from)
		for c, x := range room {
			if cap(x) < n {
				x = hugepage.Make[float64](n)
			}
			room[c] = x[:n]
		}
		return room, from+n == r.Len, r.Decode(room, from)
	}
	return source{Recording{SampleRate: r.SampleRate, Format: Format(r.Format), LengthUnstated: r.LengthUnstated,
		Settings: r.Settings}, r.Channels,
		window, func() error { return r.Cut }, func() {}}, nil
}
