package capture_test

import (
	"bytes"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/go-audio/audio"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/wav"
	"example.com/earnest/response/capture"
)

// two returns a recording of two channels and four samples at 8 Hz, whose values lie between the
// steps of 16 bits.
func two() *capture.Recording {
	return &capture.Recording{Name: "two.wav", SampleRate: 8, Channels: [][]float64{{0, 0.1, 0.2, 0.3}, {-1, -0.1, -0.2, -0.3}}}
}

func TestRecordingLengthAndChannels(t *testing.T) {
	r := two()
	assert.Equal(t, 4, r.Len())
	assert.Equal(t, 0.5, r.Duration()) // 4 / 8 Hz
	left, err := r.Channel(1)
	require.NoError(t, err)
	assert.Equal(t, 0.3, left[3])
	for _, k := range []int{-1, 0, 3} {
		_, err := r.Channel(k)
		require.ErrorIs(t, err, capture.ErrChannel)
		assert.ErrorContains(t, err, "the recording has 2 channels, counted from 1")
	}
	var none capture.Recording
	assert.Zero(t, none.Len())
	assert.Zero(t, none.Duration())
	assert.Zero(t, (&capture.Recording{Channels: r.Channels}).Duration(), "without a sample rate")
	assert.Equal(t, "not stated", none.Format.String())
}

func TestBufferThereAndBack(t *testing.T) {
	r := two()
	b := r.Buffer()
	assert.Equal(t, &audio.Format{NumChannels: 2, SampleRate: 8}, b.Format)
	assert.Equal(t, []float64{0, -1, 0.1, -0.1, 0.2, -0.2, 0.3, -0.3}, b.Data)
	assert.Equal(t, r.Len(), b.NumFrames())
	back, err := capture.FromBuffer(b, "two.wav")
	require.NoError(t, err)
	assert.Equal(t, r.Channels, back.Channels)
	assert.Equal(t, r.SampleRate, back.SampleRate)
	b.Data[0] = 9
	assert.Zero(t, back.Channels[0][0], "a copy")

	r.Channels[1] = r.Channels[1][1:]
	assert.Panics(t, func() { r.Buffer() }, "channels of different length")
}

func TestFromBufferRefuses(t *testing.T) {
	stereo := &audio.Format{NumChannels: 2, SampleRate: 8000}
	late := make([]float64, 8000)
	late[4003], late[4010] = math.Inf(1), math.NaN()
	for _, c := range []struct {
		name   string
		buffer *audio.FloatBuffer
		is     error
		says   string
	}{
		{"nil", nil, capture.ErrEmpty, "fill it"},
		{"empty", &audio.FloatBuffer{Format: stereo}, capture.ErrEmpty, "fill it"},
		{"no format", &audio.FloatBuffer{Data: late}, capture.ErrHeader, "states no format"},
		{"no channels", &audio.FloatBuffer{Format: &audio.Format{SampleRate: 8000}, Data: late}, capture.ErrHeader, "states no usable format"},
		{"no sample rate", &audio.FloatBuffer{Format: &audio.Format{NumChannels: 1}, Data: late}, capture.ErrHeader, "states no usable format"},
		{"half a frame", &audio.FloatBuffer{Format: stereo, Data: make([]float64, 3)}, capture.ErrHeader, "3 samples do not fill 2 channels evenly"},
		{"infinite", &audio.FloatBuffer{Format: stereo, Data: late}, capture.ErrNotFinite, "right channel is +Inf at 0.250 s"}, // 2001 / 8000 Hz
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := capture.FromBuffer(c.buffer, "b")
			assert.Nil(t, r)
			require.ErrorIs(t, err, c.is)
			assert.ErrorContains(t, err, "capture: b: ")
			assert.ErrorContains(t, err, c.says)
		})
	}
}

