package flac

import (
	"bytes"
	"encoding/binary"
	"runtime"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/mewkiz/flac/frame"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/wav"
)

func TestReadFLACSaysWhatIsWrong(t *testing.T) {
	good := fixture(t, "flac-s16.flac") // frames of 192, 192 and 16 samples
	first := frameStart(t, good, 0)
	second := frameStart(t, good, 1)
	third := frameStart(t, good, 2)
	set := func(at int, with string) []byte {
		b := bytes.Clone(good)
		copy(b[at:], with)
		return b
	}
	without := append(bytes.Clone(good[:second]), good[third:]...)
	piped := fixture(t, "flac-pipe-s16.flac")
	for _, c := range []struct {
		name  string
		bytes []byte
		is    error
		says  string
	}{
		{"nothing after the name", good[:4], wav.ErrTruncated, "ends inside its header"},
		{"cut in the header", good[:30], wav.ErrTruncated, "ends inside its header"},
		{"cut before the first frame", good[:first], wav.ErrTruncated, "0.000 s are there of the 0.050 s"}, // 400 / 8 kHz
		{"cut in the first frame", good[:first+50], wav.ErrTruncated, "0.000 s are there of the 0.050 s"},
		{"cut in the second frame", good[:second+50], wav.ErrTruncated, "0.024 s are there of the 0.050 s"}, // 192 / 8 kHz
		{"cut in the last checksum", good[:len(good)-1], wav.ErrTruncated, "0.048 s are there of the 0.050 s"},
		{"cut where the length is open", piped[:len(piped)-1], wav.ErrTruncated, "0.000 s are there of the 0.050 s"}, // one frame
		{"no length and no frames", piped[:frameStart(t, piped, 0)], wav.ErrEmpty, "no samples"},
		{"first block of another kind", set(4, "\x04"), wav.ErrHeader, "does not begin with a STREAMINFO block"},
		{"forbidden metadata", append(append([]byte("fLaC\x00\x00\x00\x22"), good[8:42]...), "\xff\x00\x00\x00"...), wav.ErrHeader, "forbidden"},
		{"rate zero", set(18, "\x00\x00\x02"), wav.ErrHeader, "states a sample rate of 0 Hz"},
		{"two bits", set(20, "\x02\x10"), wav.ErrHeader, "2 bits a sample, and FLAC has at least 4"},
		{"another rate than its frames", set(18, "\x02\xee\x02"), wav.ErrUnsupported, "changes to 2 channels of 16 bits at 8000 Hz"}, // 12 000 Hz
		{"another depth than its frames", set(20, "\x03\x70"), wav.ErrUnsupported, "changes to 2 channels of 16 bits"},               // 24
		{"a bit turned in a frame", set(second+60, string(good[second+60]^4)), ErrChecksum, "damaged at 0.024 s"},
		{"a bit turned in a frame's header", set(second+2, string(good[second+2]^1)), ErrChecksum, "damaged at 0.024 s"},
		{"zeros for a frame", set(second, strings.Repeat("\x00", third-second)), ErrChecksum, "damaged at 0.024 s"},
		{"another checksum over all samples", set(26, "other checksums "), ErrChecksum, "the samples do not match the checksum over all of them"},
		{"a frame lost", without, wav.ErrHeader, "at 0.024 s the recording jumps by +0.024 s"},
		{"more than promised", set(22, "\x00\x00\x00\x90"), wav.ErrHeader, "192 samples where the header states 144"},
		{"a whole frame more than promised", set(22, "\x00\x00\x00\xc0"), wav.ErrHeader, "sound follows the 0.024 s"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := decodeBytes(c.bytes)
			require.ErrorIs(t, err, c.is)
			assert.ErrorContains(t, err, c.says)
			assert.Equal(t, c.is == wav.ErrTruncated && strings.Contains(err.Error(), "are there") && !strings.Contains(err.Error(), " 0.000 s are"), r != nil,
				"a recording with the error only if it is cut short and has whole frames")
		})
	}
}

// frameStart is where frame n begins: the library reads up to there.
func frameStart(t *testing.T, b []byte, n int) int {
	t.Helper()
	_, at, err := readStreamInfo(bytes.NewReader(b), int64(len(b)))
	require.NoError(t, err)
	r := bytes.NewReader(b[at:])
	for range n {
		_, err := frame.Parse(r)
		require.NoError(t, err)
	}
	return len(b) - r.Len()
}

