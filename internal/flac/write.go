package flac

import (
	"bufio"
	"crypto/md5"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"math/bits"

	"example.com/earnest/internal/wav"
)

const (
	blockLen   = 4096
	mostOrder  = 4  // of the fixed predictors
	mostSplits = 6  // the residual is divided into up to 2^6 parts, each with a Rice parameter
	mostRice   = 30 // largest parameter of 5 bits that is not an escape
)

// packer appends bits, the most significant first. Whole bytes are in b at once.
type packer struct {
	b    []byte
	bits uint64 // of which the lowest n are not in b yet
	n    uint   // less than 8
}

// write appends the lowest n bits of v, at most 56.
func (w *packer) write(v uint64, n uint) {
	w.bits, w.n = w.bits<<n|v&(1<<n-1), w.n+n
	for w.n >= 8 {
		w.n -= 8
		w.b = append(w.b, byte(w.bits>>w.n))
	}
}

func (w *packer) signed(v int64, n uint) { w.write(uint64(v)&(1<<n-1), n) }

// unary writes a number of zeros and a one.
func (w *packer) unary(zeros uint64) {
	for ; zeros >= 32; zeros -= 32 {
		w.write(0, 32)
	}
	w.write(1, uint(zeros)+1)
}

// align fills the last byte with zeros.
func (w *packer) align() { w.write(0, (8-w.n)%8) }

// Write writes one or two channels of integers of 8 to 24 bits as FLAC: blocks of 4096 samples,
// each channel by the fixed predictor with the smallest residual, and the residual in Rice codes
// (RFC 9639, 9.2 and 9.3). Numbers that do not fit into the bits, and channels of unequal lengths,
// are a programmer's mistake and panic.
//
// The errors are those of w, and wav.ErrUnsupported for other numbers of channels or bits, a rate
// above 655350 Hz, or no samples.
func Write(w io.Writer, sampleRate int, channels [][]int32, sampleBits int) error {
	if n := len(channels); n < 1 || n > 2 || sampleBits < 8 || sampleBits > 24 || sampleRate < 1 || sampleRate > 655350 ||
		len(channels[0]) == 0 {
		return fmt.Errorf("%w: %d channels of %d bits at %d Hz cannot be written; "+
			"one or two, of 8 to 24 bits, at up to 655350 Hz can", wav.ErrUnsupported, n, sampleBits, sampleRate)
	}
	frames := len(channels[0])
	sum, size := md5.New(), (sampleBits+7)/8
	limit := int32(1) << (sampleBits - 1)
	raw := make([]byte, 0, blockLen*len(channels)*size)
	for i := range frames {
		for _, c := range channels {
			if len(c) != frames || c[i] < -limit || c[i] >= limit {
				panic("flac: channels of unequal lengths, or samples beyond the bits")
			}
			for v, k := uint32(c[i]), 0; k < size; k++ {
				raw, v = append(raw, byte(v)), v>>8
			}
		}
		if len(raw) == cap(raw) {
			sum.Write(raw)
			raw = raw[:0]
		}
	}
	sum.Write(raw)

	out := bufio.NewWriter(w)
	out.WriteString("fLaC")
	var b packer
	b.write(1<<7, 8) // STREAMINFO, and the last of the blocks of metadata
	b.write(34, 24)
	b.write(blockLen, 16)
	b.write(blockLen, 16)
	b.write(0, 48) // sizes of frames are not known
	b.write(uint64(sampleRate), 20)
	b.write(uint64(len(channels)-1), 3)
	b.write(uint64(sampleBits-1), 5)
	b.write(uint64(frames), 36)
	b.b = append(b.b, sum.Sum(nil)...)
	out.Write(b.b)
	for at, number := 0, 0; at < frames; at, number = at+blockLen, number+1 {
		var part [][]int32
		for _, c := range channels {
			part = append(part, c[at:min(at+blockLen, frames)])
		}
		out.Write(packed(part, uint64(number), sampleBits))
	}
	return out.Flush()
}

