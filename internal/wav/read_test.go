package wav

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/disk"
)

const fixtures = "../../testdata/wav"

func fixture(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(fixtures, name))
	require.NoError(t, err)
	return b
}

func readBytes(b []byte) (*File, error) { return Read(bytes.NewReader(b), int64(len(b))) }

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

// The fixtures hold sines, so that the scale is checked against a closed form as well.
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

// riff puts chunks into a RIFF file of the given kind; pairs are name and contents.
func riff(pairs ...string) []byte {
	var body []byte
	for i := 0; i < len(pairs); i += 2 {
		body = append(body, pairs[i]...)
		body = binary.LittleEndian.AppendUint32(body, uint32(len(pairs[i+1])))
		body = append(body, pairs[i+1]...)
		if len(pairs[i+1])%2 == 1 {
			body = append(body, 0)
		}
	}
	b := binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(4+len(body)))
	return append(append(b, "WAVE"...), body...)
}

// words packs little-endian 16-bit words.
func words(w ...uint16) string {
	var b []byte
	for _, v := range w {
		b = binary.LittleEndian.AppendUint16(b, v)
	}
	return string(b)
}

// plain is a fmt chunk with the layout of IBM and Microsoft's specification of 1991: tag, channels, sample rate, bytes per
// second, block alignment, bits.
func plain(tag, channels uint16, rate uint32, align, bits uint16) string {
	return words(tag, channels, uint16(rate), uint16(rate>>16), 0, 0, align, bits)
}

// extended adds WAVE_FORMAT_EXTENSIBLE's fields: their size, valid bits, speaker mask, subformat.
func extended(plain string, valid uint16, subformat uint16) string {
	return plain + words(22, valid, 0, 0, subformat) + "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"
}

// set overwrites bytes of a copy of b.
func set(b []byte, at int, with string) []byte {
	b = bytes.Clone(b)
	copy(b[at:], with)
	return b
}

var mono16 = plain(1, 1, 8000, 2, 16)

func TestReadHeaderVariants(t *testing.T) {
	one := words(0x4000) // half of full scale
	for _, c := range []struct {
		name     string
		file     []byte
		format   Format
		want     []float64
		unstated bool
	}{
		{"smallest and largest of 16 bits", riff("fmt ", mono16, "data", words(0x8000, 0x7FFF)),
			Format{16, 16, false}, []float64{-1, 32767. / 32768}, false},
		{"smallest, middle and largest of 8 bits", riff("fmt ", plain(1, 1, 8000, 1, 8), "data", "\x00\x80\xff"),
			Format{8, 8, false}, []float64{-1, 0, 127. / 128}, false},
		{"smallest of 24 bits, then one step", riff("fmt ", plain(1, 1, 8000, 3, 24), "data", "\x00\x00\x80\x01\x00\x00"),
			Format{24, 24, false}, []float64{-1, 1. / (1 << 23)}, false},
		{"20 valid bits in 24, extensible", riff("fmt ", extended(plain(0xFFFE, 1, 8000, 3, 24), 20, 1), "data", "\xf0\xff\x7f"),
			Format{24, 20, false}, []float64{1 - 1./(1<<19)}, false},
		{"24 valid bits in 32, extensible", riff("fmt ", extended(plain(0xFFFE, 1, 8000, 4, 32), 24, 1), "data", "\x00\x01\x00\x00"),
			Format{32, 24, false}, []float64{1. / (1 << 23)}, false},
		{"20 bits in a plain header", riff("fmt ", plain(1, 1, 8000, 3, 20), "data", "\x00\x00\x40"),
			Format{24, 20, false}, []float64{0.5}, false},
		{"valid bits left at zero", riff("fmt ", extended(plain(0xFFFE, 1, 8000, 2, 16), 0, 1), "data", one),
			Format{16, 16, false}, []float64{0.5}, false},
		{"float above full scale", riff("fmt ", plain(3, 1, 8000, 4, 32), "data", "\x00\x00\x20\xc0"),
			Format{32, 32, true}, []float64{-2.5}, false},
		{"unknown chunks, odd ones padded", riff("bext", "odd", "fmt ", mono16, "junk", "", "data", one, "LIST", "odd"),
			Format{16, 16, false}, []float64{0.5}, false},
		{"odd chunk without padding", bytes.Replace(riff("bext", "odd", "fmt ", mono16, "data", one), []byte("odd\x00"), []byte("odd"), 1),
			Format{16, 16, false}, []float64{0.5}, false},
		{"last odd chunk without padding", riff("fmt ", plain(1, 1, 8000, 1, 8), "data", "\xc0")[:45],
			Format{8, 8, false}, []float64{0.5}, false},
		{"a tag after the end", append(riff("fmt ", mono16, "data", one), "\x01tag that is no chunk"...),
			Format{16, 16, false}, []float64{0.5}, false},
		{"half a frame at the end", riff("fmt ", mono16, "data", one+"\x01"),
			Format{16, 16, false}, []float64{0.5}, false},
		{"never completed: both sizes zero", set(set(riff("fmt ", mono16, "data", one), 4, "\x00\x00\x00\x00"), 40, "\x00\x00\x00\x00"),
			Format{16, 16, false}, []float64{0.5}, true},
		{"never completed: sizes of an empty file", set(set(riff("fmt ", mono16, "data", one), 4, "\x24\x00\x00\x00"), 40, "\x00\x00\x00\x00"),
			Format{16, 16, false}, []float64{0.5}, true},
		{"RIFF size wrong, data size right", set(riff("fmt ", mono16, "data", one), 4, "\x01\x00\x00\x00"),
			Format{16, 16, false}, []float64{0.5}, false},
		{"ITU-R BS.2088 BW64", set(riff("ds64", words(0, 0, 0, 0, 2, 0, 0, 0, 1, 0, 0, 0, 0, 0), "fmt ", mono16, "data", one), 0, "BW64"),
			Format{16, 16, false}, []float64{0.5}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := readBytes(c.file)
			require.NoError(t, err)
			assert.Equal(t, c.format, got.Format)
			assert.Equal(t, [][]float64{c.want}, got.Channels)
			assert.Equal(t, c.unstated, got.LengthUnstated)
		})
	}
}

