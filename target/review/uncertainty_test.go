package review_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

// part is the standard uncertainty that one component gives a curve at 1 kHz.
func part(c response.Curve, name string) float64 {
	var square float64
	for _, one := range c.Figure(1000).Budget {
		if one.Name == name {
			square += one.Variance()
		}
	}
	return math.Sqrt(square)
}

func (s *simulation) measured(b *review.Bench) *review.Results {
	p, err := s.seated(b, asItIs)
	require.NoError(s, err)
	r, err := p.Measure()
	require.NoError(s, err)
	return r
}

// A microphone whose file states 1.5 dB adds that uncertainty to every level. Errors common to both
// sides cancel in left less right, and no others do.
func TestStatedComponentsReachTheFigures(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	m := level.Calibration{Response: response.Curve{Frequency: []float64{10, 24000}, Level: []float64{0, 0}, Uncertainty: []float64{1.5, 1.5}, Valid: response.Band{Low: 10, High: 24000}}}
	s.config.Microphone = &m
	s.config.Stated = []review.Stated{
		{Name: "coupler", ByFrequency: response.Curve{Frequency: []float64{10, 24000}, Level: []float64{0.8, 0.8}, Valid: response.Band{Low: 10, High: 24000}}},
		{Name: "placement", Uncertainty: 0.3},
		{Name: "samples", Uncertainty: 0.5, DegreesOfFreedom: 2},
		{Name: "air", CommonTo: response.Everything, Uncertainty: 0.2, Octaves: math.Inf(1)},
		{Name: "seal", CommonTo: response.OneSeating, Uncertainty: 0.4},
	}
	s.config.Uncertainty = 0.6
	r := s.measured(s.bench())
	one := r.Left.Response()
	for name, u := range map[string]float64{"microphone": 1.5, "coupler": 0.8, "placement": 0.3, "samples": 0.5, "air": 0.2, "rig": 0.6, "seal": 0} {
		assert.InDelta(t, u, part(one, name), 1e-9, "%s; rounding", name)
	}
	// Both sides are channels of one recording, so there are two microphones, with one file.
	both := r.Mean
	for name, u := range map[string]float64{"microphone": 1.5 / math.Sqrt2, "coupler": 0.8, "placement": 0.3 / math.Sqrt2, "samples": 0.5, "rig": 0.6} {
		assert.InDelta(t, u, part(both, name), 1e-9, "%s of the mean: half of each side's own components; rounding", name)
	}
	apart := r.Difference
	for name, u := range map[string]float64{"microphone": 1.5 * math.Sqrt2, "coupler": 0, "placement": 0.3 * math.Sqrt2, "samples": 0, "rig": 0} {
		assert.InDelta(t, u, part(apart, name), 1e-9, "%s of left less right; rounding", name)
	}
	require.NoError(t, r.Judge(review.Criteria{}))
	assert.Contains(t, r.Judgement.Mean.Uncertainty, "microphone, coupler, placement, samples")
	assert.True(t, slices.ContainsFunc(r.Notes, func(n string) bool { return strings.HasPrefix(n, "Left and right were recorded at once") }), "%v", r.Notes)
	assert.Equal(t, []string{"the drift of the gain between the direct recording and the seatings"}, r.NotIncluded)

	assert.Contains(t, r.Notes, "The component \"seal\" is common to one seating. It is part of the scatter of the seatings, "+
		"so it is not added to the uncertainty of their mean.")

	// With a file for each, and recordings one at a time with one microphone, it is known which is
	// which.
	right := m
	right.Response.Level = []float64{0.1, 0.1}
	s.config.MicrophoneRight = &right
	r = s.measured(s.bench())
	assert.False(t, slices.ContainsFunc(r.Notes, func(n string) bool { return strings.HasPrefix(n, "Left and right were recorded at once") }))
	assert.InDelta(t, 1.5*math.Sqrt2, part(r.Difference, "microphone"), 1e-9, "rounding")
	s.config.MicrophoneRight = nil
	b := s.bench()
	p := b.Pair(review.About{Name: "one at a time"})
	for i := range 2 {
		left, other := s.through(i), s.through(i)
		left.Channels, other.Channels = left.Channels[:1], other.Channels[1:]
		_, err := p.Seat(review.Seating{Channels: review.Channels{Left: review.Channel{Recording: left}, Right: review.Channel{Recording: other}}})
		require.NoError(t, err)
	}
	r, err := p.Measure()
	require.NoError(t, err)
	assert.InDelta(t, 0, part(r.Difference, "microphone"), 1e-9, "one microphone; rounding")
	assert.InDelta(t, 2, r.Difference.Components[len(r.Difference.Components)-1].DegreesOfFreedom, 0, "pooled")
}

