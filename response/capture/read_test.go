package capture_test

import (
	"bytes"
	"encoding/binary"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/wav"
	"example.com/earnest/response/capture"
)

const fixtures = "../../testdata/wav"

// The values come from the commands that made the fixtures: see testdata/README.md.
func TestReadFixtures(t *testing.T) {
	for _, c := range []struct {
		name     string
		format   capture.Format
		channels int
		unstated bool
	}{
		{"sox-s24.wav", capture.Format{Bits: 24, ValidBits: 24}, 2, false},
		{"ffmpeg-f32.wav", capture.Format{Bits: 32, ValidBits: 32, Float: true}, 2, false},
		{"sox-s16-3ch.wav", capture.Format{Bits: 16, ValidBits: 16}, 3, false},
		{"ffmpeg-pipe-s16.wav", capture.Format{Bits: 16, ValidBits: 16}, 2, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := capture.Read(filepath.Join(fixtures, c.name))
			require.NoError(t, err)
			assert.Equal(t, c.name, r.Name)
			assert.Equal(t, 8000, r.SampleRate)
			assert.Equal(t, c.format, r.Format)
			assert.Len(t, r.Channels, c.channels)
			assert.Equal(t, c.unstated, r.LengthUnstated)
			assert.Equal(t, 0.01, r.Duration()) // 80 samples at 8 kHz
			right, err := r.Channel(2)
			require.NoError(t, err)
			for i, v := range right {
				assert.InDelta(t, 0.5*math.Sin(2*math.Pi*700*float64(i)/8000), v, 1.1/(1<<16)) // half a step of 16 bits, and −6.0206 dB
			}
		})
	}
}

func TestReadSaysWhatIsWrong(t *testing.T) {
	folder := t.TempDir()
	good, err := os.ReadFile(filepath.Join(fixtures, "sox-s16.wav")) // 44 bytes of header, 80 frames of 4 bytes
	require.NoError(t, err)
	set := func(at int, with string) []byte {
		b := bytes.Clone(good)
		copy(b[at:], with)
		return b
	}
	float, err := os.ReadFile(filepath.Join(fixtures, "sox-f32.wav")) // 58 bytes of header, 80 frames of 8 bytes
	require.NoError(t, err)
	copy(float[58+8*40+4:], "\x00\x00\xc0\x7f") // NaN

	for _, c := range []struct {
		name  string
		bytes []byte
		is    error
		says  string
	}{
		{"empty.wav", nil, capture.ErrEmpty, "the file is empty; the recorder has written nothing: record again"},
		{"text.wav", []byte("Frequency,Level\r\n20,-3\r\n"), capture.ErrNotWAV, `starts with "Frequency,Le"; not a WAV recording; export as WAV`},
		{"ogg.wav", []byte("OggS\x00\x02\x00\x00\x00\x00\x00\x00"), capture.ErrNotWAV, "as Ogg files do; not a WAV recording; export as WAV"},
		{"cut.wav", good[:44+4*20], capture.ErrTruncated, "0.003 s are there of the 0.010 s"}, // 20 / 8000 Hz rounded to even
		{"cut in header.wav", good[:20], capture.ErrTruncated, "ends inside its"},
		{"long promise.wav", set(40, "\x00\x00\x00\x10"), capture.ErrTruncated, "0.010 s are there of the 8388.608 s"}, // 2^28 B / 4 B / 8 kHz
		{"short promise.wav", append(set(40, "\x04\x00\x00\x00"), make([]byte, 4096)...), capture.ErrHeader, "states the wrong length"},
		{"zero channels.wav", set(22, "\x00\x00"), capture.ErrHeader, "zero channels"},
		{"no samples.wav", set(40, "\x00\x00\x00\x00")[:44], capture.ErrEmpty, "no samples"},
		{"nan.wav", float, capture.ErrNotFinite, "right channel is NaN at 0.005 s"}, // 40 / 8000 Hz
		{"compressed.wav", set(20, "\x06\x00"), capture.ErrUnsupported, "A-law"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(folder, c.name)
			require.NoError(t, os.WriteFile(path, c.bytes, 0o666))
			r, err := capture.Read(path)
			require.ErrorIs(t, err, c.is)
			assert.ErrorContains(t, err, "capture: "+path+": ")
			assert.ErrorContains(t, err, c.says)
			assert.Equal(t, c.is == capture.ErrTruncated && len(c.bytes) > 44, r != nil, "a recording with the error only if it is cut short")

			_, again := capture.Decode(bytes.NewReader(c.bytes), path, capture.ReadConfig{})
			assert.EqualError(t, again, err.Error(), "from memory")
			_, again = capture.Decode(io.MultiReader(bytes.NewReader(c.bytes)), path, capture.ReadConfig{})
			assert.EqualError(t, again, err.Error(), "from a stream")
		})
	}
}

func TestReadTruncatedTellsHowMuch(t *testing.T) {
	good, err := os.ReadFile(filepath.Join(fixtures, "sox-s16.wav"))
	require.NoError(t, err)
	r, err := capture.Decode(bytes.NewReader(good[:44+4*20]), "cut.wav", capture.ReadConfig{})
	var cut *wav.TruncatedError
	require.ErrorAs(t, err, &cut)
	assert.Equal(t, wav.TruncatedError{Present: 0.0025, Promised: 0.01}, *cut) // 20 and 80 of 8000 a second
	require.NotNil(t, r)
	assert.Equal(t, 20, r.Len())
}

