package capture

import (
	"io"

	"example.com/earnest/internal/wav"
)

// WriteConfig says how a recording is written. The zero value writes the format of the recording,
// with dither where samples have to be rounded, and never replaces a file.
type WriteConfig struct {
	Format    Format // zero: that of the recording, or 24-bit integer if it has none
	NoDither  bool   // round to the nearest step only; the error then depends on the signal
	Seed      uint64 // of the dither: the same seed gives the same file
	Overwrite bool   // replace a file of that name; Encode ignores it
}

// Write writes a recording as the WAV file path, completely or not at all: it writes a new file in
// the same folder, which takes the name path when it is complete.
//
// Integers of up to 24 bits get triangular dither of 2 steps from peak to peak before they are
// rounded, unless every sample lies on a step already. So a recording that was read and is written
// in the same format comes out bit for bit the same. Dither triples the power of the rounding
// noise, to a quarter of a step squared (−96 dB rms re full scale for 16 bits, −144 dB for 24), and
// makes it independent of the signal (Lipshitz, Wannamaker, Vanderkooy, J. Audio Eng. Soc. 40(5),
// 1992).
//
// Errors: fs.ErrExist if there is such a file and Overwrite is not set; ErrFullScale if a sample is
// above 1 and the format is integer; ErrNotFinite; ErrEmpty; ErrHeader for a sample rate that a
// header cannot state; ErrUnsupported for an unknown format, and for one whose valid bits do not
// fill it, which few programs read correctly; ErrTooLarge above 4 GiB. Write panics if the channels
// differ in length, and for Settings of more than 4096 bytes.
func Write(path string, r *Recording, c WriteConfig) error {
	err := wav.Create(path, c.Overwrite, func(w io.Writer) error { return encode(w, r, c) })
	return named(path, err)
}

// Encode writes a recording to w as a WAV file, with the configuration and the errors of Write.
func Encode(w io.Writer, r *Recording, c WriteConfig) error {
	return named(r.Name, encode(w, r, c))
}

func encode(w io.Writer, r *Recording, c WriteConfig) error {
	f := c.Format
	if f == (Format{}) {
		f = r.Format
		f.ValidBits = 0 // all bits: the samples may have been processed
	}
	if f == (Format{}) {
		f = Format{Bits: 24}
	}
	return wav.Write(w, r.SampleRate, r.Channels,
		wav.Options{Format: wav.Format(f), NoDither: c.NoDither, Seed: c.Seed, Settings: r.Settings})
}
