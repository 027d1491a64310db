package smoothing_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/smoothing"
)

func bandwidth(b smoothing.Band) float64 { return b.High - b.Low }

func TestBandPowerOfWhiteIsBandwidth(t *testing.T) {
	density := make([]float64, 2049)
	floats.AddConst(1, density)
	for _, fraction := range []int{1, 3, 24} {
		b := bands(t, fraction, 20, 20000)
		got := smoothing.BandPower(nil, density, 48000.0/4096, b)
		assert.InEpsilonSlice(t, column(b, bandwidth), got, 1e-12, "1/%d octave", fraction) // rounding of edges in narrow bands
	}
}

// A density of 1/f holds ln(High/Low) = 0.3 ln(10)/b in every band.
func TestBandPowerOfPinkIsEqual(t *testing.T) {
	const spacing = 0.05
	density := make([]float64, 440001)
	for k := range density {
		density[k] = 1 / (spacing * float64(k))
	}
	for _, fraction := range []int{1, 3, 12} {
		for _, got := range smoothing.BandPower(nil, density, spacing, bands(t, fraction, 200, 11000)) {
			assert.InEpsilon(t, 0.3*math.Ln10/float64(fraction), got, 1e-5) // steps of 0.05 Hz against 1/f at 140 Hz, edges cut mid-step
		}
	}
}

func TestBandPowerSumsToTotal(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	const spacing = 2.9296875
	density := make([]float64, 8193)
	for k := range density {
		density[k] = math.Pow(10, -12*rng.Float64())
	}
	// One band that begins and ends on edges of bins, divided where standard bands are.
	low, high := 99.5*spacing, 6000.5*spacing
	total := spacing * floats.SumCompensated(density[100:6001])
	for _, fraction := range []int{1, 3, 48} {
		inner := bands(t, fraction, 400, 11000)
		last := len(inner) - 1
		cut := append([]smoothing.Band{{Low: low, High: inner[0].Low}}, inner...)
		cut = append(cut, smoothing.Band{Low: inner[last].High, High: high})
		got := smoothing.BandPower(nil, density, spacing, cut)
		assert.InEpsilon(t, total, floats.Sum(got), 1e-12, "1/%d octave", fraction) // rounding of some hundred edges
	}
}

// A line in one bin belongs completely to the band around it. Bands that meet inside the bin share
// it in proportion.
func TestBandPowerOfOneLine(t *testing.T) {
	density := make([]float64, 100)
	density[40] = 0.3
	got := smoothing.BandPower(nil, density, 10, []smoothing.Band{
		{Low: 300, High: 398}, {Low: 398, High: 402}, {Low: 402, High: 404}, {Low: 404, High: 500}, {Low: 300, High: 500}, {Low: 100, High: 200},
	})
	assert.InDeltaSlice(t, []float64{0.9, 1.2, 0.6, 0.3, 3, 0}, got, 1e-12) // 395 … 405 Hz at 0.3 per Hz
}

func TestBandPowerOutsideTheBinsIsNotKnown(t *testing.T) {
	nan := math.NaN()
	density := []float64{1, 1, 1, nan, 1, 1} // to 55 Hz, 25 … 35 Hz not known
	got := smoothing.BandPower(nil, density, 10, []smoothing.Band{
		{Low: -1, High: 20}, {Low: 0, High: 20}, {Low: 20, High: 26}, {Low: 20, High: 25}, {Low: 35, High: 55},
		{Low: 36, High: 55.1}, {Low: 60, High: 70}, {Low: 20, High: 20}, {Low: 20, High: 10}, {Low: nan, High: 20}, {Low: 10, High: nan},
		{Low: 10, High: 50}, {Low: 10, High: math.Inf(1)},
	})
	want := []float64{nan, 20, nan, 5, 20, nan, nan, nan, nan, nan, nan, nan, nan}
	for i := range want {
		if math.IsNaN(want[i]) {
			assert.True(t, math.IsNaN(got[i]), "band %d", i)
		} else {
			assert.InDelta(t, want[i], got[i], 1e-13, "band %d", i) // rounding
		}
	}
	assert.True(t, math.IsNaN(smoothing.BandPower(nil, nil, 10, bands(t, 1, 100, 100))[0]), "no bins at all")
}

func TestBandPowerUpToTheLastBin(t *testing.T) {
	density := make([]float64, 3000)
	floats.AddConst(1, density)
	for n := 2; n <= len(density); n++ {
		end := (float64(n) - 0.5) * 0.1
		got := smoothing.BandPower(nil, density[:n], 0.1, []smoothing.Band{{Low: 0.1, High: end}})
		assert.InDelta(t, end-0.1, got[0], 1e-12*end, "%d bins", n) // rounding
	}
}

func TestBandPowerPanics(t *testing.T) {
	b := bands(t, 1, 100, 1000)
	for _, spacing := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		assert.Panics(t, func() { smoothing.BandPower(nil, make([]float64, 9), spacing, b) })
	}
	assert.Panics(t, func() { smoothing.BandPower(make([]float64, 1), make([]float64, 9), 1, b) })
}
