package wav

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/disk"
)

const fixtures = "../../testdata/wav"

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(fixtures, name))
	require.NoError(t, err)
	return b
}

func readBytes(b []byte) (*File, error) { return Read(bytes.NewReader(b), int64(len(b)), 1<<30) }

// floats decodes raw 64-bit little-endian floats.
func floats(b []byte) []float64 {
	x := make([]float64, len(b)/8)
	for i := range x {
		x[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	return x
}

// requireSamples compares channels with interleaved samples.
func requireSamples(t *testing.T, want []float64, got [][]float64, tolerance float64) {
	t.Helper()
	n := len(got)
	require.Len(t, got[0], len(want)/n)
	for i, w := range want {
		require.InDelta(t, w, got[i%n][i/n], tolerance, "sample %d of channel %d", i/n, i%n+1)
	}
}

func TestReadFixtures(t *testing.T) {
	const exact = 0.0                  // integers and floats fit float64, and ffmpeg converts without rounding
	const throughSox = 1.0 / (1 << 31) // sox decodes float to 32-bit integers: one step
	i := func(bits int) Format { return Format{Bits: bits, ValidBits: bits} }
	f := func(bits int) Format { return Format{Bits: bits, ValidBits: bits, Float: true} }
	for _, c := range []struct {
		name      string
		format    Format
		channels  int
		unstated  bool
		tolerance float64
	}{
		{"sox-u8", i(8), 2, false, exact},
		{"sox-s16", i(16), 2, false, exact},
		{"sox-s24", i(24), 2, false, exact},
		{"sox-s32", i(32), 2, false, exact},
		{"sox-f32", f(32), 2, false, exact},
		{"sox-f64", f(64), 2, false, exact},
		{"sox-s16-3ch", i(16), 3, false, exact},
		{"sox-pipe-s16", i(16), 2, true, exact},
		{"sox-pipe-s24", i(24), 2, true, exact},
		{"ffmpeg-u8", i(8), 2, false, exact},
		{"ffmpeg-u8-odd", i(8), 1, false, exact},
		{"ffmpeg-s16", i(16), 2, false, exact},
		{"ffmpeg-s24", i(24), 2, false, exact},
		{"ffmpeg-s32", i(32), 2, false, exact},
		{"ffmpeg-f32", f(32), 2, false, throughSox},
		{"ffmpeg-f64", f(64), 2, false, throughSox},
		{"ffmpeg-s24-4ch", i(24), 4, false, exact},
		{"ffmpeg-rf64-s16", i(16), 2, false, exact},
		{"ffmpeg-pipe-s16", i(16), 2, true, exact},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := fixture(t, c.name+".wav")
			want := floats(fixture(t, c.name+".f64"))
			for how, read := range map[string]func() (*File, error){
				"at":     func() (*File, error) { return readBytes(b) },
				"stream": func() (*File, error) { return ReadAll(bytes.NewReader(b), 1<<20) },
			} {
				got, err := read()
				require.NoError(t, err, how)
				assert.Equal(t, 8000, got.SampleRate, how)
				assert.Equal(t, c.format, got.Format, how)
				assert.Equal(t, c.unstated, got.LengthUnstated, how)
				require.Len(t, got.Channels, c.channels, how)
				requireSamples(t, want, got.Channels, c.tolerance)
			}
		})
	}
}

// The fixtures hold sines, so that a closed form also checks the scale.
func TestReadFixturesHoldTheSinesTheyWereMadeFrom(t *testing.T) {
	for name, tolerance := range map[string]float64{
		"sox-u8":      1.1 / 256,   // half a step of 8 bits, and sox's −6.0206 dB is 0.5 to 1e-6 only
		"sox-s16-3ch": 1.1 / 65536, // half a step of 16 bits, and the same
		"sox-f64":     1e-6,        // −6.0206 dB is 0.5000000 to 3e-7
	} {
		got, err := readBytes(fixture(t, name+".wav"))
		require.NoError(t, err)
		for c, x := range got.Channels {
			for i, v := range x {
				want := 0.5 * math.Sin(2*math.Pi*float64(500+200*c)*float64(i)/8000)
				require.InDelta(t, want, v, tolerance, "%s: sample %d of channel %d", name, i, c+1)
			}
		}
	}
}

func TestReadTruncatedGivesWhatIsThere(t *testing.T) {
	good := riff("fmt ", plain(1, 2, 8000, 4, 16), "data", strings.Repeat("\x00\x40\x00\xc0", 8000))
	got, err := readBytes(good[:44+4*2000+3])
	require.ErrorIs(t, err, ErrTruncated)
	var cut *TruncatedError
	require.ErrorAs(t, err, &cut)
	assert.Equal(t, TruncatedError{Present: 0.25, Promised: 1}, *cut) // 2000 and 8000 frames at 8 kHz
	require.NotNil(t, got)
	assert.Len(t, got.Channels[1], 2000)
	assert.Equal(t, -0.5, got.Channels[1][1999])
}