// packed returns one block of all channels.
func packed(channels [][]int32, number uint64, sampleBits int) []byte {
	var b packer
	b.write(0x3FFE<<2, 16) // sync; blocks of one length
	b.write(7<<4, 8)       // the length follows in 16 bits; the rate stands in STREAMINFO
	b.write(uint64(len(channels)-1)<<4, 8)
	for _, c := range coded(number) {
		b.write(uint64(c), 8)
	}
	b.write(uint64(len(channels[0])-1), 16)
	b.write(uint64(crc8(b.b)), 8)
	for _, c := range channels {
		subframe(&b, c, uint(sampleBits))
	}
	b.align()
	return binary.BigEndian.AppendUint16(b.b, crc16(b.b))
}

// coded returns a number coded as in UTF-8 (RFC 9639, 9.1.5).
func coded(n uint64) []byte {
	if n < 0x80 {
		return []byte{byte(n)}
	}
	var tail []byte
	for room := uint64(0x1F); ; room >>= 1 { // bits beside the marks of the first byte
		tail = append([]byte{byte(0x80 | n&0x3F)}, tail...)
		if n >>= 6; n <= room {
			return append([]byte{byte(^(room<<1 | 1)) | byte(n)}, tail...)
		}
	}
}

// subframe writes one channel by the fixed predictor with the smallest residual.
func subframe(b *packer, x []int32, width uint) {
	residual := make([]int64, len(x))
	for i, v := range x {
		residual[i] = int64(v)
	}
	best, order, least := append([]int64(nil), residual...), 0, int64(math.MaxInt64)
	for o := 0; o <= min(mostOrder, len(x)-1); o++ {
		if o > 0 { // the next difference
			for i := len(x) - 1; i >= o; i-- {
				residual[i] -= residual[i-1]
			}
		}
		sum := int64(0) // of at most 4096 values of 29 bits
		for _, v := range residual[o:] {
			sum += max(v, -v)
		}
		if sum < least {
			least, order = sum, o
			copy(best, residual)
		}
	}
	b.write(uint64(8+order)<<1, 8)
	for _, v := range x[:order] {
		b.signed(int64(v), width)
	}
	rice(b, best, order)
}

// rice writes the residual after the first order values, divided into the number of parts that
// takes the fewest bits.
func rice(b *packer, x []int64, order int) {
	var parameters []uint
	splits, least := 0, uint64(math.MaxUint64)
	for s := 0; s <= mostSplits && len(x)%(1<<s) == 0 && len(x)>>s > order; s++ {
		var all []uint
		total := uint64(0)
		for p := range 1 << s {
			k, size := parameter(part(x, order, s, p))
			all, total = append(all, k), total+size+5
		}
		if total < least {
			parameters, splits, least = all, s, total
		}
	}
	b.write(1, 2) // parameters of 5 bits
	b.write(uint64(splits), 4)
	for p, k := range parameters {
		b.write(uint64(k), 5)
		for _, v := range part(x, order, splits, p) {
			folded := uint64(v<<1) ^ uint64(v>>63)
			b.unary(folded >> k)
			b.write(folded&(1<<k-1), k)
		}
	}
}

// part returns part p of 2^s of the residual, without the first order values.
func part(x []int64, order, s, p int) []int64 {
	n := len(x) >> s
	from := p * n
	if p == 0 {
		from = order
	}
	return x[from : (p+1)*n]
}

// parameter returns the Rice parameter that takes about the fewest bits, and the number of bits.
func parameter(x []int64) (k uint, size uint64) {
	var sum uint64
	for _, v := range x {
		sum += uint64(v<<1) ^ uint64(v>>63)
	}
	if n := uint64(len(x)); n > 0 && sum > n {
		k = min(mostRice, uint(bits.Len64(sum/n))-1)
	}
	for _, v := range x {
		size += (uint64(v<<1)^uint64(v>>63))>>k + 1 + uint64(k)
	}
	return k, size
}
