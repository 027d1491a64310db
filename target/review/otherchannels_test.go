package review_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response/capture"
	"example.com/earnest/target/review"
)

// A recorder of six inputs, four of them open, and one of two with one microphone: the content of a
// channel that is not compared is no fault of the piece.
func TestChannelsThatAreNotComparedAreNoFault(t *testing.T) {
	s := simulate(t)
	s.config.Stimulus = nil
	b, err := review.New(s.config)
	require.NoError(t, err)
	tune := recordedMaterial()[0]
	silence := make([]float64, len(tune[1][0]))
	direct := s.recording("direct.wav", tune[0])
	for name, channels := range map[string][][]float64{
		"six inputs":     {tune[1][0], silence, silence, silence, silence, silence},
		"one microphone": {tune[1][0], silence},
		"one that clips": {tune[1][0], rig.Clip(tune[1], 12)[1]},
	} {
		p := b.Pair(review.About{Name: name})
		through := &capture.Recording{Name: name + ".wav", SampleRate: 48000, Channels: slices.Clone(channels)}
		require.NoError(t, p.Play(review.Material{Name: "tune", Direct: review.Channel{Recording: direct},
			Through: review.Channel{Recording: through, Number: 1}}))
		r, err := p.Measure()
		require.NoError(t, err, name)
		assert.NoError(t, r.Programmes[0].Refused, name)
		assert.Empty(t, r.Programmes[0].Findings, name)
		assert.InDelta(t, s.truth(rig.Left, 1000, 0), r.Left.Response().At(1000), nearTruth, "dB")
	}
}
