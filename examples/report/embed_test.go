package report

import (
	"encoding/base64"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme/excerpt"
	"example.com/earnest/target/review"
)

// A page with embedded sound holds the same samples as the file beside it, and no more than 20 MB.
func TestEmbeddedExcerpts(t *testing.T) {
	tone := make([]float64, 5001)
	for i := range tone {
		tone[i] = 0.3 * math.Sin(float64(i)/20)
	}
	version, e := excerpt.Version{Name: excerpt.Direct, Samples: tone}, &review.Excerpts{SampleRate: 48000}
	v := &view{}
	at, err := v.Source("excerpt-1-direct", version, e)
	require.NoError(t, err)
	assert.Equal(t, "excerpt-1-direct.wav", string(at))

	v.embed = true
	at, err = v.Source("excerpt-1-direct", version, e)
	require.NoError(t, err)
	data, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(string(at), "data:audio/flac;base64,"))
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "x.flac")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	rec, err := capture.Read(path)
	require.NoError(t, err)
	assert.InDeltaSlice(t, tone, rec.Channels[0], 3e-7, "24 bits, with dither of two steps")

	v.embedded = mostEmbedded
	at, err = v.Source("excerpt-1-direct", version, e)
	require.NoError(t, err)
	assert.Equal(t, "excerpt-1-direct.wav", string(at), "there is no room left")
}
