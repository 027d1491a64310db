package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// −60 dB is 0.1 %; 2 dB above the floor nothing is known, and so nothing is
// written.
func TestTotalDistortionNearItsFloorIsNotKnown(t *testing.T) {
	hs := &distortion.HarmonicSet{
		Fundamental: []float64{100, 1000},
		Orders: []distortion.Order{{N: 2, Readings: distortion.Readings{
			Fundamental: []float64{100, 1000}, AsRead: []float64{-60, -80}, Floor: []float64{-100, -82}, Uncertainty: []float64{0.1, 5},
		}}},
	}
	d := newDistortion(&review.Side{Seatings: []*review.Reading{{Harmonics: hs}}})
	for _, percent := range [][]number{d.THDToFundamental, d.THDToTotal} {
		assert.InDelta(t, 0.1, float64(percent[0]), 1e-5, "%; the floor's power is a part in ten thousand of it")
		assert.True(t, math.IsNaN(float64(percent[1])))
	}
}

func TestTotalDistortionInWordsAndAsARow(t *testing.T) {
	figure := func(value, u, freedom float64) response.Figure {
		return response.Figure{Value: value, Uncertainty: u, DegreesOfFreedom: freedom, Unit: "%"}
	}
	// Two seatings with noise of 0.028 % that scatter by less: the component of the noise along the
	// harmonic is 0.02 %, that of the mean 0.014 %, known with many degrees of freedom.
	alike := distortion.Mean(distortion.NewReading(0.1, 0.028, "%", distortion.Noise{Degrees: 2}),
		distortion.NewReading(0.1, 0.028, "%", distortion.Noise{Degrees: 2}))
	scattered := distortion.Reading{Figure: figure(0.1, 0.01, 2), Bound: 0.2}
	scattered.Budget = response.Budget{{Cause: response.Cause{Name: response.ScatterOfSeatings}}}
	for _, c := range []struct {
		thd         distortion.Reading
		words       string
		value, most float64
	}{
		{scattered, "0.100 ± 0.043 %", 0.1, 0.143}, // t of 2 degrees of freedom is 4.303
		{alike, "0.096 ± 0.028 %", 0.096, 0.124},
		{distortion.Reading{Figure: figure(0.1, 0.01, 0), Bound: 0.2}, "0.10 %", 0.1, math.NaN()},
		{distortion.Reading{Figure: response.NotKnown("%"), Below: true, Bound: 0.2}, "below the floor of this measurement (at most 0.20 %)", math.NaN(), 0.2},
		{distortion.Reading{Figure: response.NotKnown("%"), Below: true, Bound: math.NaN()}, "below the floor of this measurement", math.NaN(), math.NaN()},
		{distortion.Reading{Figure: figure(math.NaN(), math.NaN(), 0), Bound: math.NaN()}, "not known", math.NaN(), math.NaN()},
	} {
		assert.Equal(t, c.words, Percent(distortion.THD{Reading: c.thd}))
		row := newTHD(distortion.THD{Reading: c.thd})
		assert.InDelta(t, c.value, float64(row.Percent.Value), 1e-12, c.words)
		assert.InDelta(t, c.most, float64(row.AtMost), 1e-4, "%s; four digits of a table", c.words)
	}
}
