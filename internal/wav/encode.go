package wav

import (
	"encoding/binary"
	"io"
	"math"
	"math/rand/v2"
)

// steps converts samples to the integers of a format.
type steps struct {
	scale  float64 // steps from zero to full scale
	dither *dither // nil for none
}

func newSteps(f Format) steps {
	return steps{scale: math.Ldexp(1, f.Bits-1)}
}

// code returns the integer for x.
func (s *steps) code(x float64) int32 {
	v := x * s.scale
	if s.dither != nil {
		v += s.dither.next()
	}
	v = math.RoundToEven(v)
	return int32(max(-s.scale, min(v, s.scale-1)))
}

// dither draws noise with a triangular density, 2 steps from peak to peak, as the sum of two
// independent uniform values. It makes the mean and the power of the error independent of the
// signal: the power is Δ²/4 in all, three times that of rounding alone, and contains no distortion.
// Lipshitz, Wannamaker, Vanderkooy, J. Audio Eng. Soc. 40(5), 1992.
type dither struct{ source *rand.PCG }

// newDither returns the dither of one channel; those of different channels are independent.
func newDither(seed uint64, channel int) *dither {
	return &dither{rand.NewPCG(seed, uint64(channel))}
}

// next returns the next value in (−1, 1), in steps.
func (d *dither) next() float64 {
	u := d.source.Uint64()
	return (float64(u>>32) - float64(uint32(u))) * (1.0 / (1 << 32))
}

// encode writes the samples.
func encode(w io.Writer, h header, channels [][]float64, o Options) error {
	dithered := !o.NoDither && !o.Format.Float && o.Format.Bits <= 24 && !onSteps(channels, o.Format)
	steps := make([]steps, len(channels))
	for c := range steps {
		steps[c] = newSteps(o.Format)
		if dithered {
			steps[c].dither = newDither(o.Seed, c)
		}
	}
	frames, stride, width, put := len(channels[0]), h.frame(), h.format.bytes(), encoder(h.format)
	block := make([]byte, min(max(blockBytes/stride, 1), frames)*stride)
	for from := 0; from < frames; {
		n := min(len(block)/stride, frames-from)
		for c := range channels {
			put(block[c*width:], channels[c][from:from+n], stride, &steps[c])
		}
		if _, err := w.Write(block[:n*stride]); err != nil {
			return err
		}
		from += n
	}
	return nil
}

// onSteps reports whether every sample lies on a step of f, so that storing it loses nothing.
func onSteps(channels [][]float64, f Format) bool {
	s := newSteps(f)
	for _, x := range channels {
		for _, x := range x {
			if v := x * s.scale; v != math.RoundToEven(v) || v >= s.scale {
				return false
			}
		}
	}
	return true
}

// encoder returns the function that stores src in dst[0], dst[stride], dst[2 stride] …
func encoder(f Format) func(dst []byte, src []float64, stride int, s *steps) {
	switch {
	case f.Float && f.Bits == 64:
		return encodeFloat64
	case f.Float:
		return encodeFloat32
	case f.Bits == 8:
		return encode8
	case f.Bits == 16:
		return encode16
	case f.Bits == 24:
		return encode24
	}
	return encode32
}

func encode8(dst []byte, src []float64, stride int, s *steps) {
	for i, x := range src {
		dst[i*stride] = byte(s.code(x) + 128)
	}
}

func encode16(dst []byte, src []float64, stride int, s *steps) {
	for i, x := range src {
		binary.LittleEndian.PutUint16(dst[i*stride:], uint16(s.code(x)))
	}
}

func encode24(dst []byte, src []float64, stride int, s *steps) {
	for i, x := range src {
		v, b := s.code(x), dst[i*stride:i*stride+3]
		b[0], b[1], b[2] = byte(v), byte(v>>8), byte(v>>16)
	}
}

func encode32(dst []byte, src []float64, stride int, s *steps) {
	for i, x := range src {
		binary.LittleEndian.PutUint32(dst[i*stride:], uint32(s.code(x)))
	}
}

func encodeFloat32(dst []byte, src []float64, stride int, _ *steps) {
	for i, x := range src {
		binary.LittleEndian.PutUint32(dst[i*stride:], math.Float32bits(float32(x)))
	}
}

func encodeFloat64(dst []byte, src []float64, stride int, _ *steps) {
	for i, x := range src {
		binary.LittleEndian.PutUint64(dst[i*stride:], math.Float64bits(x))
	}
}
