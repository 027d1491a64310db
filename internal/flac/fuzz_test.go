package flac

import (
	"bytes"
	"encoding/binary"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/wav"
)

// requireWindows fails unless decoding in windows that overlap by half gives the same result.
func requireWindows(t *testing.T, b []byte, whole *wav.File, cut error) {
	r, err := Open(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	defer r.Close()
	total := len(whole.Channels[0])
	for from, n := 0, 1+total/5; ; from += (n + 1) / 2 {
		got, last, err := r.Window(from, n)
		require.NoError(t, err)
		for c, x := range got {
			require.Equal(t, whole.Channels[c][from:min(from+n, total)], x)
		}
		if last {
			require.Equal(t, total, from+len(got[0]))
			require.Equal(t, cut, r.Cut)
			return
		}
	}
}

func FuzzDecode(f *testing.F) {
	names, err := filepath.Glob(filepath.Join(fixtures, "*.flac"))
	require.NoError(f, err)
	require.NotEmpty(f, names)
	for _, name := range names {
		f.Add(fixture(f, filepath.Base(name)))
	}
	variable, _ := encoded(f, 100, 17)
	f.Add(variable)
	f.Add(silentFile(1))
	f.Add(silentFrames(5, 3, 4))
	f.Add(silentFrames(0, 2, 3, 1, 2))
	f.Fuzz(func(t *testing.T, b []byte) {
		b = mended(b)
		r, err := decodeBytes(b)
		if r == nil {
			require.Error(t, err)
			return
		}
		if err != nil {
			require.ErrorIs(t, err, wav.ErrTruncated)
		}
		require.NotEmpty(t, r.Channels)
		requireWindows(t, b, r, err)
		for _, x := range r.Channels {
			require.Len(t, x, len(r.Channels[0]))
			for _, v := range x {
				if v < -1 || v >= 1 {
					require.Fail(t, "beyond full scale", "%g", v)
				}
			}
		}
	})
}

// mended replaces the checksums of frames by those of their contents, so that fuzzing reaches the
// contents.
func mended(b []byte) []byte {
	info, at, err := readStreamInfo(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return b
	}
	b = bytes.Clone(b)
	copy(b[26:42], make([]byte, 16)) // no checksum over all samples
	d := newFrameDecoder(&info)
	d.r.b = b
	for start, samples := int(at), 0; ; {
		h, err := d.header(start)
		if end := d.r.offset(); err == errNoFrame && end-1 > start { // perhaps by its checksum
			b[end-1] = crc8(b[start : end-1])
			h, err = d.header(start)
		}
		if samples += h.block * info.channels; err != nil || samples > 1<<20 {
			return b
		}
		for c := range info.channels {
			if !decodeSubframe(&d.r, make([]int64, h.block), h.width(c)) {
				return b
			}
		}
		d.r.align()
		end := d.r.offset()
		if end+2 > len(b) {
			return b
		}
		binary.BigEndian.PutUint16(b[end:], crc16(b[start:end]))
		start = end + 2
	}
}
