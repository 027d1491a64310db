// Package capture reads and writes recordings.
//
//	file ── Read ── Recording ── placement.Locate ── Placement ── fitness.Inspect ── findings
//
// Package placement finds the stimulus in a Recording, and package fitness says whether the
// recording is fit to use. ReadBlocks reads a file that is too long for memory, and
// placement.ReadPlays finds the plays of the stimulus in it. A program that holds long recordings
// in memory should collect garbage early, with debug.SetGCPercent(25). Samples hold no pointers, so
// this takes almost no time.
//
// It reads FLAC files, and WAV files as recorders write them: integer of 8 to 32 bits and IEEE
// float of 32 and 64, plain and extensible headers, RIFF and RF64. Samples are float64 with full
// scale = 1: an integer of b bits is divided by 2^(b−1). Channels are counted from 1, as on the
// front of an interface: of two, channel 1 is the left one.
package capture

import (
	"fmt"

	"github.com/go-audio/audio"

	"example.com/earnest/internal/wav"
)

// Format says how the samples of a recording are stored in a file. The zero value is a format that
// is not stated; Write then writes 24-bit integers.
type Format struct {
	Bits      int  // bits of a stored sample: 8, 16, 24 or 32, for float 32 or 64
	ValidBits int  // the upper bits of these that carry signal; 0 means all of them
	Float     bool // IEEE 754 float instead of integer
}

// String describes the format: "24-bit integer", "20-bit integer in 24 bits", "32-bit float",
// "not stated".
func (f Format) String() string {
	if f == (Format{}) {
		return "not stated"
	}
	return wav.Format(f).String()
}

// Recording is recorded sound.
type Recording struct {
	Name       string      // of the file, without its folder
	SampleRate int         // Hz
	Format     Format      // of the file; 64-bit float for a recording that came from a buffer
	Channels   [][]float64 // one slice per channel, all of the same length; full scale = 1

	// LengthUnstated reports that the header of the file leaves the length open. Programs that
	// write to a pipe do this, and recorders that stopped before they could complete the header.
	// Nothing then shows whether the end is missing.
	LengthUnstated bool

	// Settings is a text of at most 4096 bytes in the chunk "earn" of a WAV file, which says how a
	// stimulus was made. Write puts it there; other programs skip it. It is empty for other files.
	Settings string

	// FromRate is the sample rate in Hz of the recording before Resampled changed it, 0 otherwise.
	FromRate int
}

// FromBuffer returns a copy of an interleaved buffer as a recording, called name in errors and
// reports. Full scale in the buffer is 1: integers that were converted to floats, as
// audio.IntBuffer does, have to be divided by their full scale first.
//
// Errors: ErrEmpty if the buffer has no samples; ErrHeader if it has no format, no channels or no
// sample rate, or the last sample of some channels is missing; and
// ErrNotFinite for NaN and infinity.
func FromBuffer(b *audio.FloatBuffer, name string) (*Recording, error) {
	if b == nil || len(b.Data) == 0 {
		return nil, named(name, fmt.Errorf("%w in the buffer; fill it first", ErrEmpty))
	}
	switch f := b.Format; {
	case f == nil:
		return nil, named(name, fmt.Errorf(
			"%w: the buffer states no format; give it the number of channels and the sample rate", ErrHeader))
	case f.NumChannels < 1 || f.SampleRate < 1:
		return nil, named(name, fmt.Errorf(
			"%w: the buffer states no usable format: %s at %d Hz; give it the number of channels and the sample rate",
			ErrHeader, plural(f.NumChannels, "channel"), f.SampleRate))
	}
	n := b.Format.NumChannels
	if len(b.Data)%n != 0 {
		return nil, named(name, fmt.Errorf("%w: %d samples do not fill %s evenly; correct the number of channels",
			ErrHeader, len(b.Data), plural(n, "channel")))
	}
	r := &Recording{Name: name, SampleRate: b.Format.SampleRate, Format: Format{Bits: 64, Float: true},
		Channels: make([][]float64, n)}
	for k := range r.Channels {
		r.Channels[k] = make([]float64, len(b.Data)/n)
	}
	for i, v := range b.Data {
		if v-v != 0 {
			return nil, named(name, &wav.SampleError{
				Channel: i%n + 1, Channels: n, Time: float64(i/n) / float64(r.SampleRate), Value: v, Err: ErrNotFinite})
		}
		r.Channels[i%n][i/n] = v
	}
	return r, nil
}

// Len returns the number of samples in each channel.
func (r *Recording) Len() int {
	if len(r.Channels) == 0 {
		return 0
	}
	return len(r.Channels[0])
}

// Duration returns the length in seconds, or 0 for a recording without samples or sample rate.
func (r *Recording) Duration() float64 {
	if r.Len() == 0 || r.SampleRate <= 0 {
		return 0
	}
	return float64(r.Len()) / float64(r.SampleRate)
}

// Channel returns the samples of channel k, counted from 1; of two channels, 1 is the left one. The
// slice is part of the recording, not a copy. The error is ErrChannel if there is no such channel.
func (r *Recording) Channel(k int) ([]float64, error) {
	if k < 1 || k > len(r.Channels) {
		return nil, named(r.Name, fmt.Errorf("%w %d: the recording has %s, counted from 1; name one of them",
			ErrChannel, k, plural(len(r.Channels), "channel")))
	}
	return r.Channels[k-1], nil
}

// Buffer returns a copy as an interleaved buffer: sample i of channel k, counted from 0, is Data[i
// n + k] for n channels. It panics if the channels differ in length.
func (r *Recording) Buffer() *audio.FloatBuffer {
	n, length := len(r.Channels), r.Len()
	b := &audio.FloatBuffer{
		Format: &audio.Format{NumChannels: n, SampleRate: r.SampleRate},
		Data:   make([]float64, n*length),
	}
	for k, x := range r.Channels {
		if len(x) != length {
			panic("capture: channels differ in length")
		}
		for i, v := range x {
			b.Data[i*n+k] = v
		}
	}
	return b
}

func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
