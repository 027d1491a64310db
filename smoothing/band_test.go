package smoothing_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/smoothing"
)

func bands(t testing.TB, fraction int, low, high float64) []smoothing.Band {
	t.Helper()
	b, err := smoothing.Bands(fraction, low, high)
	require.NoError(t, err)
	return b
}

func column(b []smoothing.Band, of func(smoothing.Band) float64) []float64 {
	c := make([]float64, len(b))
	for i := range b {
		c[i] = of(b[i])
	}
	return c
}

func nominals(b []smoothing.Band) []float64 {
	return column(b, func(b smoothing.Band) float64 { return b.Nominal })
}

// Exact midband frequencies of thirds by IEC 61260-1:2014, G = 10^(3/10), so
// 1000·10^(x/10); the powers are from a table of antilogarithms (from memory:
// 10^0.1 = 1.258925, 10^0.2 = 1.584893 …).
func TestBandsIEC61260ThirdOctaves(t *testing.T) {
	b := bands(t, 3, 630, 1600)
	want := []float64{630.957, 794.328, 1000, 1258.925, 1584.893}
	require.Len(t, b, len(want))
	for i, w := range want {
		assert.InDelta(t, w, b[i].Centre, 0.0005, "band %d", i) // the table's last digit
	}
	assert.Equal(t, 1000.0, b[2].Centre)
	assert.InDelta(t, 891.251, b[2].Low, 0.0005)   // 1000·10^(−1/20)
	assert.InDelta(t, 1122.018, b[2].High, 0.0005) // 1000·10^(+1/20)
}

// The same for octaves, 1000·10^(3x/10): 10^0.3 = 1.995262, 10^0.6 = 3.981072 …
func TestBandsIEC61260Octaves(t *testing.T) {
	b := bands(t, 1, 16, 16000)
	want := []float64{15.849, 31.623, 63.096, 125.893, 251.189, 501.187, 1000, 1995.262, 3981.072, 7943.282, 15848.932}
	require.Len(t, b, len(want))
	for i, w := range want {
		assert.InDelta(t, w, b[i].Centre, 0.0005) // the table's last digit
	}
	assert.InDelta(t, 707.946, b[6].Low, 0.0005)   // 1000·10^(−3/20)
	assert.InDelta(t, 1412.538, b[6].High, 0.0005) // 1000·10^(+3/20)
}

// For an even denominator no band is centred on 1 kHz; it is an edge. The
// figures are the standard's formula evaluated in Python.
func TestBandsIEC61260EvenDenominators(t *testing.T) {
	for _, c := range []struct {
		fraction         int
		low, mid, high   float64 // the band just above 1 kHz: 1000·10^(3/(20b)), 1000·10^(3/(10b))
		below, belowEdge float64
	}{
		{2, 1000, 1188.502, 1412.538, 841.395, 707.946},
		{6, 1000, 1059.254, 1122.018, 944.061, 891.251},
		{12, 1000, 1029.201, 1059.254, 971.628, 944.061},
		{24, 1000, 1014.495, 1029.201, 985.712, 971.628},
	} {
		b := bands(t, c.fraction, 999, 1001)
		require.Len(t, b, 2, "1/%d", c.fraction)
		assert.Equal(t, c.low, b[1].Low)
		assert.InDelta(t, c.mid, b[1].Centre, 0.0005) // the last digit given
		assert.InDelta(t, c.high, b[1].High, 0.0005)
		assert.InDelta(t, c.below, b[0].Centre, 0.0005)
		assert.InDelta(t, c.belowEdge, b[0].Low, 0.0005)
	}
}

