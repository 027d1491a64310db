package fitness_test

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// Music has no sweep to mark its beginning: a copy that was cut is found by its loudest samples.
// Another recording of the same piece is not a copy.
func TestCopyOfMusicCutAtItsBeginning(t *testing.T) {
	long.Skip(t)
	h, _, r := rig.Demonstration()
	piece := rig.Music(programmeRate, 4, 1)
	recording := func(name string, seating, from int) *capture.Recording {
		var channels [][]float64
		for _, x := range r.Through(h, seating, piece) {
			channels = append(channels, x[from:])
		}
		return &capture.Recording{Name: name, SampleRate: programmeRate, Channels: channels}
	}
	same := func(a, b *capture.Recording) []response.Finding {
		return inspectedSet([]*capture.Recording{a, b}, said{}, said{}).Of(fitness.SameRecording)
	}
	first := recording("first.wav", 0, 0)
	found := same(first, recording("cut.wav", 0, 1234))
	require.Len(t, found, 1)
	assert.Equal(t, "cut.wav", found[0].Recording)
	assert.Contains(t, found[0].What, "is the same as channel 1 of first.wav")
	assert.Len(t, same(recording("cut.wav", 0, 1234), first), 1, "the cut one first")
	assert.Empty(t, same(first, recording("again.wav", 1, 1234)), "put on again")
}

// A power supply whistles into both inputs alike, far above their own noise. A lead from one input
// to the other still makes a copy, which has the noise too.
func TestAWhistleInBothChannelsIsNoCopy(t *testing.T) {
	race.Skip(t)
	for _, frequency := range []float64{1000, 8000, 15625} {
		d := steady(t, false)
		r := d.recording(t)
		for _, x := range r.Channels {
			for i := range x {
				x[i] += 0.003 * math.Sin(2*math.Pi*frequency*float64(i)/float64(r.SampleRate))
			}
		}
		assert.Empty(t, inspected(r, d.options).Of(fitness.CopiedChannel), "%v Hz", frequency)
		random := rand.New(rand.NewPCG(3, 3))
		for i, v := range r.Channels[0] {
			r.Channels[1][i] = v + 2e-6*random.NormFloat64()
		}
		assert.Len(t, inspected(r, d.options).Of(fitness.CopiedChannel), 1, "%v Hz, copied", frequency)
	}
}

// One source of noise reaches both inputs, far above their own noise: the sweeps are on their own sides.
func TestNoiseInBothChannelsIsNoCopy(t *testing.T) {
	race.Skip(t)
	d := steady(t, false)
	r := d.recording(t)
	random := rand.New(rand.NewPCG(4, 4))
	for i := range r.Len() {
		noise := 1e-4 * random.NormFloat64()
		r.Channels[0][i] += noise
		r.Channels[1][i] += 0.9 * noise
	}
	assert.Empty(t, inspected(r, d.options).Of(fitness.CopiedChannel))
}

// A recording that was filtered afterwards has the same noise, but is another recording.
func TestAFilteredRecordingIsNotTheSame(t *testing.T) {
	race.Skip(t)
	h, _, r := rig.Demonstration()
	piece := make([][]float64, 2)
	for k, x := range rig.Music(programmeRate, 2, 1) {
		piece[k] = append(make([]float64, programmeRate), x...)
	}
	first := &capture.Recording{Name: "first.wav", SampleRate: programmeRate, Channels: r.Through(h, 0, piece)}
	processed := func(gain float64) *capture.Recording {
		out := &capture.Recording{Name: "second.wav", SampleRate: programmeRate}
		for _, x := range first.Channels {
			y := append([]float64(nil), x...)
			biquad.New(biquad.LowShelf, 300, 0.7, gain, programmeRate).Apply(y)
			out.Channels = append(out.Channels, y)
		}
		return out
	}
	assert.Empty(t, inspectedSet([]*capture.Recording{first, processed(1)}, said{}, said{}).Of(fitness.SameRecording))
	assert.NotEmpty(t, inspectedSet([]*capture.Recording{first, processed(0)}, said{}, said{}).Of(fitness.SameRecording))
}

// If left and right were played at once, a direct recording without noise has equal channels.
func TestEqualChannelsOfSidesPlayedAtOnce(t *testing.T) {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	require.NoError(t, err)
	n, gap := len(s.Samples()), programmeRate/2
	st, err := sweep.Playing(s, []sweep.Segment{
		{Kind: sweep.Silence, Len: gap}, {Kind: sweep.LeftSweep, Start: gap, Len: n},
		{Kind: sweep.RightSweep, Start: gap, Len: n}, {Kind: sweep.Silence, Start: gap + n, Len: gap},
	})
	require.NoError(t, err)
	rec := &capture.Recording{Name: "direct.wav", SampleRate: s.SampleRate(), Channels: st.Channels()}
	p, err := placement.Locate(rec, st)
	require.NoError(t, err)
	for direct, severity := range map[bool]response.Severity{true: response.Warning, false: response.Unfit} {
		found := fitness.Inspect(p, fitness.Config{Direct: direct}).Of(fitness.CopiedChannel)
		require.Len(t, found, 1)
		assert.Equal(t, severity, found[0].Severity, "direct: %v", direct)
	}
}

// A clone knows the recordings of its original; the original does not know those added to the
// clone.
func TestClonesOfASet(t *testing.T) {
	inspect := func(s *fitness.Set, name string, seed uint64) *fitness.Report {
		r := &capture.Recording{Name: name, SampleRate: programmeRate, Channels: rig.Music(programmeRate, 2, seed)}
		p, err := placement.Locate(r, nil)
		require.NoError(t, err)
		return s.Inspect(p, fitness.Config{})
	}
	var direct fitness.Set
	inspect(&direct, "direct.wav", 1)
	pair, other := direct.Clone(), direct.Clone()
	assert.NotEmpty(t, inspect(pair, "copy.wav", 1).Of(fitness.SameRecording), "of the original's")
	assert.Empty(t, inspect(pair, "first.wav", 2).Of(fitness.SameRecording))
	assert.Empty(t, inspect(other, "first.wav", 2).Of(fitness.SameRecording), "another clone's")
	assert.NotEmpty(t, inspect(pair, "second.wav", 2).Of(fitness.SameRecording), "its own")
}
