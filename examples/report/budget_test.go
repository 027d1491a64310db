package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
)

func budgeted(seatings int, components ...response.Component) figureBudget {
	b := response.Budget(components)
	return figureBudget{Figure: b.Figure(1, "dB"), parts: merged(b), seatings: seatings}
}

func part(name string, freedom float64, effects ...float64) response.Component {
	return response.Component{Cause: response.Cause{Name: name, DegreesOfFreedom: freedom}, Effects: effects}
}

// Student's t at 97.5 % has 4.303, 3.182, 2.776 and 2.571 for 2 to 5 degrees of freedom (JCGM
// 100:2008, table G.2), so that three seatings have 4.303/√3 = 2.48 and five 2.776/√5 = 1.24 of
// their scatter: half.
func TestChangesThatHalveAnInterval(t *testing.T) {
	scatter, microphone, coupler := part("scatter of seatings", 2, 1), part("microphone", 0, 1), part("coupler", 0, 1)
	for want, f := range map[string]figureBudget{
		"2 more seatings":         budgeted(3, scatter),
		"a calibrated microphone": budgeted(3, microphone),
		"a calibrated microphone and a coupler or plate with a smaller uncertainty": budgeted(3, microphone, coupler),
		"a smaller “draught”": budgeted(3, part("draught", 0, 1), part("microphone", 0, 0.1)),
		"one more seating":    budgeted(2, part("scatter of seatings", 1, 1)), // 12.706/√2 = 8.98 and 4.303/√3 = 2.48
		"more than 20 more seatings, if at all, with everything else exact": budgeted(1, part("scatter of seatings", 2, 1)),
	} {
		assert.Equal(t, want, english.Halve(f))
	}
	f := budgeted(3, part("microphone", 0, 0.6), part("scatter of seatings", 2, 0.8), part("microphone", 0, 0.8))
	assert.Equal(t, "61", f.Share("microphone"), "0.36 + 0.64 of 1.64")
	assert.Equal(t, "39", f.Share("scatter of seatings"))
	assert.Equal(t, "–", f.Share("coupler"))
}

func TestLayersOfACurve(t *testing.T) {
	c, err := response.NewCurve([]float64{100, 1000}, []float64{0, 0})
	require.NoError(t, err)
	for name, u := range map[string]float64{"coupler": 0.4, "microphone": 0.3, "noise": 0.001} {
		c = c.With(response.Cause{Name: name, CommonTo: response.OneRig}, func(float64) float64 { return u }, math.Inf(1))
	}
	all := layers(c)
	require.Len(t, all, 3)
	assert.Equal(t, "coupler", all[0].Name, "the largest first")
	assert.Equal(t, "everything on the rig", all[0].CommonTo)
	assert.InDelta(t, 0.3, float64(all[1].Uncertainty[0]), 1e-12, "rounding")
	thick, thin := seen(all)
	assert.Len(t, thick, 2)
	assert.Equal(t, []string{"noise"}, thin)
	assert.InDelta(t, 0.25, variance(thick, 1), 1e-12, "3² + 4² = 5²; rounding")
}