func TestReadFLACTruncatedGivesWhatIsThere(t *testing.T) {
	good := fixture(t, "flac-s16.flac")
	r, err := decodeBytes(good[:len(good)-1])
	var cut *wav.TruncatedError
	require.ErrorAs(t, err, &cut)
	assert.Equal(t, wav.TruncatedError{Present: 0.048, Promised: 0.05}, *cut) // two frames of 192 samples of 400, 8 kHz
	require.NotNil(t, r)
	assert.Equal(t, rawFloats(fixture(t, "flac-s16.f64"))[:2*384], interleaved(r.Channels))
}

// Tags that programs append do not count as sound, with a stated length and without.
func TestReadFLACPassesOverTagsAtTheEnd(t *testing.T) {
	for _, name := range []string{"flac-s16", "flac-pipe-s16"} {
		tagged := append(fixture(t, name+".flac"), "TAG"+strings.Repeat("x", 125)...)
		r, err := decodeBytes(tagged)
		require.NoError(t, err, name)
		assert.Len(t, r.Channels[0], 400)
	}
}

// A header may state any length, and silence takes almost no room: neither may take
// disproportionate memory.
func TestReadFLACTakesMemoryByWhatIsThere(t *testing.T) {
	lying := fixture(t, "flac-s16.flac")
	copy(lying[21:], "\xff\xff\xff\xff\xff") // 2³⁶−1 samples
	before := allocated()
	_, err := decodeBytes(lying)
	require.ErrorIs(t, err, wav.ErrTruncated)
	assert.Less(t, allocated()-before, uint64(1<<20), "for a file of 1.5 kB")

	long := newStream(bytes.NewReader(nil), 1000, 0, streamInfo{rate: 48000, channels: 2, bits: 16})
	long.done = (256<<20+64*1000)/16 - 4096 // 256 MiB, and 64 bytes for each of the file's, hold one more frame
	require.NoError(t, long.affordable(frameHeader{block: 4096}))
	err = long.affordable(frameHeader{block: 4097})
	require.ErrorIs(t, err, wav.ErrTooLarge)
	assert.ErrorContains(t, err, "350 s in so small a file are digital silence; cut the part that matters out of it") // (2²⁴ + 4000 − 4096) / 48 kHz = 349.53
	short := silentFile(2)
	r, err := decodeBytes(short)
	require.NoError(t, err)
	assert.Len(t, r.Channels[0], 2<<16, "the longest blocks there are")

	_, err = Decode(bytes.NewReader(short), int64(len(short)), 2*2<<16-1) // two channels of two blocks hold one more
	assert.ErrorIs(t, err, wav.ErrTooLarge)
	_, err = Decode(bytes.NewReader(short), int64(len(short)), 50)
	assert.ErrorIs(t, err, wav.ErrTooLarge)
}

// silentFile returns a FLAC file of two channels of 16 bits at 48 kHz, with frames of the largest
// length, written by hand after RFC 9639.
func silentFile(frames int) []byte {
	numbers := make([]int, frames)
	for n := range numbers {
		numbers[n] = n
	}
	return silentFrames(numbers...)
}

// silentFrames returns such a file whose frames have the given numbers.
func silentFrames(numbers ...int) []byte {
	b := append([]byte("fLaC\x80\x00\x00\x22\xff\xff\xff\xff\x00\x00\x00\x00\x00\x00\x0b\xb8\x02\xf0"), make([]byte, 20)...)
	for _, n := range numbers {
		start := len(b)
		b = append(b, 0xFF, 0xF8, 0x70, 0x10) // the block in 16 bits of its own; two channels
		b = utf8.AppendRune(b, rune(n))       // coded alike up to here
		b = append(b, 0xFF, 0xFF)             // 65 536 samples
		b = append(b, crc8(b[start:]))        //
		b = append(b, 0, 0, 0, 0, 0, 0)       // twice: all samples 0
		b = binary.BigEndian.AppendUint16(b, crc16(b[start:]))
	}
	return b
}

func allocated() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.TotalAlloc
}