// The preferred frequencies of ISO 266 (from memory), as IEC 61260-1 lists them.
func TestBandsNominalIEC61260(t *testing.T) {
	assert.Equal(t, []float64{
		1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800,
		1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 8000, 10000, 12500, 16000, 20000, 25000, 31500, 40000, 50000,
	}, nominals(bands(t, 3, 1, 50000)))
	assert.Equal(t, []float64{0.1, 0.125, 0.16, 0.2}, nominals(bands(t, 3, 0.1, 0.2)))
	assert.Equal(t, []float64{16, 31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000, 31500}, nominals(bands(t, 1, 16, 31500)))
	// The rules of Annex E, from memory, on 1000·10^(0.15 (x + 1/2)) in Python: half-octaves to
	// three digits.
	assert.Equal(t, []float64{26.6, 37.6, 53.1, 75, 106, 150, 211, 299, 422, 596, 841, 1190},
		nominals(bands(t, 2, 30, 1400)))
	// Sixths: three digits up to a leading 4, two from a leading 5.
	assert.Equal(t, []float64{840, 940, 1060, 1190, 1330, 1500, 1680, 1880, 2110, 2370, 2660, 2990, 3350, 3760, 4220, 4730, 5300, 6000, 6700, 7500, 8400, 9400},
		nominals(bands(t, 6, 800, 9900)))
	// Twenty-fourths, 1000·10^(0.3 (2x + 1)/48): the same, since the rule of the annex includes
	// them.
	assert.Equal(t, []float64{1010, 1040, 1070, 1110}, nominals(bands(t, 24, 1001, 1100)))
	// The leading digit is that of the exact frequency: 1000·10^(−1.305) = 49.545 keeps three
	// digits, although it leads with 5 when rounded to one.
	assert.Equal(t, []float64{49.5}, nominals(bands(t, 10, 49.5, 49.6)))
}

func TestBandsNominalTellsNeighboursApart(t *testing.T) {
	for _, fraction := range []int{1, 2, 3, 4, 6, 12, 24, 25, 48, 96, 240, 241, 1000} {
		b := bands(t, fraction, 10, 40000)
		for i := range b {
			assert.InEpsilon(t, b[i].Centre, b[i].Nominal, 0.015, "1/%d octave", fraction) // half a step of two digits at 5.0, or of R10 rounding
			if i > 0 {
				require.Greater(t, b[i].Nominal, b[i-1].Nominal, "1/%d octave", fraction)
			}
		}
	}
}

func TestBandsMeetAndCover(t *testing.T) {
	for _, fraction := range []int{1, 2, 3, 5, 12, 24, 96} {
		for _, r := range [][2]float64{{20, 20000}, {31.5, 31.5}, {0.3, 7}, {1000, 1000}, {999, 1001}, {1e-3, 1e6}} {
			b := bands(t, fraction, r[0], r[1])
			assert.LessOrEqual(t, b[0].Low, r[0])
			assert.Greater(t, b[0].High, r[0])
			assert.GreaterOrEqual(t, b[len(b)-1].High, r[1])
			for i := range b {
				assert.InEpsilon(t, math.Pow(10, 0.3/float64(fraction)), b[i].High/b[i].Low, 1e-14) // G^(1/b), rounding
				assert.InEpsilon(t, b[i].Centre*b[i].Centre, b[i].Low*b[i].High, 1e-14)
				if i > 0 {
					assert.Equal(t, b[i-1].High, b[i].Low)
				}
			}
		}
	}
}

func TestBandsFromEdgeToEdge(t *testing.T) {
	for _, fraction := range []int{1, 2, 3, 6, 7, 24} {
		want := bands(t, fraction, 25, 12000)
		assert.Equal(t, want, bands(t, fraction, want[0].Low, want[len(want)-1].High), "1/%d octave", fraction)
	}
}

func TestBandsRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name      string
		fraction  int
		low, high float64
		kind      error
	}{
		{"zero fraction", 0, 20, 20000, smoothing.ErrWidth},
		{"negative fraction", -3, 20, 20000, smoothing.ErrWidth},
		{"absurdly fine", 1 << 40, 20, 20000, smoothing.ErrWidth},
		{"from zero", 3, 0, 20000, smoothing.ErrGrid},
		{"from below zero", 3, -20, 20000, smoothing.ErrGrid},
		{"swapped", 3, 20000, 20, smoothing.ErrGrid},
		{"NaN", 3, nan, 20000, smoothing.ErrGrid},
		{"to NaN", 3, 20, nan, smoothing.ErrGrid},
		{"to infinity", 3, 20, inf, smoothing.ErrGrid},
		{"at infinity", 3, inf, inf, smoothing.ErrGrid},
		{"two million bands", 1000, 1e-300, 1e300, smoothing.ErrGrid},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, err := smoothing.Bands(c.fraction, c.low, c.high)
			assert.ErrorIs(t, err, c.kind)
			assert.Nil(t, b)
		})
	}
}