func TestWriteFormats(t *testing.T) {
	for _, c := range []struct {
		name    string
		own     capture.Format
		options capture.WriteConfig
		want    string
	}{
		{"nothing said", capture.Format{}, capture.WriteConfig{}, "24-bit integer"},
		{"that of the recording", capture.Format{Bits: 16}, capture.WriteConfig{}, "16-bit integer"},
		{"that of the recording, all bits", capture.Format{Bits: 32, ValidBits: 24}, capture.WriteConfig{}, "32-bit integer"},
		{"that asked for", capture.Format{Bits: 16}, capture.WriteConfig{Format: capture.Format{Bits: 32, Float: true}}, "32-bit float"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := two()
			r.Format = c.own
			var w bytes.Buffer
			require.NoError(t, capture.Encode(&w, r, c.options))
			got, err := capture.Decode(&w, "back.wav", capture.ReadConfig{})
			require.NoError(t, err)
			assert.Equal(t, c.want, got.Format.String())
			assert.Equal(t, "back.wav", got.Name)
			for k := range r.Channels {
				assert.InDeltaSlice(t, r.Channels[k], got.Channels[k], 1.5/(1<<15)) // a step and a half of 16 bits: rounding and dither
			}
		})
	}
}

func TestWriteWhatWasReadChangesNothing(t *testing.T) {
	source := filepath.Join(fixtures, "sox-s16.wav")
	r, err := capture.Read(source)
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "copy.wav")
	require.NoError(t, capture.Write(path, r, capture.WriteConfig{Seed: 4}))
	want, err := os.ReadFile(source)
	require.NoError(t, err)
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, want, got)
}

func TestWriteRefuses(t *testing.T) {
	folder := t.TempDir()
	taken := filepath.Join(folder, "taken.wav")
	require.NoError(t, os.WriteFile(taken, []byte("precious"), 0o666))
	loud, broken := two(), two()
	loud.Channels[0][2] = 1.5
	broken.Channels[1][2] = math.NaN()
	i16 := capture.Format{Bits: 16}
	for _, c := range []struct {
		name    string
		path    string
		r       *capture.Recording
		options capture.WriteConfig
		is      error
		says    string
	}{
		{"a name that is taken", taken, two(), capture.WriteConfig{}, fs.ErrExist, "taken.wav: file already exists; choose another name"},
		{"a folder that is not there", filepath.Join(folder, "no", "a.wav"), two(), capture.WriteConfig{}, fs.ErrNotExist, "make it first"},
		{"above full scale", filepath.Join(folder, "a.wav"), loud, capture.WriteConfig{Format: i16}, capture.ErrFullScale,
			"a.wav: left channel is 1.5 at 0.250 s, above full scale (1); lower the level"}, // 2 / 8 Hz
		{"above full scale over a file", taken, loud, capture.WriteConfig{Format: i16, Overwrite: true}, capture.ErrFullScale, "left channel"},
		{"NaN", filepath.Join(folder, "a.wav"), broken, capture.WriteConfig{}, capture.ErrNotFinite, "right channel is NaN at 0.250 s"},
		{"no sample rate", filepath.Join(folder, "a.wav"), &capture.Recording{Channels: two().Channels}, capture.WriteConfig{}, capture.ErrHeader, "a sample rate of 0 Hz; state"},
		{"nothing", filepath.Join(folder, "a.wav"), &capture.Recording{SampleRate: 8}, capture.WriteConfig{}, capture.ErrEmpty, "no samples"},
		{"12 bits", filepath.Join(folder, "a.wav"), two(), capture.WriteConfig{Format: capture.Format{Bits: 12}}, capture.ErrUnsupported, "12-bit"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := capture.Write(c.path, c.r, c.options)
			require.ErrorIs(t, err, c.is)
			assert.ErrorContains(t, err, "capture: "+c.path+": ")
			assert.ErrorContains(t, err, c.says)
			if c.is == capture.ErrFullScale || c.is == capture.ErrNotFinite {
				var s *wav.SampleError
				require.ErrorAs(t, err, &s)
				assert.Equal(t, 0.25, s.Time)
			}
		})
	}
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Len(t, left, 1, "nothing half-written")
	b, err := os.ReadFile(taken)
	require.NoError(t, err)
	assert.Equal(t, "precious", string(b))
	require.NoError(t, capture.Write(taken, two(), capture.WriteConfig{Overwrite: true}))
	_, err = capture.Read(taken)
	assert.NoError(t, err)

	ragged := two()
	ragged.Channels[1] = ragged.Channels[1][1:]
	assert.Panics(t, func() { _ = capture.Encode(io.Discard, ragged, capture.WriteConfig{}) }, "channels of different length")
}
