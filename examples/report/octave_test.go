package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/smoothing"
	"example.com/earnest/target"
)

// Octaves of IEC 61260-1: that of 16 Hz ends at 22.387 Hz, that of 16 kHz begins at 11.220 kHz.
func TestOctaveOfWhichNotAllWasJudged(t *testing.T) {
	bands, err := smoothing.Bands(1, 20, 20000)
	require.NoError(t, err)
	var names []string
	for _, b := range bands {
		o := target.OctaveDeviation{Nominal: b.Nominal, RegionDeviation: target.RegionDeviation{Region: target.Region{Band: response.Band{Low: b.Low, High: b.High}}}}
		names = append(names, english.Octave(response.Band{Low: 20, High: 20000}, o))
	}
	assert.Equal(t, []string{"20 Hz–22.4 Hz", "31.5 Hz", "63 Hz", "125 Hz", "250 Hz", "500 Hz", "1 kHz", "2 kHz", "4 kHz", "8 kHz", "11.2 kHz–20 kHz"}, names)
}
