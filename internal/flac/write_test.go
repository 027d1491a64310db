package flac

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/internal/wav"
)

// ffmpeg, which also checks the checksums, reads the file back to the last bit; so does our own
// reader.
func TestWriteIsReadBack(t *testing.T) {
	ffmpeg := programs.Need(t, "ffmpeg")
	random := rand.New(rand.NewPCG(1, 2))
	sine := func(n, width int, noise float64) []int32 {
		x := make([]int32, n)
		for i := range x {
			v := math.Exp2(float64(width-2))*math.Sin(float64(i)/30) + noise*random.NormFloat64()
			x[i] = int32(max(-math.Exp2(float64(width-1)), min(math.Exp2(float64(width-1))-1, math.Round(v))))
		}
		return x
	}
	extremes := make([]int32, 300)
	for i := range extremes {
		extremes[i] = []int32{-1 << 23, 1<<23 - 1}[i%2]
	}
	for name, row := range map[string]struct {
		channels [][]int32
		bits     int
	}{
		"a sine in 24 bits":       {[][]int32{sine(9000, 24, 30)}, 24},
		"two channels of 16 bits": {[][]int32{sine(4096*3, 16, 200), sine(4096*3, 16, 2)}, 16},
		"loud noise":              {[][]int32{sine(5000, 24, 1<<22)}, 24},
		"silence":                 {[][]int32{make([]int32, 4097)}, 24},
		"a single sample":         {[][]int32{{-5}}, 16},
		"largest steps":           {[][]int32{extremes}, 24},
		"more frames than 127":    {[][]int32{make([]int32, 4096*130+7)}, 16},
	} {
		var file bytes.Buffer
		require.NoError(t, Write(&file, 48000, row.channels, row.bits), name)
		path := filepath.Join(t.TempDir(), "x.flac")
		require.NoError(t, os.WriteFile(path, file.Bytes(), 0o600))
		raw, err := exec.Command(ffmpeg, "-v", "error", "-err_detect", "crccheck+explode", "-i", path, "-f", "s32le", "-").Output()
		require.NoError(t, err, name)
		n := len(row.channels[0])
		require.Len(t, raw, 4*n*len(row.channels), name)
		ours, err := Decode(bytes.NewReader(file.Bytes()), int64(file.Len()), 1<<30)
		require.NoError(t, err, name)
		for i := range n {
			for c := range row.channels {
				at := 4 * (i*len(row.channels) + c)
				got := int32(uint32(raw[at])|uint32(raw[at+1])<<8|uint32(raw[at+2])<<16|uint32(raw[at+3])<<24) >> (32 - row.bits)
				if got != row.channels[c][i] || ours.Channels[c][i] != float64(row.channels[c][i])/math.Exp2(float64(row.bits-1)) {
					t.Fatalf("%s: sample %d of channel %d is %d, and %v, not %d", name, i, c+1, got, ours.Channels[c][i], row.channels[c][i])
				}
			}
		}
	}
	assert.ErrorIs(t, Write(nil, 48000, nil, 24), wav.ErrUnsupported)
	assert.Panics(t, func() { _ = Write(nil, 48000, [][]int32{{1 << 20}}, 16) })
}

// The beginnings of numbers of two to seven bytes (RFC 9639, table 18).
func TestCodedNumbers(t *testing.T) {
	for n, want := range map[uint64]string{0x7F: "7f", 0x80: "c280", 0x7FF: "dfbf", 0x800: "e0a080", 0xFFFF: "efbfbf", 0x10000: "f0908080"} {
		assert.Equal(t, want, fmt.Sprintf("%x", coded(n)))
	}
}
