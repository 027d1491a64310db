package sweep

import (
	"fmt"
	"io"

	"example.com/earnest/internal/wav"
)

// Format is how the samples of a file are stored.
type Format int

// The formats in which a stimulus is written. Integers are dithered with
// triangular noise of 2 steps from peak to peak, so that what rounding leaves
// is noise and not distortion of the sweep (Lipshitz, Wannamaker, Vanderkooy,
// J. Audio Eng. Soc. 40(5), 1992): −96 dB rms re full scale for 16 bits, −144
// for 24.
const (
	PCM24   Format = iota // 24-bit integer: the common case
	PCM16                 // 16-bit integer: for players that take nothing else
	Float32               // 32-bit float, for another program to work on
)

// String is the format in words.
func (f Format) String() string {
	switch f {
	case PCM24:
		return "24-bit integer, dithered"
	case PCM16:
		return "16-bit integer, dithered"
	case Float32:
		return "32-bit float"
	}
	return fmt.Sprintf("Format(%d)", int(f))
}

func (f Format) stored() (wav.Format, error) {
	switch f {
	case PCM24:
		return wav.Format{Bits: 24}, nil
	case PCM16:
		return wav.Format{Bits: 16}, nil
	case Float32:
		return wav.Format{Bits: 32, Float: true}, nil
	}
	return wav.Format{}, fmt.Errorf("sweep: %v is no format; choose PCM24, PCM16 or Float32", f)
}

// ditherSeed makes the dither the same each time, and so the file: a reviewer
// can tell by its checksum that two sessions played the same.
const ditherSeed = 1

// WriteWAV writes the stimulus as a WAV file of two channels, left and right.
// The same stimulus in the same format gives the same bytes. Nothing has been
// written when the error is about the format.
func (st *Stimulus) WriteWAV(w io.Writer, f Format) error {
	stored, err := f.stored()
	if err != nil {
		return err
	}
	if err := wav.Write(w, st.sweep.sampleRate, st.Channels(), wav.Options{Format: stored, Seed: ditherSeed}); err != nil {
		return fmt.Errorf("sweep: stimulus: %w", err)
	}
	return nil
}

// SaveWAV writes the stimulus to a file, whole or not at all. A file that
// exists is an error that is fs.ErrExist, unless overwrite is set.
func (st *Stimulus) SaveWAV(path string, f Format, overwrite bool) error {
	if _, err := f.stored(); err != nil {
		return err
	}
	err := wav.Create(path, overwrite, func(w io.Writer) error { return st.WriteWAV(w, f) })
	if err != nil {
		return fmt.Errorf("sweep: %s: %w", path, err)
	}
	return nil
}
