package target_test

import (
	"math"
	"testing"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ANSI S3.5-1997, table 3 (from memory): the importance of each third of an octave
// from 160 Hz to 8 kHz; the sum is 1.
func TestSpeechImportanceANSIS3_5(t *testing.T) {
	table := []float64{.0083, .0095, .0150, .0289, .0440, .0578, .0653, .0711, .0818, .0844, .0882, .0898, .0868, .0844, .0771, .0527, .0364, .0185}
	var regions []target.Region
	for i := range table {
		mid := 1000 * math.Pow(10, 0.1*float64(i-8)) // IEC 61260-1
		regions = append(regions, target.Region{Name: "third", Band: response.Band{Low: mid * math.Pow(10, -0.05), High: mid * math.Pow(10, 0.05)}})
	}
	d := compare(t, curveOn(t, []float64{20, 20000}, tiltOf(0)), target.Flat(), target.Config{Weight: target.SpeechImportance, Regions: regions})
	var sum float64
	for i, r := range d.Regions {
		assert.InDelta(t, table[i], r.Weight, 1e-9, "%v", r.Band)
		sum += r.Weight
	}
	assert.InDelta(t, 1, sum, 1e-9)
	for _, w := range []func(float64) float64{target.PerERB, target.PerOctave, target.SpeechImportance} {
		sum = 0
		for _, o := range compare(t, curveOn(t, []float64{20, 20000}, tiltOf(0)), target.Flat(), target.Config{Weight: w}).Octaves {
			sum += o.Weight
		}
		assert.InDelta(t, 1, sum, 1e-9, "the octaves make up the whole")
	}
}

// The regions cover the audible band without overlap, each with its edges. The mean of a line in a
// region is its value in the middle.
func TestRegionsOfTheTrade(t *testing.T) {
	d := compare(t, curveOn(t, []float64{10, 24000}, tiltOf(1)), target.Flat(), target.Config{Align: target.Alignment{None: true}})
	require.Len(t, d.Regions, 7)
	at := 20.0
	for _, r := range d.Regions {
		assert.InDelta(t, at, r.Band.Low, 0)
		at = r.Band.High
		octaves := r.Band.Octaves()
		middle := math.Log2(math.Sqrt(r.Band.Low*r.Band.High) / 1000)
		assert.InDelta(t, middle, r.Mean.Value, 1e-9)
		assert.InDelta(t, math.Hypot(middle, octaves/math.Sqrt(12)), r.RMS.Value, 1e-9)
		assert.InDelta(t, octaves/math.Log2(1000), r.Weight, 1e-9)
		assert.InDelta(t, 1, r.Coverage, 1e-9)
	}
	assert.InDelta(t, 20000, at, 0)
	assert.Equal(t, "bass (60 Hz–250 Hz): mean -3.03 dB, rms 3.09 dB", d.Regions[1].String())
	outside := compare(t, curveOn(t, []float64{100, 1000}, tiltOf(1)), target.Flat(), target.Config{})
	assert.Equal(t, "sub-bass (20 Hz–60 Hz): not known", outside.Regions[0].String())
	assert.Zero(t, outside.Regions[0].Coverage)
}
