// Package wav reads and writes the bytes of RIFF/WAVE files: integer samples of 8 to 32 bits and
// IEEE float samples of 32 and 64 bits, with plain and extensible headers, in RIFF and in RF64
// files.
//
// Samples are float64 with full scale = 1: an integer sample of b bits is divided by 2^(b−1), so
// that it lies in [−1, 1). Errors count channels from 1.
//
// Errors carry neither a package prefix nor the name of the file, which the caller adds.
//
// Sources: IBM and Microsoft, Multimedia Programming Interface and Data Specifications 1.0 (1991),
// chapter 3, and New Multimedia Data Types and Data Techniques 3.0 (1994), for the chunks;
// "Multiple Channel Audio Data and WAVE Files" (2001, revised 2007) for WAVE_FORMAT_EXTENSIBLE; EBU
// Tech 3306 and ITU-R BS.2088 for RF64 and BW64.
package wav

import "fmt"

// maxChannels is the largest number of channels; a header with more counts as damaged.
const maxChannels = 1024

// Format says how samples are stored.
type Format struct {
	Bits      int  // bits a sample occupies in the file: 8, 16, 24 or 32, for float 32 or 64
	ValidBits int  // the upper bits of these that carry signal; 0 means all of them
	Float     bool // IEEE 754 float instead of integer
}

// String describes the format: "24-bit integer", "20-bit integer in 24 bits", "32-bit float".
func (f Format) String() string {
	switch {
	case f.Float:
		return fmt.Sprintf("%d-bit float", f.Bits)
	case f.valid() != f.Bits:
		return fmt.Sprintf("%d-bit integer in %d bits", f.valid(), f.Bits)
	}
	return fmt.Sprintf("%d-bit integer", f.Bits)
}

func (f Format) valid() int {
	if f.ValidBits == 0 {
		return f.Bits
	}
	return f.ValidBits
}

// bytes returns the bytes that one sample occupies.
func (f Format) bytes() int { return f.Bits / 8 }

// known reports whether this package can read and write the format.
func (f Format) known() bool {
	if f.Float {
		return (f.Bits == 32 || f.Bits == 64) && f.valid() == f.Bits
	}
	return (f.Bits == 8 || f.Bits == 16 || f.Bits == 24 || f.Bits == 32) && f.valid() >= 1 && f.valid() <= f.Bits
}

// File is the contents of a WAV file.
type File struct {
	SampleRate int // Hz
	Format     Format
	Channels   [][]float64 // one slice per channel, all of the same length; full scale = 1

	// LengthUnstated reports that the header leaves the length open. Programs that write to a pipe
	// do this, and recorders that stopped before they could complete it. The samples are those up
	// to the end of the file.
	LengthUnstated bool

	// Settings is a text of this library, from the chunk "earn" that other programs skip; empty if
	// there is none.
	Settings string
}

// channelName names channel k of n, counted from 1: "left channel" and "right channel" of two,
// otherwise "channel k".
func channelName(k, n int) string {
	switch {
	case n == 2 && k == 1:
		return "left channel"
	case n == 2 && k == 2:
		return "right channel"
	}
	return fmt.Sprintf("channel %d", k)
}
