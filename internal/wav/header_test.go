package wav

import (
	"bytes"
	"encoding/binary"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

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

// plain is a fmt chunk with the layout of IBM and Microsoft's specification of 1991: tag, channels,
// sample rate, bytes per second, block alignment, bits.
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
