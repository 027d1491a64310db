package flac

import (
	"bytes"
	"crypto/md5"
	"encoding/binary"
	"hash"
	"math"
	"slices"
)

// digestBlock is how many samples of each channel go into the checksum at a time.
const digestBlock = 2048

// soundDigest is the checksum over all samples, RFC 9639 section 8.2: MD5 of the integers, interleaved, each in whole bytes, the least
// significant first. It takes them from the decoded samples, which are the integers times a power of 2.
// A nil digest is of a file that does not have one.
type soundDigest struct {
	bits  int
	md5   hash.Hash
	bytes []byte
}

func newSoundDigest(bits int) *soundDigest { return &soundDigest{bits: bits, md5: md5.New()} }

// add takes samples from ≤ i < to of each channel.
func (d *soundDigest) add(channels [][]float64, from, to int) {
	if d == nil {
		return
	}
	width := (d.bits + 7) / 8
	for ; from < to; from += digestBlock {
		end := min(from+digestBlock, to)
		size := (end - from) * len(channels) * width
		d.bytes = slices.Grow(d.bytes[:0], size+4)[:size+4] // integers are put as four bytes, of which those that are too many are put over
		d.put(channels, from, end, width)
		d.md5.Write(d.bytes[:size])
	}
}

// matches reports whether the checksum is what it should be.
func (d *soundDigest) matches(want [md5.Size]byte) bool {
	return d == nil || bytes.Equal(d.md5.Sum(nil), want[:])
}

func (d *soundDigest) put(channels [][]float64, from, to, width int) {
	scale := math.Ldexp(1, d.bits-1)
	at := d.bytes
	for i := from; i < to; i++ {
		for _, x := range channels {
			binary.LittleEndian.PutUint32(at, uint32(int64(x[i]*scale)))
			at = at[width:]
		}
	}
}
