package wav

import (
	"encoding/binary"
	"errors"
	"math"

	"example.com/earnest/internal/parallel"
)

// blockBytes is the number of bytes that are read at a time: they stay in the cache while each
// channel is extracted.
const blockBytes = 256 << 10

// Decode fills channels, which have one length, with the samples from from on, in blocks, on all
// processors. It returns the first error in the file. It panics for a stretch that is not in the
// file.
func (f *Reader) Decode(channels [][]float64, from int) error {
	h, frames := f.header, len(channels[0])
	if from < 0 || from+frames > f.Len {
		panic("wav: samples that the file does not have")
	}
	at := f.at + int64(from)*int64(h.frame())
	stride, width, pick := h.frame(), h.format.bytes(), decoder(h.format)
	long := min(max(blockBytes/stride, 1), frames)
	errs := make([]error, (frames+long-1)/long)
	parallel.With(len(errs), func() func(int) {
		block := make([]byte, long*stride)
		return func(i int) {
			first := i * long
			to := min(first+long, frames)
			b := block[:(to-first)*stride]
			if errs[i] = f.walk.read(b, at+int64(first)*int64(stride)); errs[i] != nil {
				return
			}
			for c, x := range channels {
				pick(x[first:to], b[c*width:], stride)
			}
			if h.format.Float {
				errs[i] = finite(channels, first, to, h.rate)
			}
		}
	})
	for _, err := range errs {
		var bad *SampleError
		if errors.As(err, &bad) {
			bad.Time += float64(from) / float64(h.rate)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// decoder returns the function that fills dst with the samples at src[0], src[stride], src[2
// stride] …
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

// decode8 differs from the other integers: WAV stores 8 bits unsigned, with silence at 128.
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
	for _, x := range channels {
		for _, v := range x[from:to] {
			if v-v != 0 {
				return firstSample(channels, from, to, rate, ErrNotFinite, func(x float64) bool { return x-x != 0 })
			}
		}
	}
	return nil
}

// firstSample returns a *SampleError of the given kind for the earliest sample from ≤ i < to that
// is bad, or nil.
func firstSample(channels [][]float64, from, to, rate int, kind error, bad func(x float64) bool) error {
	var found error
	for c := range channels {
		for i, x := range channels[c][from:to] {
			if bad(x) {
				to = from + i // a later channel counts only if its bad sample is earlier
				found = &SampleError{c + 1, len(channels), float64(to) / float64(rate), x, kind}
				break
			}
		}
	}
	return found
}
