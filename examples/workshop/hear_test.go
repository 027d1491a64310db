package main

import (
	"encoding/base64"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"net/http/httptest"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response/programme/loudness"
)

// The page holds the tune four times, equally loud, and the difference of the versions is the
// stated one.
func TestHear(t *testing.T) {
	server := httptest.NewServer(newWorkshop())
	defer server.Close()
	answer, err := http.Get(server.URL + "/hear")
	require.NoError(t, err)
	defer answer.Body.Close()
	page, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	assert.Equal(t, http.StatusOK, answer.StatusCode)
	assert.Contains(t, string(page), "Loud sound can hurt hearing")
	assert.NotContains(t, string(page), "the rig")
	data := regexp.MustCompile(`(?s)<script type="application/json" id="piece-1">(.*?)</script>`).FindSubmatch(page)
	require.NotNil(t, data)
	var piece struct {
		Versions []struct{ Name, Samples string }
	}
	require.NoError(t, json.Unmarshal(data[1], &piece))
	require.Len(t, piece.Versions, 1+len(raised))
	for _, v := range piece.Versions {
		raw, err := base64.StdEncoding.DecodeString(v.Samples)
		require.NoError(t, err)
		x := make([]float64, len(raw)/2)
		for i := range x {
			x[i] = float64(int16(uint16(raw[2*i])|uint16(raw[2*i+1])<<8)) / 32768
		}
		l, err := loudness.Measure([][]float64{x}, 48000)
		require.NoError(t, err)
		if v.Name == "direct" {
			assert.Greater(t, l.Integrated, -50.0)
		}
		assert.LessOrEqual(t, l.TruePeak, -0.9, "dBTP; a tenth for dither and reading")
	}
	for _, by := range raised {
		c := rise(by)
		assert.InDelta(t, by, c.At(3000), 0.01, "between points of a grid of 24 to the octave")
		assert.InDelta(t, by/2, c.At(3000*math.Sqrt2), 0.03, "half as high half an octave away")
		assert.InDelta(t, 0, c.At(300), 1e-3)
	}
}
