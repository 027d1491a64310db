package flac

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bitWriter puts bits into bytes, the most significant first.
type bitWriter struct {
	b    []byte
	free int // bits of the last byte
}

func (w *bitWriter) put(v uint64, n int) {
	for n--; n >= 0; n-- {
		if w.free == 0 {
			w.b, w.free = append(w.b, 0), 8
		}
		w.free--
		w.b[len(w.b)-1] |= byte(v>>n&1) << w.free
	}
}

// rice writes x after RFC 9639 section 9.2.7.2: folded, the quotient by 2^k as zeros before a one,
// the remainder in k bits.
func (w *bitWriter) rice(x int64, k int) {
	folded := uint64(2 * x)
	if x < 0 {
		folded = uint64(-2*x - 1)
	}
	for range folded >> k {
		w.put(0, 1)
	}
	w.put(1, 1)
	w.put(folded, k)
}

// Every parameter, with quotients from zero to more than the number of bits that is read at once,
// and the limits of 32 bits.
func TestRiceCodeRFC9639(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for k := range 31 {
		t.Run(fmt.Sprintf("2^%d", k), func(t *testing.T) {
			want := []int64{0, -1, 1, 300 << k >> 2, -300 << k >> 2}
			if k >= 20 {
				want = []int64{0, -1, 1, 1<<31 - 1, -1 << 31}
			}
			for range 500 {
				v := int64(random.ExpFloat64() * float64(int64(1)<<k))
				want = append(want, max(-1<<31, min(v-int64(random.IntN(2))*2*v, 1<<31-1)))
			}
			random.Shuffle(len(want), func(i, j int) { want[i], want[j] = want[j], want[i] })
			var w bitWriter
			for _, v := range want {
				w.rice(v, k)
			}
			w.put(0xABC, 12)
			got := make([]int64, len(want))
			r := bitReader{b: w.b}
			require.True(t, readRice(&r, got, uint(k)))
			assert.Equal(t, want, got)
			assert.Equal(t, uint64(0xABC), r.read(12), "what follows")
			assert.False(t, r.short)
			r.align()
			assert.Equal(t, len(w.b), r.offset(), "all that was written")

			r = bitReader{b: w.b[:len(w.b)/2]}
			readRice(&r, got, uint(k))
			assert.True(t, r.short, "cut")
		})
	}
}

// Every order, by the sum as RFC 9639 section 9.2.6 defines it.
func TestLinearPredictionRFC9639(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for order := 1; order <= 32; order++ {
		for _, length := range []int{order, order + 1, 12, 13, 100} {
			if length < order {
				continue
			}
			coefficients, residual := make([]int64, order), make([]int64, length)
			for k := range coefficients {
				coefficients[k] = random.Int64N(1<<15) - 1<<14
			}
			for i := range residual {
				residual[i] = random.Int64N(1<<16) - 1<<15
			}
			want := slices.Clone(residual)
			for i := order; i < length; i++ {
				sum := int64(0)
				for k := range order { // the sample k+1 before, with coefficient k from the last
					sum += coefficients[order-1-k] * want[i-1-k]
				}
				want[i] += sum >> 14
			}
			addPrediction(residual, coefficients, 14)
			require.Equal(t, want, residual, "order %d, %d samples", order, length)
		}
	}
}

// Check values of CRC-8/SMBUS and CRC-16/UMTS, of "123456789", which have the polynomials of RFC
// 9639 (from memory).
func TestFLACChecksums(t *testing.T) {
	assert.Equal(t, uint8(0xF4), crc8([]byte("123456789")))
	assert.Equal(t, uint16(0xFEE8), crc16([]byte("123456789")))
}
