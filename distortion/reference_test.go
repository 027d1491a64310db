package distortion_test

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
)

// The published example measured with a sweep by GNU Octave, by another way:
// testdata/reference/distortion.m.
func TestKernelsEqualOctave(t *testing.T) {
	t.Parallel()
	data, err := os.ReadFile("../testdata/reference/distortion.json")
	require.NoError(t, err)
	var reference struct {
		Kernels struct {
			Frequency []float64
			Level     [][]float64
		}
	}
	require.NoError(t, json.Unmarshal(data, &reference))
	s := newSweep(t, hammersteinSweep)
	hs, err := distortion.Harmonics(separate(t, s, 4, hammersteinDevice(s, hammerstein)), distortion.Config{})
	require.NoError(t, err)
	kernels := hs.Kernels()
	require.Len(t, reference.Kernels.Level, len(kernels))
	for m, k := range kernels {
		for i, f := range reference.Kernels.Frequency {
			assert.InDelta(t, reference.Kernels.Level[m][i], k.Curve().At(f), 0.04, "kernel %d at %g Hz; 0.02 dB are the reference's own", m+1, f)
		}
	}
}
