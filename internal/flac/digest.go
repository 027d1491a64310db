package flac

import (
	"crypto/md5"
	"encoding/binary"
	"math"
	"sync"
)

// digest computes the checksum over all samples, RFC 9639 section 8.2: MD5 of the integers,
// interleaved, each in whole bytes, the least significant first. It runs beside the decoder, since
// it takes about as long. It recovers the integers from the decoded samples, which are the integers
// times a power of 2. A nil digest is that of a file without such a checksum.
type digest struct {
	bits    int
	frames  chan [][]float64 // samples of each channel
	pending sync.WaitGroup   // frames that are not in the sum yet
	ended   func() [md5.Size]byte
}

func newDigest(bits int) *digest {
	d := &digest{bits: bits, frames: make(chan [][]float64, 16)}
	sum := make(chan [md5.Size]byte, 1)
	go func() { sum <- d.run() }()
	d.ended = sync.OnceValue(func() [md5.Size]byte {
		close(d.frames)
		return <-sum
	})
	return d
}

func (d *digest) run() (sum [md5.Size]byte) {
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
		d.pending.Done()
	}
	hash.Sum(sum[:0])
	return sum
}

// add appends samples from ≤ i < to of each channel. The caller must not change them until wait has
// returned.
func (d *digest) add(channels [][]float64, from, to int) {
	if d == nil {
		return
	}
	added := make([][]float64, len(channels))
	for c, x := range channels {
		added[c] = x[from:to]
	}
	d.pending.Add(1)
	d.frames <- added
}

// wait returns once all added samples are in the sum.
func (d *digest) wait() {
	if d != nil {
		d.pending.Wait()
	}
}

// end ends the computation and returns the checksum. It may be called more than once.
func (d *digest) end() (sum [md5.Size]byte) {
	if d == nil {
		return sum
	}
	return d.ended()
}