func TestReadRefuses(t *testing.T) {
	good := riff("fmt ", mono16, "data", strings.Repeat("\x00\x40", 8000))
	for _, c := range []struct {
		name string
		file []byte
		is   error
		says string
	}{
		{"nothing", nil, ErrEmpty, "empty"},
		{"a text", []byte("frequency,level\n20,-3\n"), ErrNotWAV, `starts with "frequency,le"; not a WAV recording; export as WAV`},
		{"a short text", []byte("hm"), ErrNotWAV, `starts with "hm"`},
		{"FLAC", fixture(t, "refused-flac.wav"), ErrNotWAV, "as FLAC files do"},
		{"Wave64", fixture(t, "refused-wave64.wav"), ErrUnsupported, "Wave64"},
		{"RIFX", fixture(t, "refused-rifx.wav"), ErrUnsupported, "big-endian"},
		{"A-law", fixture(t, "refused-alaw.wav"), ErrUnsupported, "A-law"},
		{"ADPCM", fixture(t, "refused-ima-adpcm.wav"), ErrUnsupported, "IMA ADPCM"},
		{"a film", set(good, 8, "AVI "), ErrNotWAV, `kind "AVI "`},
		{"an unheard-of coding", riff("fmt ", plain(0x1234, 1, 8000, 2, 16), "data", "ab"), ErrUnsupported, "0x1234"},
		{"a foreign subformat", riff("fmt ", string(set([]byte(extended(plain(0xFFFE, 1, 8000, 2, 16), 16, 1)), 30, "x")), "data", "ab"), ErrUnsupported, "subformat"},
		{"16-bit float", riff("fmt ", plain(3, 1, 8000, 2, 16), "data", "ab"), ErrUnsupported, "16-bit float"},
		{"64-bit integer", riff("fmt ", plain(1, 1, 8000, 8, 64), "data", "abcdefgh"), ErrUnsupported, "64-bit integer"},
		{"zero channels", riff("fmt ", plain(1, 0, 8000, 0, 16), "data", "ab"), ErrHeader, "zero channels"},
		{"too many channels", riff("fmt ", plain(1, 1025, 8000, 2050, 16), "data", "ab"), ErrHeader, "1025 channels, more than the 1024"},
		{"sample rate zero", riff("fmt ", plain(1, 1, 0, 2, 16), "data", "ab"), ErrHeader, "sample rate of 0 Hz"},
		{"zero bits", riff("fmt ", plain(1, 1, 8000, 0, 0), "data", "ab"), ErrHeader, "0 bits"},
		{"more valid bits than bits", riff("fmt ", extended(plain(0xFFFE, 1, 8000, 2, 16), 24, 1), "data", "ab"), ErrHeader, "24 of them valid"},
		{"block alignment", riff("fmt ", plain(1, 2, 8000, 3, 16), "data", "abcd"), ErrHeader, "2 channels of 16-bit integer take 4"},
		{"short fmt", riff("fmt ", "abc", "data", "ab"), ErrHeader, "fmt chunk has 3 bytes"},
		{"short extension", riff("fmt ", plain(0xFFFE, 1, 8000, 2, 16), "data", "ab"), ErrHeader, "extensible"},
		{"no fmt", riff("data", "ab"), ErrHeader, "no fmt chunk"},
		{"no data", riff("fmt ", mono16), ErrHeader, "without a data chunk"},
		{"garbage for a chunk", riff("fmt ", mono16, "\x01\x02\x03\x04", "", "data", "ab"), ErrHeader, "no chunk begins"},
		{"nothing but chunks", riff(strings.Split(strings.Repeat("junk,,", 5000), ",")[:10000]...), ErrHeader, "more than 4096 chunks"},
		{"no samples", riff("fmt ", mono16, "data", ""), ErrEmpty, "no samples"},
		{"no samples, more chunks", riff("fmt ", mono16, "data", "", "LIST", "abcd"), ErrEmpty, "no samples"},
		{"less than a frame", riff("fmt ", plain(1, 2, 8000, 4, 16), "data", "ab"), ErrEmpty, "no samples"},
		{"data size too small", set(good, 40, "\x10\x00\x00\x00"), ErrHeader, "15984 bytes follow what the header accounts for"},
		{"two data chunks", riff("fmt ", mono16, "data", "ab", "data", "cd"), ErrHeader, "second data chunk"},
		{"ends inside RIFF", good[:9], ErrTruncated, "ends inside its header"},
		{"ends inside fmt", good[:30], ErrTruncated, `ends inside its "fmt " chunk`},
		{"ends at the first sample", good[:44], ErrTruncated, "0.000 s are there of the 1.000 s"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := readBytes(c.file)
			require.ErrorIs(t, err, c.is)
			assert.ErrorContains(t, err, c.says)
			assert.Nil(t, got)
		})
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

// Many blocks, of frames that do not divide them, each sample of which says where it belongs.
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

// Whichever block is done first, the error is that of the first in the file.
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

		_, err = Read(disk.Failing{ReaderAt: bytes.NewReader(b), From: 2 * blockBytes}, int64(len(b)))
		require.ErrorIs(t, err, disk.ErrBroken, "before the first that is not finite")
	}
}

