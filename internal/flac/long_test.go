package flac

import (
	"bytes"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/disk"
	"example.com/earnest/internal/wav"
)

// A file of several pieces, whose frames are counted by samples.
func TestReadFLACInPieces(t *testing.T) {
	b, left := encoded(t, slices.Repeat([]int{4096, 1152}, 100)...)
	require.Greater(t, len(b), 4*pieceBytes, "several pieces")
	for name, b := range map[string][]byte{
		"stated length": b,
		"open length":   slices.Concat(b[:21], []byte{b[21] & 0xF0, 0, 0, 0, 0}, b[26:]),
	} {
		before := allocated()
		r, err := decodeBytes(b)
		require.NoError(t, err)
		assert.Less(t, allocated()-before, uint64(2*8*len(left)+4<<20), "the samples, and pieces of the file")
		require.Len(t, r.Channels[0], len(left))
		for i, v := range left {
			if want := float64(v) / (1 << 15); r.Channels[0][i] != want || r.Channels[1][i] != want {
				require.Equal(t, want, r.Channels[0][i], "%s: sample %d", name, i)
			}
		}
		assert.Equal(t, len(left), cap(r.Channels[0]))
	}
}

func TestReadFLACFindsDamageInTheMiddle(t *testing.T) {
	b, _ := encoded(t, slices.Repeat([]int{4096}, 40)...)
	b[frameStart(t, b, 15)+3000] ^= 1
	_, err := decodeBytes(b)
	require.ErrorContains(t, err, fmt.Sprintf("damaged at %.3f s", 15*4096/48000.0))
}

func TestReadFLACSaysThatTheDiskFails(t *testing.T) {
	b, _ := encoded(t, slices.Repeat([]int{4096}, 40)...)
	for _, from := range []int64{0, 100, 200_000, int64(len(b)) - 1} {
		_, err := Decode(disk.Failing{ReaderAt: bytes.NewReader(b), From: from}, int64(len(b)), 1<<30)
		assert.ErrorIs(t, err, disk.ErrBroken, "from byte %d on", from)
	}
}

// A file that has become shorter since its size was read counts as cut short.
func TestReadFLACThatBecomesShorter(t *testing.T) {
	b, _ := encoded(t, slices.Repeat([]int{4096}, 40)...)
	r, err := Decode(bytes.NewReader(b[:frameStart(t, b, 30)+10]), int64(len(b)), 1<<30)
	require.ErrorIs(t, err, wav.ErrTruncated)
	assert.Len(t, r.Channels[0], 30*4096)
}

// Frames whose numbers go back would belong before the beginning: that is an error, and nothing is
// written there.
func TestReadFLACOfFramesOutOfOrder(t *testing.T) {
	for _, order := range [][]int{{5, 3, 4, 5, 6}, {5, 6, 3, 4, 5, 6, 7}, {0, 1, 2, 1, 2, 3}, {0, 5, 6, 7}} {
		_, err := decodeBytes(silentFrames(order...))
		require.ErrorIs(t, err, wav.ErrHeader, "%v", order)
		require.ErrorContains(t, err, "frames are missing or out of order")
	}
}