func TestImpossibleStatedComponents(t *testing.T) {
	s := simulate(t)
	uncertain := &level.Calibration{Response: response.Curve{Frequency: []float64{10, 24000}, Level: []float64{0, 0}, Uncertainty: []float64{-1, 1}, Valid: response.Band{Low: 10, High: 24000}}}
	table := response.Curve{Frequency: []float64{20, 20000}, Level: []float64{0.3, math.NaN()}, Valid: response.Band{Low: 20, High: 20000}}
	for want, c := range map[string]review.Config{
		`"placement" is -0.3 dB`:                {Stated: []review.Stated{{Name: "placement", Uncertainty: -0.3}}},
		`"placement" is +Inf dB`:                {Stated: []review.Stated{{Name: "placement", Uncertainty: math.Inf(1)}}},
		`"placement" is NaN dB`:                 {Stated: []review.Stated{{Name: "placement", Uncertainty: math.NaN()}}},
		`"coupler" is NaN dB at 20 kHz`:         {Stated: []review.Stated{{Name: "coupler", ByFrequency: table}}},
		`"placement" is stated twice`:           {Stated: []review.Stated{{Name: "placement"}, {Name: "placement"}}},
		`"rig" is stated twice`:                 {Uncertainty: 1, Stated: []review.Stated{{Name: "rig", CommonTo: response.OneRig}}},
		"has no name":                           {Stated: []review.Stated{{Uncertainty: 1}}},
		"is correlated over 0.01 octaves":       {Stated: []review.Stated{{Name: "placement", Octaves: 0.01}}},
		"-1 degrees of freedom":                 {Stated: []review.Stated{{Name: "placement", DegreesOfFreedom: -1}}},
		"is common to Scope(9)":                 {Stated: []review.Stated{{Name: "air", CommonTo: 9}}},
		"the uncertainty is NaN dB":             {Uncertainty: math.NaN()},
		"the microphone’s uncertainty is -1 dB": {Microphone: uncertain},
		"but the microphone’s file also has an " +
			"uncertainty": {Microphone: uncertain, Stated: []review.Stated{{Name: "microphone", Uncertainty: 1}}},
		"but the left side’s has none": {MicrophoneRight: &level.Calibration{}},
	} {
		c.Stimulus = s.stimulus
		_, err := review.New(c)
		assert.ErrorContains(t, err, want)
	}
}

func TestPairIsTheMean(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	r := s.measured(s.bench())
	own := r.Pair()
	assert.Equal(t, s.pair.Name, own.Name)
	require.Len(t, own.Seatings, 1)
	assert.Equal(t, r.Mean.Level, own.Seatings[0].Level)
}

// If a table ends within the band, frequencies beyond it have no interval, and a note says so.
func TestATableThatDoesNotCoverTheBand(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	s.config.Stated = []review.Stated{{Name: "coupler", ByFrequency: response.Curve{Frequency: []float64{100, 5000}, Level: []float64{0.3, 0.3}, Valid: response.Band{Low: 100, High: 5000}}}}
	r := s.measured(s.bench())
	assert.True(t, math.IsNaN(r.Mean.UncertaintyAt(10000)))
	assert.Greater(t, r.Mean.UncertaintyAt(1000), 0.3)
	assert.Contains(t, r.Notes, `The component "coupler" is stated over 100 Hz–5 kHz, which does not cover 20 Hz–20 kHz: outside it no interval is known; state it there too.`)
}

// A gain that rose by 0.3 dB between two direct recordings may have risen before or after any
// seating: a rectangular distribution from none to all has a root mean square of 0.3/√3.
func TestDriftBetweenDirectRecordings(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	b := s.bench()
	after := s.rig
	after.DirectGain += 0.3
	after.Seed++
	_, err := b.DirectAfter(review.Both(s.recording("after.wav", after.Direct(s.stimulus.Channels()))))
	require.NoError(t, err)
	r := s.measured(b)
	assert.InDelta(t, 0.3/math.Sqrt(3), part(r.Mean, "drift"), 0.003, "dB; the noise of two recordings")
	assert.Less(t, part(r.Difference, "drift"), 0.003, "dB; both sides drifted alike")
	assert.NotContains(t, r.NotIncluded, "the drift of the gain between the direct recording and the seatings")
	assert.True(t, slices.ContainsFunc(r.Notes, func(n string) bool {
		return n == "Between the two direct recordings the level moved by +0.300 dB at 1 kHz on the left."
	}), "%v", r.Notes)

	fresh, err := review.New(s.config)
	require.NoError(t, err)
	_, err = fresh.DirectAfter(review.Both(s.direct()))
	assert.ErrorContains(t, err, "call Direct before")
	_, err = b.DirectAfter(review.Channels{})
	assert.ErrorContains(t, err, "needs a channel for each side")
}
