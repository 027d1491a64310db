package review_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

// sine has an rms in dBFS.
func sine(f, level float64, seconds int) []float64 {
	x := make([]float64, seconds*48000)
	for i := range x {
		x[i] = math.Sqrt2 * math.Pow(10, level/20) * math.Sin(2*math.Pi*f*float64(i)/48000)
	}
	return x
}

// A tone of 4 kHz at −20 dBFS rms where 94 dB SPL is −24: 98 dB SPL as read. A microphone that
// reads 6 dB too high there, and an ear that has 10 dB more than the field, leave 82 dB; the
// A-weighting of IEC 61672-1 is +1.0 dB at 4 kHz (its table, rounded to 0.1 dB).
func TestLevelOfMaterialIsCorrected(t *testing.T) {
	long.Skip(t)
	flat := response.Band{Low: 20, High: 20000}
	microphone := level.Calibration{Response: response.Curve{Frequency: []float64{20, 1000, 4000, 20000}, Level: []float64{0, 0, 6, 6},
		Uncertainty: []float64{0.5, 0.5, 0.5, 0.5}, Valid: flat}}
	field := response.Curve{Frequency: []float64{20, 500, 4000, 20000}, Level: []float64{0, 0, 10, 10}, Uncertainty: []float64{1.2, 1.2, 1.2, 1.2}, Valid: flat}
	narrow := level.Calibration{Response: microphone.Response.Within(response.Band{Low: 100, High: 2000})}
	unstated := microphone
	unstated.Response.Uncertainty = nil
	// The calibrator removes the microphone's error at 1 kHz, which is two octaves away and so
	// independent.
	relative := math.Hypot(0.5, 0.5)
	for _, c := range []struct {
		name        string
		microphone  *level.Calibration
		field       *response.Curve
		uncertainty float64
		stated      []review.Stated
		want, u     float64
	}{
		{"as it is", nil, nil, 0, nil, 99, 0},
		{"the microphone's response is subtracted", &microphone, nil, 0, nil, 93, relative},
		{"and the ear's over the field's", &microphone, &field, 0, nil, 83, math.Hypot(relative, 1.2)},
		{"the rig's uncertainty stands for one that is not stated", &unstated, nil, 0.7, nil, 93, 0.7},
		{"and counts without a microphone's file", nil, nil, 0.7, nil, 99, 0.7},
		{"an unknown uncertainty stays unknown", &unstated, nil, 0, nil, 93, math.NaN()},
		{"another component does not stand for the microphone", &unstated, nil, 0,
			[]review.Stated{{Name: "coupler", Uncertainty: 0.6}}, 93, math.NaN()},
		{"every stated component counts", nil, nil, 0, []review.Stated{{Name: "coupler", Uncertainty: 0.6},
			{Name: "temperature", Uncertainty: 0.3}, {Name: "seal", CommonTo: response.OneSeating, Uncertainty: 0.2}}, 99, 0.7},
		{"a microphone that is not known at 4 kHz", &narrow, nil, 0, nil, math.NaN(), math.NaN()},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := simulate(t)
			s.config.Microphone, s.config.Field, s.config.Uncertainty = c.microphone, c.field, c.uncertainty
			s.config.Stated = c.stated
			s.config.CalibratorTone = review.Channel{Recording: s.recording("calibrator.wav", [][]float64{sine(1000, -24, 5)})}
			s.config.Calibrator = &level.Calibrator{Level: 94, Frequency: 1000}
			p := s.bench().Pair(review.About{Name: "tone"})
			_, err := p.Seat(review.Seating{Channels: review.Channels{Left: review.Channel{Recording: s.through(0)}}})
			require.NoError(t, err)
			tone := review.Channel{Recording: s.recording("tone.wav", [][]float64{sine(4000, -20, 5)})}
			require.NoError(t, p.Play(review.Material{Name: "tone", Kind: "music", Direct: tone, Through: tone}))
			r, err := p.Measure()
			require.NoError(t, err)
			got := r.Programmes[0]
			if math.IsNaN(c.want) {
				assert.False(t, got.Level.A.Known())
				assert.Empty(t, got.Allowance, "no time is allowed for a level that is not known")
				assert.Equal(t, level.Uncorrected, got.Level.Findings[0].Kind)
				return
			}
			assert.InDelta(t, c.want, got.Level.A.Value, 0.06, "dB(A); the table is rounded to 0.1 dB")
			require.Len(t, got.Allowance, 3)
			// 8 h at 85 dB(A), and half the time for each 3 dB more (NIOSH 98-126); the level is
			// taken two standard uncertainties higher.
			hours := 8 * math.Pow(2, (85-got.Level.A.Value-2*c.u)/3)
			if math.IsNaN(c.u) {
				assert.True(t, math.IsNaN(got.Allowance[0].AtMost))
				return
			}
			assert.InEpsilon(t, min(24, hours), got.Allowance[0].AtMost, 0.01, "the calibrator's own uncertainty, 0.001 dB here")
		})
	}
}
