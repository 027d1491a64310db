package report_test

import (
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/target"
)

// A pair is no way off its own response, on its own rig.
func TestResponseAsTextIsATarget(t *testing.T) {
	long.Skip(t)
	c := reduced[0]
	text := filepath.Join(filepath.Dir(page(t, c.name, c.change)), "response.txt")
	s, err := session.Read(short)
	require.NoError(t, err)
	c.change(s)
	s.Target.File, err = filepath.Rel(short, text)
	require.NoError(t, err)
	m, err := s.Review(nil)
	require.NoError(t, err)
	j := m.Judgement
	assert.InDelta(t, 0, j.Mean.RMS.Value, 1e-9, "dB; rounding")
	assert.InDelta(t, 0, j.Mean.Max.Level.Value, 1e-9, "dB; rounding")
	read, err := target.ReadFile(text)
	require.NoError(t, err)
	assert.Equal(t, m.Mean.Rig, read.Curve.Rig)
	assert.Equal(t, m.Mean.Valid, read.Curve.Valid)
	assert.InDelta(t, m.Mean.UncertaintyAt(1000), read.Curve.UncertaintyAt(1000), 1e-12, "dB; rounding")
}

// One seating does not show how much the next would differ, so a target made from it is not exact.
func TestResponseOfOneSeatingAsText(t *testing.T) {
	long.Skip(t)
	c := reduced[1]
	read, err := target.ReadFile(filepath.Join(filepath.Dir(page(t, c.name, c.change)), "response.txt"))
	require.NoError(t, err)
	assert.False(t, math.IsNaN(read.Curve.At(1000)))
	assert.True(t, math.IsNaN(read.Curve.UncertaintyAt(1000)))
}