func TestReadTellsWhereTheHeaderIsWrong(t *testing.T) {
	_, err := capture.Decode(bytes.NewReader([]byte("RIFF\x00\x00\x00\x00AVI LIST")), "film.avi", capture.ReadConfig{})
	var fault *wav.FormatError
	require.ErrorAs(t, err, &fault)
	assert.Equal(t, wav.FormatError{Offset: 8, What: `a RIFF file of kind "AVI ", not a WAV recording; export as WAV`, Err: capture.ErrNotWAV}, *fault)
	assert.EqualError(t, err, "capture: film.avi: "+fault.What+" (at byte 8)")
}

// Decode does not read the bytes before the reader's place, and reads to the end of the file.
func TestDecodeBeginsWhereTheReaderStands(t *testing.T) {
	want, err := capture.Read(filepath.Join(fixtures, "sox-s24.wav"))
	require.NoError(t, err)
	good, err := os.ReadFile(filepath.Join(fixtures, "sox-s24.wav"))
	require.NoError(t, err)
	for name, r := range map[string]io.Reader{
		"memory": bytes.NewReader(append([]byte("12345"), good...)),
		"stream": bytes.NewBuffer(append([]byte("12345"), good...)),
	} {
		_, err = io.CopyN(io.Discard, r, 5)
		require.NoError(t, err)
		got, err := capture.Decode(r, "sox-s24.wav", capture.ReadConfig{})
		require.NoError(t, err, name)
		assert.Equal(t, want, got, name)
		rest, err := io.ReadAll(r)
		require.NoError(t, err)
		assert.Empty(t, rest, name)
	}
}

func TestReadAFolderOrAPipe(t *testing.T) {
	folder := t.TempDir()
	_, err := capture.Read(filepath.Join(folder, "none.wav"))
	require.ErrorIs(t, err, fs.ErrNotExist)
	assert.EqualError(t, err, "capture: "+filepath.Join(folder, "none.wav")+": file does not exist; check the name and the folder")

	_, err = capture.Read(folder)
	require.ErrorIs(t, err, capture.ErrNotWAV)
	assert.EqualError(t, err, "capture: "+folder+": not a WAV recording: a folder; name a file in it")
}

// A FLAC file is recognised by its first bytes, whatever its name. internal/flac compares the
// samples with other programs.
func TestReadFLAC(t *testing.T) {
	b, err := os.ReadFile("../../testdata/flac/flac-s24.flac")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "recording.wav")
	require.NoError(t, os.WriteFile(path, b, 0o666))
	r, err := capture.Read(path)
	require.NoError(t, err)
	assert.Equal(t, "recording.wav", r.Name)
	assert.Equal(t, capture.Format{Bits: 24, ValidBits: 24}, r.Format)
	assert.Equal(t, 400, r.Len())
	for name, from := range map[string]io.Reader{"memory": bytes.NewReader(b), "stream": bytes.NewBuffer(b)} {
		again, err := capture.Decode(from, r.Name, capture.ReadConfig{})
		require.NoError(t, err, name)
		assert.Equal(t, r, again, name)
	}
	_, err = capture.Decode(bytes.NewReader(b), r.Name, capture.ReadConfig{MaxSamples: 799}) // it has 800
	assert.ErrorIs(t, err, capture.ErrTooLarge)
	b[len(b)-10] ^= 1
	_, err = capture.Decode(bytes.NewReader(b), "damaged.flac", capture.ReadConfig{})
	require.ErrorIs(t, err, capture.ErrChecksum)
	assert.ErrorContains(t, err, "capture: damaged.flac: the file is damaged at ")
	r, err = capture.Decode(bytes.NewReader(b[:len(b)-20]), "cut.flac", capture.ReadConfig{})
	require.ErrorIs(t, err, capture.ErrTruncated)
	assert.NotNil(t, r)
}

func TestReadTooLarge(t *testing.T) {
	path := filepath.Join(t.TempDir(), "long.wav")
	good, err := os.ReadFile(filepath.Join(fixtures, "sox-s16.wav"))
	require.NoError(t, err)
	head := bytes.Clone(good[:44])
	binary.LittleEndian.PutUint32(head[40:], 2_000_000_000)
	require.NoError(t, os.WriteFile(path, head, 0o666))
	require.NoError(t, os.Truncate(path, 44+2_000_000_000)) // a sparse file: it takes no room on the disk
	_, err = capture.Read(path)
	require.ErrorIs(t, err, capture.ErrTooLarge)
	assert.EqualError(t, err, "capture: "+path+": too large: 1000000000 samples of all channels together, where 134217728 are read at once "+
		"and take 1024 MiB of memory; cut the part that matters out of it")
	_, err = capture.Decode(bytes.NewReader(good), "stream.wav", capture.ReadConfig{MaxSamples: 100})
	assert.ErrorIs(t, err, capture.ErrTooLarge)
}
