// Package capture reads recordings, says whether each is fit to use, and finds in them what was played.
//
//	file ── Read ── Recording ─┬─ Inspect   what is wrong with it, where, and what to do
//	                           ├─ Plays     the stimulus played several times: each by itself
//	                           ├─ Clock     how recorder and player ran; OnPlayersClock brings them together
//	                           └─ Take      one side's sweeps; Average, for a response.Deconvolver
//
// It reads FLAC files, and WAV files as recorders write them: integer of 8 to 32 bits and IEEE float of 32 and 64, plain and extensible headers,
// RIFF and RF64. Samples are float64 with full scale = 1: an integer of b bits is divided by 2^(b−1). Channels are
// counted from 1, as on the front of an interface: of two, channel 1 is the left one.
//
// Nothing is mended in silence: what is wrong is a Finding, with its severity, or an error. CalibratorTone reads the level that turns samples into
// sound pressure; package level goes on from there.
package capture

import (
	"fmt"
	"io"

	"github.com/go-audio/audio"

	"example.com/earnest/internal/wav"
)

// Format says how the samples of a recording are stored in its file.
type Format struct {
	Bits      int  // bits a sample occupies: 8, 16, 24 or 32, for float 32 or 64
	ValidBits int  // the most significant of these that carry signal; 0 means all of them
	Float     bool // IEEE 754 float rather than integer
}

// String describes the format: "24-bit integer", "20-bit integer in 24 bits", "32-bit float".
func (f Format) String() string { return wav.Format(f).String() }

// Recording is sound as it was recorded.
type Recording struct {
	Name       string      // of the file, without its folder
	SampleRate int         // Hz
	Format     Format      // of the file; 64-bit float for a recording that came from a buffer
	Channels   [][]float64 // one slice per channel, all of one length; full scale = 1

	// LengthUnstated says that the header of the file leaves the length open, as programs do that write to a pipe, and
	// recorders that stopped before they could complete it. Nothing then tells whether the end is missing.
	LengthUnstated bool
}

// Len returns the samples in each channel.
func (r *Recording) Len() int {
	if len(r.Channels) == 0 {
		return 0
	}
	return len(r.Channels[0])
}

// Duration returns the length in seconds.
func (r *Recording) Duration() float64 {
	if r.Len() == 0 {
		return 0
	}
	return float64(r.Len()) / float64(r.SampleRate)
}

// Channel returns the samples of channel k, counted from 1: channel 1 is the first, and of two the left one. The slice is the recording's
// own, not a copy. A channel that is not there is ErrChannel.
func (r *Recording) Channel(k int) ([]float64, error) {
	if k < 1 || k > len(r.Channels) {
		return nil, fmt.Errorf("capture: %s: %w %d: the recording has %s, counted from 1; name one of them",
			r.Name, ErrChannel, k, plural(len(r.Channels), "channel"))
	}
	return r.Channels[k-1], nil
}

// Buffer returns a copy as an interleaved buffer: sample i of channel k, from 0, stands at Data[i n + k] of n channels.
// It panics if the channels differ in length.
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

// FromBuffer returns a copy of an interleaved buffer as a recording, called name in errors and reports. Full scale in the buffer is 1:
// integers that were turned into floats, as audio.IntBuffer does, have to be divided by their full scale before.
//
// Errors: ErrEmpty if the buffer has no samples, ErrHeader if it has no format, no channels or no sample rate, or does not hold whole
// samples of every channel, and a *SampleError that is ErrNotFinite for NaN and infinity.
func FromBuffer(b *audio.FloatBuffer, name string) (*Recording, error) {
	if b == nil || len(b.Data) == 0 {
		return nil, fmt.Errorf("capture: %s: %w in the buffer; fill it first", name, ErrEmpty)
	}
	if b.Format == nil || b.Format.NumChannels < 1 || b.Format.SampleRate < 1 {
		return nil, fmt.Errorf("capture: %s: %w: the buffer states no format; give it the number of channels and the sample rate", name, ErrHeader)
	}
	n := b.Format.NumChannels
	if len(b.Data)%n != 0 {
		return nil, fmt.Errorf("capture: %s: %w: %d samples do not fill %s evenly; correct the number of channels",
			name, ErrHeader, len(b.Data), plural(n, "channel"))
	}
	r := &Recording{Name: name, SampleRate: b.Format.SampleRate, Format: Format{Bits: 64, Float: true}, Channels: make([][]float64, n)}
	for k := range r.Channels {
		r.Channels[k] = make([]float64, len(b.Data)/n)
	}
	for i, v := range b.Data {
		if v-v != 0 {
			return nil, fmt.Errorf("capture: %s: %w", name, &SampleError{
				Channel: i%n + 1, Channels: n, Time: float64(i/n) / float64(r.SampleRate), Value: v, Err: ErrNotFinite})
		}
		r.Channels[i%n][i/n] = v
	}
	return r, nil
}

// WriteOptions says how a recording is written. The zero value writes the format that the recording has, with dither where rounding needs
// it, and never replaces a file.
type WriteOptions struct {
	Format    Format // zero: that of the recording, or 24-bit integer if it has none
	NoDither  bool   // round to the nearest step only; the error then depends on the signal
	Seed      uint64 // of the dither: the same seed gives the same file
	Overwrite bool   // replace a file of that name
}

// Write writes a recording as a WAV file, whole or not at all: it goes to a new file in the same folder, which takes its name when it is complete.
//
// Integers of up to 24 bits get triangular dither of 2 steps from peak to peak before they are rounded, unless every sample lies on a step
// already: what was read and is written in the same format comes out bit for bit the same.
// Dither triples the power of rounding noise, to a quarter of a step squared, and takes its dependence on the signal away
// (Lipshitz, Wannamaker, Vanderkooy, J. Audio Eng. Soc. 40(5), 1992).
//
// Errors: fs.ErrExist if there is such a file and Overwrite is not set; a *SampleError that is ErrFullScale if a sample is
// above 1 and the format is integer, or ErrNotFinite; ErrEmpty, ErrUnsupported for a format that is not known or whose valid
// bits do not fill it (few programs read those rightly), ErrTooLarge above 4 GiB.
// It panics if the channels differ in length.
func Write(path string, r *Recording, o WriteOptions) error {
	err := wav.Create(path, o.Overwrite, func(w io.Writer) error { return write(w, r, o) })
	return named(path, err)
}

// Encode writes a recording to w as a WAV file, with the options and errors of Write; Overwrite means nothing here.
func Encode(w io.Writer, r *Recording, o WriteOptions) error {
	return named(r.Name, write(w, r, o))
}

func write(w io.Writer, r *Recording, o WriteOptions) error {
	f := o.Format
	if f == (Format{}) {
		f = r.Format
		f.ValidBits = 0 // all bits may be used, which holds at least as much
	}
	if f == (Format{}) {
		f = Format{Bits: 24}
	}
	return wav.Write(w, r.SampleRate, r.Channels, wav.Options{Format: wav.Format(f), NoDither: o.NoDither, Seed: o.Seed})
}

func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
