package flac

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/disk"
	"example.com/earnest/internal/wav"
)

// decodeSteps decodes in parts of a length that a file does not choose by itself unless it is large.
func decodeSteps(b []byte, step int64) (*wav.File, error) {
	return decode(bytes.NewReader(b), int64(len(b)), 1<<30, step)
}

// A file of many parts, of frames that are counted by samples.
func TestReadFLACInParts(t *testing.T) {
	b, left := encoded(t, slices.Repeat([]int{4096, 1152}, 100)...)
	require.Greater(t, len(b), 4*pieceBytes, "several parts")
	for name, b := range map[string][]byte{
		"stated length": b,
		"open length":   slices.Concat(b[:21], []byte{b[21] & 0xF0, 0, 0, 0, 0}, b[26:]),
	} {
		before := allocated()
		r, err := decodeSteps(b, 0)
		require.NoError(t, err)
		assert.Less(t, allocated()-before, uint64(2*8*len(left)+4<<20), "the samples, and parts of the file")
		require.Len(t, r.Channels[0], len(left))
		for i, v := range left {
			if want := float64(v) / (1 << 15); r.Channels[0][i] != want || r.Channels[1][i] != want {
				require.Equal(t, want, r.Channels[0][i], "%s: sample %d", name, i)
			}
		}
		assert.Equal(t, len(left), cap(r.Channels[0]))
	}
}

// Damage in the middle is found where it is, and what looks like a frame but is none changes nothing: here whole frames are laid
// into the samples of others, with the numbers that frames have further on or had before.
func TestReadFLACInPartsIsNotMisled(t *testing.T) {
	plain, left := encoded(t, slices.Repeat([]int{4096}, 40)...)
	starts := make([]int, 40)
	for n := range starts {
		starts[n] = frameStart(t, plain, n)
	}
	for _, from := range []int{3, 30} {
		b := bytes.Clone(plain)
		for n := 10; n < 20; n++ {
			at := starts[n] + 100
			copy(b[at:starts[n]+5000], b[starts[from]:starts[from+1]])
			copy(b[at+3000:starts[n]+5000], b[starts[from+1]:])
			sum := starts[n+1] - 2
			binary.BigEndian.PutUint16(b[sum:], crc16(b[starts[n]:sum]))
		}
		copy(b[26:42], make([]byte, 16)) // no checksum over all samples
		want, err := decodeSteps(b, 1<<40)
		require.NoError(t, err)
		require.Len(t, want.Channels[0], len(left))
		for _, step := range []int64{100, 3000, 20000} {
			got, err := decodeSteps(b, step)
			require.NoError(t, err)
			require.Equal(t, want, got, "by %d bytes at a time", step)
		}
		b[starts[15]+3000] ^= 1
		_, err = decodeSteps(b, 20000)
		require.ErrorContains(t, err, fmt.Sprintf("damaged at %.3f s", 15*4096/48000.0))
	}
}

func TestReadFLACSaysThatTheDiskFails(t *testing.T) {
	b, _ := encoded(t, slices.Repeat([]int{4096}, 40)...)
	for _, from := range []int64{0, 100, 200_000, int64(len(b)) - 1} {
		_, err := decode(disk.Failing{ReaderAt: bytes.NewReader(b), From: from}, int64(len(b)), 1<<30, 20000)
		assert.ErrorIs(t, err, disk.ErrBroken, "from byte %d on", from)
	}
}

// A file that has become shorter since its size was asked for is one that was cut short.
func TestReadFLACThatBecomesShorter(t *testing.T) {
	b, _ := encoded(t, slices.Repeat([]int{4096}, 40)...)
	r, err := decode(bytes.NewReader(b[:frameStart(t, b, 30)+10]), int64(len(b)), 1<<30, 20000)
	require.ErrorIs(t, err, wav.ErrTruncated)
	assert.Len(t, r.Channels[0], 30*4096)
}

// Frames whose numbers go back belong before the beginning: that is said, and nothing is written there.
func TestReadFLACInPartsOfFramesOutOfOrder(t *testing.T) {
	for _, order := range [][]int{{5, 3, 4, 5, 6}, {5, 6, 3, 4, 5, 6, 7}, {0, 1, 2, 1, 2, 3}, {0, 5, 6, 7}} {
		shuffled := silentFrames(order...)
		for _, step := range []int64{1, 20, 40} {
			_, err := decodeSteps(shuffled, step)
			require.ErrorIs(t, err, wav.ErrHeader, "%v by %d bytes at a time", order, step)
			require.ErrorContains(t, err, "frames are missing or out of order")
		}
	}
}
