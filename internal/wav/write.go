package wav

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// Options says how Write stores samples.
type Options struct {
	Format   Format
	NoDither bool   // round to the nearest step only; the error then depends on the signal
	Seed     uint64 // of the dither: the same seed gives the same file
	Settings string // a text of at most 4096 bytes to go into the file: see File.Settings; empty for none
}

// extensible reports whether the header has to be WAVE_FORMAT_EXTENSIBLE.
func (h header) extensible() bool {
	return h.channels > 2 || !h.format.Float && h.format.Bits > 16
}

// bytes returns everything before the samples; after the samples come more bytes of other chunks.
func (h header) bytes(frames, behind int) ([]byte, error) {
	le := binary.LittleEndian
	f := h.fmt()
	fact := h.extensible() || h.format.Float // needed by every format but plain integer
	size := uint64(frames) * uint64(h.frame())
	total := 4 + 8 + uint64(len(f)) + 8 + size + size%2 + uint64(behind) // from WAVE on
	if fact {
		total += 12
	}
	if uint64(frames) > math.MaxUint32 || total >= unstated {
		return nil, fmt.Errorf("%w: %d channels of %.0f s in %v take more than the 4 GiB that a WAV file can hold; split it",
			ErrTooLarge, h.channels, float64(frames)/float64(h.rate), h.format)
	}
	b := le.AppendUint32([]byte("RIFF"), uint32(total))
	b = le.AppendUint32(append(b, "WAVEfmt "...), uint32(len(f)))
	b = append(b, f...)
	if fact {
		b = le.AppendUint32(append(b, "fact\x04\x00\x00\x00"...), uint32(frames))
	}
	return le.AppendUint32(append(b, "data"...), uint32(size)), nil
}

// fmt returns the contents of the fmt chunk. It assigns one channel to the centre and two to left
// and right. It assigns no positions to more channels.
func (h header) fmt() []byte {
	le := binary.LittleEndian
	tag := uint16(tagInteger)
	if h.format.Float {
		tag = tagFloat
	}
	first := tag
	if h.extensible() {
		first = tagExtensible
	}
	b := le.AppendUint16(nil, first)
	b = le.AppendUint16(b, uint16(h.channels))
	b = le.AppendUint32(b, uint32(h.rate))
	b = le.AppendUint32(b, uint32(min(uint64(h.rate)*uint64(h.frame()), math.MaxUint32)))
	b = le.AppendUint16(b, uint16(h.frame()))
	b = le.AppendUint16(b, uint16(h.format.Bits))
	switch {
	case h.extensible():
		places := map[int]uint32{1: 0x4, 2: 0x3}[h.channels]
		b = le.AppendUint16(b, 22) // bytes that follow
		b = le.AppendUint16(b, uint16(h.format.Bits))
		b = le.AppendUint32(b, places)
		b = append(le.AppendUint16(b, tag), guidTail...)
	case h.format.Float:
		b = le.AppendUint16(b, 0) // bytes that follow
	}
	return b
}

// Write writes channels, full scale = 1, as a WAV file.
//
// Integers of up to 24 bits are dithered before they are rounded: see dither. If every sample lies
// on a step of the format already, as those read from such a file do, nothing is rounded or added.
// A sample above full scale in an integer format is a *SampleError, so nothing is clipped without
// notice. A sample that rounding or dither raises above the last step, one step below +1, is set to
// that step. Float is written as it is. NaN and infinity are errors in every format, and so is a
// float64 beyond the range of 32-bit float.
//
// The header is extensible where the standard asks for that: for more than 2 channels, and for
// integers of more than 16 bits.
//
// Write returns ErrEmpty if there are no samples, ErrHeader for a sample rate that a header cannot
// state, ErrUnsupported for a format that it does not know or whose valid bits do not fill it (sox
// 14.4 refuses such files and ffmpeg 5.1 decodes 24 bits in 32 wrongly), and ErrTooLarge above 4
// GiB. Nothing has been written then. It panics if the channels differ in length.
func Write(w io.Writer, sampleRate int, channels [][]float64, o Options) error {
	h, err := plan(sampleRate, channels, o.Format)
	if err != nil {
		return err
	}
	frames := len(channels[0])
	settings := settingsChunk(o.Settings)
	head, err := h.bytes(frames, len(settings))
	if err != nil {
		return err
	}
	if err := check(channels, h); err != nil {
		return err
	}
	if _, err := w.Write(head); err != nil {
		return err
	}
	if err := encode(w, h, channels, o); err != nil {
		return err
	}
	if h.frame()*frames%2 == 1 {
		settings = append([]byte{0}, settings...)
	}
	_, err = w.Write(settings)
	return err
}

// plan returns the header for the channels.
func plan(sampleRate int, channels [][]float64, f Format) (header, error) {
	if len(channels) == 0 || len(channels[0]) == 0 {
		return header{}, fmt.Errorf("%w to write", ErrEmpty)
	}
	for c := range channels {
		if len(channels[c]) != len(channels[0]) {
			panic("wav: channels differ in length")
		}
	}
	switch {
	case !f.known() || f.valid() != f.Bits:
		return header{}, fmt.Errorf("%w: %v cannot be written; choose 8, 16, 24 or 32-bit integer or 32 or 64-bit float",
			ErrUnsupported, f)
	case len(channels) > maxChannels:
		return header{}, fmt.Errorf("%w: %d channels, %d are the most", ErrTooLarge, len(channels), maxChannels)
	case sampleRate < 1 || sampleRate > math.MaxInt32:
		return header{}, fmt.Errorf("%w: a sample rate of %d Hz; state the one at which the samples were recorded",
			ErrHeader, sampleRate)
	}
	return header{sampleRate, len(channels), f}, nil
}

// check returns an error if the format cannot store a sample.
func check(channels [][]float64, h header) error {
	frames := len(channels[0])
	if err := finite(channels, 0, frames, h.rate); err != nil {
		return err
	}
	limit := math.Inf(1)
	switch {
	case !h.format.Float:
		limit = 1
	case h.format.Bits == 32:
		limit = math.MaxFloat32
	}
	return firstSample(channels, 0, frames, h.rate, ErrFullScale, func(x float64) bool { return math.Abs(x) > limit })
}
