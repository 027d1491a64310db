package report_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/report"
	"example.com/earnest/examples/report/listening"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme/excerpt"
	"example.com/earnest/response/programme/loudness"
	"example.com/earnest/target/review"
)

// The files beside the report can be read, and are equally loud.
func TestExcerptsStandBesideTheReport(t *testing.T) {
	long.Skip(t)
	folder := filepath.Dir(page(t, "whole", all()))
	for _, piece := range []string{"excerpt-1-", "excerpt-2-"} {
		var loud []float64
		for _, name := range []string{"direct", "through", "by-response", "by-rival-1", "by-rival-2"} {
			rec, err := capture.Read(filepath.Join(folder, piece+name+".wav"))
			require.NoError(t, err)
			assert.Equal(t, 24, rec.Format.Bits)
			l, err := loudness.Measure(rec.Channels, rec.SampleRate)
			require.NoError(t, err)
			loud = append(loud, l.Integrated)
			assert.Less(t, l.TruePeak, -1+0.05, "dBTP; it is read within 0.05 dB")
			same, err := capture.Read(filepath.Join(folder, piece+name+".flac"))
			require.NoError(t, err)
			assert.Equal(t, rec.Channels, same.Channels, "to the last bit")
		}
		assert.InDelta(t, loud[0], loud[1], 0.1, "LU; what is asked")
		for _, other := range loud[2:] {
			assert.InDelta(t, loud[0], other, 0.1, "LU; what is asked")
		}
	}
	assert.ErrorIs(t, report.Vacant(folder), report.ErrExists)
}

func TestWriteListening(t *testing.T) {
	folder := t.TempDir()
	r := &review.Results{About: review.About{Name: "Wren"}}
	assert.ErrorIs(t, report.WriteListening(folder, r, false), listening.ErrNothing)
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Empty(t, entries, "nothing is left behind")

	tone := make([]float64, 48000)
	tone[0] = 0.5
	r.Programmes = []*review.Programme{{Name: "a tune", Excerpts: &review.Excerpts{SampleRate: 48000, Versions: []excerpt.Version{
		{Name: excerpt.Direct, Samples: tone}, {Name: review.FilteredByResponse, Samples: tone},
	}}}}
	require.NoError(t, report.WriteListening(folder, r, false))
	text, err := os.ReadFile(filepath.Join(folder, report.ListeningFile))
	require.NoError(t, err)
	assert.Contains(t, string(text), "a tune: direct against direct, filtered by the measured response")
	assert.ErrorIs(t, report.WriteListening(folder, r, false), report.ErrExists)
	assert.NoError(t, report.WriteListening(folder, r, true))
}
