package report_test

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture"
)

// said are the texts of the page's paragraphs, list items and cells.
var said = regexp.MustCompile(`(?s)<(?:p|li|td|th)\b[^>]*>(.*?)</(?:p|li|td|th)>`)

// The page of a session with spoilt recordings has findings of several kinds, all of them German.
func TestGermanPageOfSpoiltRecordings(t *testing.T) {
	long.Skip(t)
	page(t, "whole", all()) // makes the recordings
	folder := filepath.Join(t.TempDir(), "spoilt")
	require.NoError(t, os.CopyFS(folder, os.DirFS(short)))
	for name, spoil := range map[string]func(v float64, n int) float64{
		"seating-1.wav":    func(v float64, n int) float64 { return v + 0.0004*math.Sin(2*math.Pi*50*float64(n)/48000) },
		"seating-2.wav":    func(v float64, _ int) float64 { return v + 0.02 },
		"tune-through.wav": func(v float64, _ int) float64 { return max(-1, min(1, 12*v)) },
		"voice-direct.wav": func(v float64, _ int) float64 { return v + 0.05 },
	} {
		path := filepath.Join(folder, name)
		r, err := capture.Read(path)
		require.NoError(t, err)
		for _, x := range r.Channels {
			for n := range x {
				x[n] = spoil(x[n], n)
			}
		}
		require.NoError(t, capture.Write(path, r, capture.WriteConfig{Overwrite: true}))
	}
	s, err := session.Read(folder)
	require.NoError(t, err)
	r, err := s.Review(nil)
	require.NoError(t, err)
	r.About.Kind = "" // the session's own words
	kinds := map[string]bool{}
	for _, f := range r.Findings {
		kinds[string(f.Kind)] = true
	}
	require.GreaterOrEqual(t, len(kinds), 2, "kinds of finding: %v", kinds)

	to := filepath.Join(folder, "out")
	require.NoError(t, report.Write(to, r, false))
	require.NoError(t, report.WriteTranslation(to, r, "de", false))
	text, err := os.ReadFile(filepath.Join(to, "report-de.html"))
	require.NoError(t, err)
	assert.NotContains(t, string(text), `lang="en"`)
	english := regexp.MustCompile(`\b(?:the|is|are|and|with|which|not|known|record|again)\b`)
	all := said.FindAllStringSubmatch(string(text), -1)
	require.Greater(t, len(all), 100)
	for _, one := range all {
		assert.NotRegexp(t, english, one[1])
	}
}
