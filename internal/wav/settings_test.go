package wav

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSettingsComeBack(t *testing.T) {
	for _, text := range []string{"", "even", "odd", "fünf ± 1\n", strings.Repeat("x", mostSettings)} {
		var b bytes.Buffer
		require.NoError(t, Write(&b, 48000, [][]float64{{0, 0.5, -0.5}}, Options{Format: Format{Bits: 24}, Settings: text}))
		f, err := Read(bytes.NewReader(b.Bytes()), int64(b.Len()), 100)
		require.NoError(t, err)
		assert.Equal(t, text, strings.TrimSuffix(f.Settings+"\n", "\n")[:len(text)])
		assert.LessOrEqual(t, len(f.Settings), len(text)+1, "a line break makes the length even")
		assert.Equal(t, [][]float64{{0, 0.5, -0.5}}, f.Channels)

		// The file as written by a program that puts unknown chunks before the samples.
		whole := b.Bytes()
		at := bytes.Index(whole, []byte("data"))
		moved := append(append(bytes.Clone(whole[:at]), settingsChunk(text)...), whole[at:len(whole)-len(settingsChunk(text))]...)
		f, err = Read(bytes.NewReader(moved), int64(len(moved)), 100)
		require.NoError(t, err)
		assert.Equal(t, text, strings.TrimSuffix(f.Settings+"\n", "\n")[:len(text)])
	}
	assert.Panics(t, func() { settingsChunk(strings.Repeat("x", mostSettings+1)) })
}

// A damaged text does not affect the samples.
func TestDamagedSettingsAreNone(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, Write(&b, 48000, [][]float64{{0, 0.5, -0.5}}, Options{Format: Format{Bits: 16}, Settings: "text"}))
	for name, spoil := range map[string]func([]byte) []byte{
		"cut short":    func(w []byte) []byte { return w[:len(w)-2] },
		"far too long": func(w []byte) []byte { w[len(w)-5] = 0x7f; return w },
	} {
		spoilt := spoil(bytes.Clone(b.Bytes()))
		f, err := Read(bytes.NewReader(spoilt), int64(len(spoilt)), 100)
		require.NoError(t, err, name)
		assert.Empty(t, f.Settings, name)
		assert.Equal(t, [][]float64{{0, 0.5, -0.5}}, f.Channels, name)
	}
}
