package wav

import (
	"bytes"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// requireWindows fails unless reading a file piece by piece gives the same samples.
func requireWindows(t *testing.T, b []byte, whole *File) {
	if whole == nil {
		return
	}
	r, err := Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	require.Equal(t, [3]int{whole.SampleRate, len(whole.Channels), len(whole.Channels[0])}, [3]int{r.SampleRate, r.Channels, r.Len})
	for from, n := 0, 1; from < r.Len; from, n = from+n, 2*n+1 {
		n = min(n, r.Len-from)
		piece := make([][]float64, r.Channels)
		for c := range piece {
			piece[c] = make([]float64, n)
		}
		require.NoError(t, r.Decode(piece, from))
		for c, x := range piece {
			require.Equal(t, whole.Channels[c][from:from+n], x)
		}
	}
}

func FuzzRead(f *testing.F) {
	names, err := filepath.Glob(filepath.Join(fixtures, "*.wav"))
	require.NoError(f, err)
	require.NotEmpty(f, names)
	for _, name := range names {
		f.Add(fixture(f, filepath.Base(name)))
	}
	f.Add(riff("fmt ", extended(plain(0xFFFE, 1, 8000, 3, 24), 20, 1), "data", "\xf0\xff\x7f"))
	f.Add(riff("bext", "odd", "fmt ", mono16, "data", "ab", "LIST", "odd"))
	f.Fuzz(func(t *testing.T, b []byte) {
		got, err := readBytes(b)
		again, errAgain := ReadAll(bytes.NewReader(b), int64(len(b)))
		require.Equal(t, fmt.Sprint(err), fmt.Sprint(errAgain))
		require.Equal(t, got, again)
		requireWindows(t, b, got)
		if got == nil {
			require.Error(t, err)
			return
		}
		if err != nil {
			require.ErrorIs(t, err, ErrTruncated)
		}
		require.NotEmpty(t, got.Channels)
		require.LessOrEqual(t, len(got.Channels)*len(got.Channels[0])*got.Format.bytes(), len(b))
		for _, x := range got.Channels {
			require.Len(t, x, len(got.Channels[0]))
			for _, v := range x {
				require.Zero(t, v-v, "not finite")
				if !got.Format.Float {
					require.True(t, v >= -1 && v < 1)
				}
			}
		}
		// The result can be written, and reads back the same.
		var w bytes.Buffer
		format := got.Format
		if !got.Format.Float {
			format.ValidBits = format.Bits // a file may use the bits that it declares not valid
		}
		require.NoError(t, Write(&w, got.SampleRate, got.Channels, Options{Format: format}))
		back, err := readBytes(w.Bytes())
		require.NoError(t, err)
		require.Equal(t, got.Channels, back.Channels)
		require.Equal(t, got.SampleRate, back.SampleRate)
	})
}
