//go:build !race

package programme_test

import (
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/response/programme"
)

// The same two signals as in TestSpectraEqualSciPy, through pwelch of GNU Octave:
// testdata/reference/spectra.m.
func TestSpectraEqualOctave(t *testing.T) {
	var cases []struct {
		SampleRate                            float64
		Len, Hop                              int
		Frequency, Direct, Through, Coherence []float64
		CrossReal, CrossImag, H1Real, H1Imag  []float64
	}
	known.Values(t, "spectra.json", &cases)
	require.Len(t, cases, 4)
	x, y := residuesAndFiltered()
	const tolerance = 1e-9 // relative; rounding
	for _, c := range cases {
		s := programme.Welch(x, y, c.SampleRate, c.Len, c.Hop)
		h1, g := s.H1(), s.Coherence()
		require.Len(t, g, len(c.Frequency))
		for k := range c.Frequency {
			assert.InEpsilon(t, c.Frequency[k]+1, s.Frequency(k)+1, tolerance, "1 added, for one is 0")
			assert.InEpsilon(t, c.Direct[k], s.Direct[k], tolerance)
			assert.InEpsilon(t, c.Through[k], s.Through[k], tolerance)
			assert.InEpsilon(t, c.Coherence[k], g[k], tolerance)
			assert.Less(t, cmplx.Abs(s.Cross[k]-complex(c.CrossReal[k], c.CrossImag[k])), tolerance*cmplx.Abs(s.Cross[k]), "bin %d of %d", k, c.Len)
			assert.Less(t, cmplx.Abs(h1[k]-complex(c.H1Real[k], c.H1Imag[k])), tolerance*cmplx.Abs(h1[k]), "bin %d of %d", k, c.Len)
		}
	}
}

// residuesAndFiltered are the signals of testdata/reference/programme.py.
func residuesAndFiltered() (x, y []float64) {
	x = residues(3000, 7919, 104729)
	y = residues(3000, 6101, 15487)
	for i := range y {
		y[i] *= 0.3
		if i >= 3 {
			y[i] += 0.5 * x[i-3]
		}
		if i >= 4 {
			y[i] -= 0.2 * x[i-4]
		}
	}
	return x, y
}
