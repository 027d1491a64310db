package wav

import (
	"encoding/binary"
	"math"
)

// blockBytes is how much is read at a time: little enough to stay in the cache while each channel is picked out of it.
const blockBytes = 256 << 10

// decode reads frames samples of every channel from offset at.
func decode(walk *chunks, h header, at int64, frames int) ([][]float64, error) {
	channels := make([][]float64, h.channels)
	for c := range channels {
		channels[c] = make([]float64, frames)
	}
	stride, width, pick := h.frame(), h.format.bytes(), decoder(h.format)
	block := make([]byte, min(max(blockBytes/stride, 1), frames)*stride)
	for from := 0; from < frames; {
		n := min(len(block)/stride, frames-from)
		b := block[:n*stride]
		if err := walk.read(b, at); err != nil {
			return nil, err
		}
		for c := range channels {
			pick(channels[c][from:from+n], b[c*width:], stride)
		}
		if h.format.Float {
			if err := finite(channels, from, from+n, h.rate); err != nil {
				return nil, err
			}
		}
		from += n
		at += int64(len(b))
	}
	return channels, nil
}

// decoder returns the loop that fills dst with the samples at src[0], src[stride], src[2 stride] …
func decoder(f Format) func(dst []float64, src []byte, stride int) {
	switch {
	case f.Float && f.Bits == 64:
		return decodeFloat64
	case f.Float:
		return decodeFloat32
	case f.Bits == 8:
		return decode8
	case f.Bits == 16:
		return decode16
	case f.Bits == 24:
		return decode24
	}
	return decode32
}

// decode8 is unlike the other integers: WAV stores 8 bits unsigned, with silence at 128.
func decode8(dst []float64, src []byte, stride int) {
	for i := range dst {
		dst[i] = float64(int(src[i*stride])-128) * (1.0 / (1 << 7))
	}
}

func decode16(dst []float64, src []byte, stride int) {
	for i := range dst {
		dst[i] = float64(int16(binary.LittleEndian.Uint16(src[i*stride:]))) * (1.0 / (1 << 15))
	}
}

func decode24(dst []float64, src []byte, stride int) {
	for i := range dst {
		b := src[i*stride : i*stride+3]
		v := int32(b[0])<<8 | int32(b[1])<<16 | int32(b[2])<<24
		dst[i] = float64(v) * (1.0 / (1 << 31))
	}
}

func decode32(dst []float64, src []byte, stride int) {
	for i := range dst {
		dst[i] = float64(int32(binary.LittleEndian.Uint32(src[i*stride:]))) * (1.0 / (1 << 31))
	}
}

func decodeFloat32(dst []float64, src []byte, stride int) {
	for i := range dst {
		dst[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(src[i*stride:])))
	}
}

func decodeFloat64(dst []float64, src []byte, stride int) {
	for i := range dst {
		dst[i] = math.Float64frombits(binary.LittleEndian.Uint64(src[i*stride:]))
	}
}

// finite returns a *SampleError for the earliest sample from ≤ i < to that is NaN or infinite.
func finite(channels [][]float64, from, to, rate int) error {
	return firstSample(channels, from, to, rate, ErrNotFinite, func(x float64) bool { return x-x != 0 })
}

// firstSample returns a *SampleError of the given kind for the earliest sample that is bad, or nil.
func firstSample(channels [][]float64, from, to, rate int, kind error, bad func(x float64) bool) error {
	var found error
	for c := range channels {
		for i, x := range channels[c][from:to] {
			if bad(x) {
				to = from + i // an equally early sample of a later channel does not count
				found = &SampleError{c + 1, len(channels), float64(to) / float64(rate), x, kind}
				break
			}
		}
	}
	return found
}