func TestRoom(t *testing.T) {
	for _, n := range []int{0, 1, largeRoom, 2*largeRoom + 1} {
		x := Room(n)
		require.Len(t, x, n)
		require.Equal(t, -1, slices.IndexFunc(x, func(v float64) bool { return v != 0 }))
	}
}

func TestReadAllStopsAtTheLimit(t *testing.T) {
	b := riff("fmt ", mono16, "data", strings.Repeat("ab", 500))
	_, err := ReadAll(bytes.NewReader(b), int64(len(b)))
	assert.NoError(t, err)
	_, err = ReadAll(bytes.NewReader(b), int64(len(b))-1)
	assert.ErrorIs(t, err, ErrTooLarge)
}

// A header may promise what it likes: memory follows the bytes that are there.
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
		again, errAgain := ReadAll(bytes.NewReader(b), int64(len(b))+12)
		require.Equal(t, fmt.Sprint(err), fmt.Sprint(errAgain))
		require.Equal(t, got, again)
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
		// What was read can be written, and comes back the same.
		var w bytes.Buffer
		format := got.Format
		if !got.Format.Float {
			format.ValidBits = format.Bits // a file may fill the bits that it says are not valid
		}
		require.NoError(t, Write(&w, got.SampleRate, got.Channels, Options{Format: format}))
		back, err := readBytes(w.Bytes())
		require.NoError(t, err)
		require.Equal(t, got.Channels, back.Channels)
		require.Equal(t, got.SampleRate, back.SampleRate)
	})
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
