package wav

import (
	"encoding/binary"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"example.com/earnest/internal/hugepage"
)

// blockBytes is how much is read at a time: little enough to stay in the cache while each channel is picked out of it.
const blockBytes = 256 << 10

// decode reads frames samples of every channel from offset at, in blocks, on all processors.
func decode(walk *chunks, h header, at int64, frames int) ([][]float64, error) {
	d := blocks{walk: walk, header: h, at: at, frames: frames, long: min(max(blockBytes/h.frame(), 1), frames)}
	d.channels = make([][]float64, h.channels)
	for c := range d.channels {
		d.channels[c] = hugepage.Make[float64](frames)
	}
	d.errs = make([]error, (frames+d.long-1)/d.long)
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(d.errs)) {
		workers.Go(d.work)
	}
	workers.Wait()
	for _, err := range d.errs {
		if err != nil {
			return nil, err
		}
	}
	return d.channels, nil
}

// blocks is a recording that is decoded in blocks.
type blocks struct {
	walk     *chunks
	header   header
	at       int64 // offset of the first
	frames   int   // in all of them
	long     int   // frames in each but the last
	channels [][]float64
	errs     []error // of each block
	next     atomic.Int64
	failed   atomic.Bool
}

// work decodes one block after another. They are begun in order, so that all before one that fails are decoded too, and the
// first error in the file is the one that is found in any case.
func (d *blocks) work() {
	room := make([]byte, d.long*d.header.frame())
	for i := int(d.next.Add(1)) - 1; i < len(d.errs) && !d.failed.Load(); i = int(d.next.Add(1)) - 1 {
		if d.errs[i] = d.decode(i, room); d.errs[i] != nil {
			d.failed.Store(true)
		}
	}
}

// decode decodes block i by way of room.
func (d *blocks) decode(i int, room []byte) error {
	stride, width, pick := d.header.frame(), d.header.format.bytes(), decoder(d.header.format)
	from := i * d.long
	to := min(from+d.long, d.frames)
	b := room[:(to-from)*stride]
	if err := d.walk.read(b, d.at+int64(from)*int64(stride)); err != nil {
		return err
	}
	for c, x := range d.channels {
		pick(x[from:to], b[c*width:], stride)
	}
	if d.header.format.Float {
		return finite(d.channels, from, to, d.header.rate)
	}
	return nil
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
	for _, x := range channels {
		for _, v := range x[from:to] {
			if v-v != 0 {
				return firstSample(channels, from, to, rate, ErrNotFinite, func(x float64) bool { return x-x != 0 })
			}
		}
	}
	return nil
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