func TestReadNamesTheFirstSampleThatIsNotFinite(t *testing.T) {
	x := make([]float64, 2*40000)
	x[2*36000+1] = math.NaN() // beyond the first block
	x[2*36000+0] = math.Inf(-1)
	x[2*37000+0] = math.NaN()
	var b []byte
	for _, v := range x {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
	}
	got, err := readBytes(riff("fmt ", plain(3, 2, 8000, 8, 32), "data", string(b)))
	assert.Nil(t, got)
	require.ErrorIs(t, err, ErrNotFinite)
	var s *SampleError
	require.ErrorAs(t, err, &s)
	assert.Equal(t, 1, s.Channel)
	assert.Equal(t, 4.5, s.Time) // 36000 / 8000 Hz
	assert.ErrorContains(t, err, "left channel is -Inf at 4.500 s")
}

// Many blocks, of frames that do not divide them; the value of each sample tells its position.
func TestReadPutsBlocksInOrder(t *testing.T) {
	const channels, frames = 3, 150_000
	b := make([]byte, 0, 3*channels*frames)
	for i := range channels * frames {
		b = append(b, byte(i), byte(i>>8), byte(i>>16))
	}
	require.Greater(t, len(b), 5*blockBytes)
	got, err := readBytes(riff("fmt ", plain(1, channels, 8000, 3*channels, 24), "data", string(b)))
	require.NoError(t, err)
	for c, x := range got.Channels {
		require.Len(t, x, frames)
		for i, v := range x {
			if want := float64(i*channels+c) / (1 << 23); v != want {
				require.Equal(t, want, v, "sample %d of channel %d", i, c+1)
			}
		}
	}
}

// Whichever block is done first, the error is that of the first fault in the file.
func TestReadFindsTheFirstFaultOfSeveral(t *testing.T) {
	const frames = 5 * blockBytes / 4
	x := make([]float32, frames)
	b := make([]byte, 0, 4*frames)
	for _, i := range []int{2*blockBytes/4 + 7, 3 * blockBytes / 4, 4 * blockBytes / 4} {
		x[i] = float32(math.NaN())
	}
	for _, v := range x {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(v))
	}
	b = riff("fmt ", plain(3, 1, 8000, 4, 32), "data", string(b))
	for range 20 {
		_, err := readBytes(b)
		var s *SampleError
		require.ErrorAs(t, err, &s)
		require.Equal(t, float64(2*blockBytes/4+7)/8000, s.Time)

		_, err = Read(disk.Failing{ReaderAt: bytes.NewReader(b), From: 2 * blockBytes}, int64(len(b)), 1<<30)
		require.ErrorIs(t, err, disk.ErrBroken, "before the first that is not finite")
	}
}

func TestReadAllStopsAtTheLimit(t *testing.T) {
	b := riff("fmt ", mono16, "data", strings.Repeat("ab", 500))
	_, err := ReadAll(bytes.NewReader(b), 500)
	assert.NoError(t, err)
	_, err = ReadAll(bytes.NewReader(b), 499)
	assert.EqualError(t, err, "too large: 500 samples of all channels together, where 499 are read at once and take 0 MiB of memory; cut the part that matters out of it")
	_, err = ReadAll(bytes.NewReader(slices.Concat(b, make([]byte, MostBytes(500)))), 500)
	assert.ErrorIs(t, err, ErrTooLarge)
}

// A header may state any length: memory depends on the bytes that are there.
func TestReadTakesMemoryByWhatIsThere(t *testing.T) {
	promise := set(riff("fmt ", plain(1, 1024, 8000, 1024, 8), "data", strings.Repeat("\x80", 4096)), 40, "\xf0\xff\xff\x7f")
	wide := set(riff("ds64", words(0, 0, 0, 0, 0xFFFF, 0xFFFF, 0xFFFF, 0x7FFF, 0, 0, 0, 0, 0, 0), "fmt ", mono16, "data", "ab"), 0, "RF64")
	wide = set(wide, len(wide)-6, "\xff\xff\xff\xff")
	for name, b := range map[string][]byte{"2 GiB": promise, "RF64": wide} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := readBytes(b)
		runtime.ReadMemStats(&after)
		assert.ErrorIs(t, err, ErrTruncated, name)
		assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(1<<20), name) // 4 kB in 8 bits are 32 kB in float64; the rest is slack
	}
}

func BenchmarkRead(b *testing.B) {
	for _, f := range []Format{{Bits: 16}, {Bits: 24}, {Bits: 32}, {Bits: 32, Float: true}, {Bits: 64, Float: true}} {
		b.Run(f.String(), func(b *testing.B) {
			var w bytes.Buffer
			require.NoError(b, Write(&w, 48000, sines(2, 10*48000), Options{Format: f}))
			b.SetBytes(int64(w.Len()))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := readBytes(w.Bytes()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
