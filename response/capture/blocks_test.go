package capture_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response/capture"
)

// The blocks together hold the same samples as the file, for every kind of file.
func TestReadBlocksHoldTheFile(t *testing.T) {
	for _, path := range []string{
		filepath.Join(fixtures, "sox-s24.wav"), filepath.Join(fixtures, "ffmpeg-f32.wav"), "../../testdata/flac/flac-s24.flac",
	} {
		whole, err := capture.Read(path)
		require.NoError(t, err)
		for _, length := range []int{7, 100, whole.Len(), whole.Len() + 1} {
			end := 0
			err = capture.ReadBlocks(path, length, func(b capture.Block) (int, error) {
				require.LessOrEqual(t, b.From, end)
				end = b.From + b.Len()
				require.Equal(t, whole.SampleRate, b.SampleRate)
				require.Equal(t, whole.Format, b.Format)
				require.Equal(t, whole.Name, b.Name)
				for k, x := range b.Channels {
					require.Equal(t, whole.Channels[k][b.From:end], x)
				}
				return b.From + (length+1)/2, nil // repeat half of it
			})
			require.NoError(t, err)
			assert.Equal(t, whole.Len(), end, "%s in blocks of %d", path, length)
		}
	}
}

func TestReadBlocksErrors(t *testing.T) {
	path := filepath.Join(fixtures, "sox-s24.wav")
	enough := errors.New("enough")
	err := capture.ReadBlocks(path, 10, func(capture.Block) (int, error) { return 0, enough })
	assert.Equal(t, enough, err)
	err = capture.ReadBlocks(path, 1<<30, nil)
	assert.ErrorIs(t, err, capture.ErrTooLarge)
	err = capture.ReadBlocks(fixtures, 10, nil)
	assert.ErrorIs(t, err, capture.ErrNotWAV)
	n := 0
	err = capture.ReadBlocks("../../testdata/flac/flac-s24.flac", 200, func(b capture.Block) (int, error) { // 400 samples
		n++
		assert.Equal(t, 200, b.Len())
		return b.From + b.Len(), nil
	})
	require.NoError(t, err)
	assert.Equal(t, 2, n, "no block follows the last one")
	assert.Panics(t, func() {
		_ = capture.ReadBlocks(path, 10, func(b capture.Block) (int, error) { return b.From, nil })
	})

	b, err := os.ReadFile(path)
	require.NoError(t, err)
	cut := filepath.Join(t.TempDir(), "cut.wav")
	require.NoError(t, os.WriteFile(cut, b[:len(b)/2], 0o600))
	read := 0
	err = capture.ReadBlocks(cut, 10, func(b capture.Block) (int, error) {
		read = b.From + b.Len()
		return b.From + 5, nil
	})
	require.ErrorIs(t, err, capture.ErrTruncated)
	r, err := capture.Read(cut)
	require.ErrorIs(t, err, capture.ErrTruncated)
	assert.Equal(t, r.Len(), read)
}
