package speech

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/smoothing"
)

// ANSI S3.5-1997, table 3, from memory: 18 third octaves of IEC 61260-1 whose weights sum to 1.
func TestImportanceANSIS35(t *testing.T) {
	nominal, share := Importance()
	bands, err := smoothing.Bands(3, 145, 8500)
	require.NoError(t, err)
	require.Len(t, bands, len(nominal))
	for i, b := range bands {
		assert.Equal(t, b.Nominal, nominal[i])
	}
	assert.InDelta(t, 1, floats.Sum(share), 1e-12, "rounding")
	assert.Equal(t, .0898, share[11], "2 kHz matters most")
	share[0] = 5
	_, again := Importance()
	assert.Equal(t, .0083, again[0], "a copy")
}
