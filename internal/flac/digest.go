package flac

import (
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"math"
)

// digest computes the checksum over all samples, RFC 9639 section 8.2: MD5 of the integers,
// interleaved, each in whole bytes, the least significant first. It runs beside the decoder, since
// it takes about as long. It gets the integers from the decoded samples, which are the integers
// times a power of 2. A nil digest belongs to a file without such a checksum.
type digest struct {
	bits   int
	frames chan [][]float64 // samples of each channel
	sum    chan []byte
}

func newDigest(bits int) *digest {
	d := &digest{bits: bits, frames: make(chan [][]float64, 16), sum: make(chan []byte, 1)}
	go d.run()
	return d
}

func (d *digest) run() {
	hash, width, scale := md5.New(), (d.bits+7)/8, math.Ldexp(1, d.bits-1)
	var b []byte
	for channels := range d.frames {
		b = b[:0]
		for i := range channels[0] {
			for _, x := range channels {
				b = binary.LittleEndian.AppendUint32(b, uint32(int64(x[i]*scale)))
				b = b[:len(b)-4+width]
			}
		}
		hash.Write(b)
	}
	d.sum <- hash.Sum(nil)
}

// add appends samples from ≤ i < to of each channel. The caller must not change them afterwards.
func (d *digest) add(channels [][]float64, from, to int) {
	if d == nil {
		return
	}
	added := make([][]float64, len(channels))
	for c, x := range channels {
		added[c] = x[from:to]
	}
	d.frames <- added
}

// end ends the computation and reports whether the checksum is want.
func (d *digest) end(want [md5.Size]byte) bool {
	if d == nil {
		return true
	}
	close(d.frames)
	return bytes.Equal(<-d.sum, want[:])
}
