package review_test

import (
	"example.com/earnest/internal/testing/long"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/response/level"
	"example.com/earnest/response/programme"
	"example.com/earnest/response/programme/excerpt"
	"example.com/earnest/response/programme/loudness"
	"example.com/earnest/target/review"
)

// Music is compared, set beside the sweep, and refused where the two are not the same.
func TestProgrammeMaterial(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	b := s.bench()
	p, err := s.seated(b, asItIs)
	require.NoError(t, err)
	music := rig.Music(48000, 6, 1)
	direct := s.recording("tune-direct.wav", s.rig.Direct(music))
	through := s.recording("tune-through.wav", s.rig.Through(s.pair, 0, music))
	other := s.recording("other.wav", s.rig.Through(s.pair, 0, rig.Speech(48000, 6, 2)))
	clipped := s.recording("clipped.wav", rig.Clip(through.Channels, 12))
	copied := s.recording("copied.wav", [][]float64{slices.Clone(direct.Channels[0]), slices.Clone(direct.Channels[1])})
	both := s.recording("both.wav", [][]float64{slices.Clone(through.Channels[0]), slices.Clone(direct.Channels[0])})
	for _, m := range []review.Material{
		{Name: "tune", Kind: "music", Excerpt: &excerpt.Config{Length: 4 * time.Second}, Direct: review.Channel{Recording: direct}, Through: review.Channel{Recording: through}},
		{Name: "mixed up", Kind: "music", Side: "left", Direct: review.Channel{Recording: direct}, Through: review.Channel{Recording: other}},
		{Name: "exchanged", Kind: "music", Direct: review.Channel{Recording: through}, Through: review.Channel{Recording: direct}},
		{Name: "one file twice", Kind: "music", Direct: review.Channel{Recording: direct}, Through: review.Channel{Recording: copied}},
		{Name: "clipped", Kind: "music", Excerpt: &excerpt.Config{Length: 4 * time.Second}, Direct: review.Channel{Recording: direct}, Through: review.Channel{Recording: clipped}},
		{Name: "both in one file", Kind: "music", Side: "left", Direct: review.Channel{Recording: both, Number: 2}, Through: review.Channel{Recording: both, Number: 1}},
	} {
		require.NoError(t, p.Play(m))
	}
	r, err := p.Measure()
	require.NoError(t, err)
	require.Len(t, r.Programmes, 6)
	assert.NoError(t, r.Programmes[5].Refused)
	assert.Empty(t, r.Programmes[5].Findings)
	tune := r.Programmes[0]
	require.NoError(t, tune.Refused)
	require.NotNil(t, tune.Agreement)
	assert.InDelta(t, s.truth(rig.Left, 1000, 0), tune.Sweep.At(1000), nearTruth, "dB")
	assert.InDelta(t, tune.Sweep.At(1000), tune.Comparison.Response().At(1000), 1, "dB; music and sweep through one pair")
	assert.Error(t, r.Programmes[1].Refused)
	assert.Nil(t, r.Programmes[1].Agreement)
	assert.Nil(t, r.Programmes[1].Excerpts)
	assert.ErrorIs(t, r.Programmes[2].Refused, review.ErrExchanged)
	assert.Nil(t, r.Programmes[2].Comparison)

	assert.ErrorIs(t, r.Programmes[3].Refused, fitness.ErrUnfit)
	assert.ErrorContains(t, r.Programmes[3].Refused, "copied.wav: left channel is the same as channel 1 of tune-direct.wav")
	assert.Nil(t, r.Programmes[3].Comparison)

	require.NoError(t, r.Judge(review.Criteria{}))
	require.NotNil(t, r.Programmes[4].Comparison, "figures, with a warning")
	require.Len(t, r.Programmes[4].Excerpts.Versions, 0)
	assert.Contains(t, r.Programmes[4].Excerpts.Missing, "clips, and a listener would take")
	require.NotNil(t, tune.Excerpts)
	require.Empty(t, tune.Excerpts.Missing)
	require.Len(t, tune.Excerpts.Versions, 3, "direct, through, and direct filtered by the response; no target is named")
	var loud []float64
	for _, v := range tune.Excerpts.Versions {
		l, err := loudness.Measure([][]float64{v.Samples}, tune.Excerpts.SampleRate)
		require.NoError(t, err)
		loud = append(loud, l.Integrated)
	}
	assert.InDelta(t, loud[0], loud[1], 0.1, "LU; what is asked")
	assert.InDelta(t, loud[0], loud[2], 0.1, "LU; what is asked")
}

// A microphone that reads the treble 6 dB too high: its error is subtracted from music and sweep
// alike, so that they agree as they do without it, and exchanged recordings are refused as before.
func TestMicrophoneOfMaterial(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	music := rig.Music(48000, 8, 1)
	direct, through := s.recording("tune-direct.wav", s.rig.Direct(music)), s.recording("tune-through.wav", s.rig.Through(s.pair, 0, music))
	error := response.Curve{Frequency: []float64{20, 1000, 4000, 16000}, Level: []float64{-3, 0, 6, 6}, Valid: response.Band{Low: 20, High: 16000}}
	of := func(microphone *level.Calibration) [2]*review.Programme {
		s.config.Microphone = microphone
		p, err := s.seated(s.bench(), asItIs)
		require.NoError(t, err)
		for _, m := range [2]review.Material{
			{Name: "tune", Kind: "music", Direct: review.Channel{Recording: direct}, Through: review.Channel{Recording: through}},
			{Name: "exchanged", Kind: "music", Direct: review.Channel{Recording: through}, Through: review.Channel{Recording: direct}},
		} {
			require.NoError(t, p.Play(m))
		}
		r, err := p.Measure()
		require.NoError(t, err)
		return [2]*review.Programme(r.Programmes)
	}
	flat, corrected := of(nil), of(&level.Calibration{Response: error})
	a, b := flat[0].Comparison.Bands(3), corrected[0].Comparison.Bands(3)
	for i, band := range a {
		if !band.Known || band.Centre > 15000 {
			continue
		}
		assert.InDelta(t, band.Difference-error.At(band.Centre), b[i].Difference, 0.3, "%v Hz; dB, the error rises by 1 dB within a band, whose music lies at a few notes", band.Nominal)
		assert.InDelta(t, flat[0].Residuals[i].Noise, corrected[0].Residuals[i].Noise, 0.3, "%v Hz; dB, as above", band.Nominal)
	}
	assert.InDelta(t, flat[0].Sweep.At(8000)-6, corrected[0].Sweep.At(8000), 1e-6, "dB")
	assert.InDelta(t, flat[0].Agreement.RMS, corrected[0].Agreement.RMS, 0.03, "dB; the error has the same effect on both")
	for _, p := range []*review.Programme{flat[1], corrected[1]} {
		assert.ErrorIs(t, p.Refused, review.ErrExchanged)
	}
}

// Music in stereo shows which side was recorded. A voice in the middle does not.
func TestSwappedSidesOfMaterial(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	b := s.bench()
	p, err := s.seated(b, asItIs)
	require.NoError(t, err)
	music, voice := rig.Music(48000, 8, 1), rig.Speech(48000, 8, 2)
	voice[1] = voice[0]
	recorded := func(name string, sound [][]float64) (direct, through *capture.Recording) {
		return s.recording(name+"-direct.wav", s.rig.Direct(sound)), s.recording(name+"-through.wav", s.rig.Through(s.pair, 0, sound))
	}
	tune, heardTune := recorded("tune", music)
	spoken, heardVoice := recorded("voice", voice)
	// Crossfeed in the player: the other side 10 dB below its own, and 0.3 ms later.
	crossfed := [][]float64{slices.Clone(music[0]), slices.Clone(music[1])}
	for k := range crossfed {
		for i := 14; i < len(crossfed[k]); i++ {
			crossfed[k][i] += 0.32 * music[1-k][i-14]
		}
	}
	_, heardCrossfed := recorded("crossfed", crossfed)
	for _, m := range []review.Material{
		{Name: "tune", Kind: "music", Direct: review.Channel{Recording: tune}, Through: review.Channel{Recording: heardTune}},
		{Name: "tune", Kind: "music", Side: "right", Direct: review.Channel{Recording: tune}, Through: review.Channel{Recording: heardTune}},
		{Name: "swapped", Kind: "music", Side: "left", Direct: review.Channel{Recording: tune}, Through: review.Channel{Recording: heardTune, Number: 2}},
		{Name: "swapped", Kind: "music", Side: "right", Direct: review.Channel{Recording: tune}, Through: review.Channel{Recording: heardTune, Number: 1}},
		{Name: "crossfed", Kind: "music", Side: "left", Direct: review.Channel{Recording: tune}, Through: review.Channel{Recording: heardCrossfed}},
		{Name: "voice", Kind: "speech", Side: "left", Direct: review.Channel{Recording: spoken}, Through: review.Channel{Recording: heardVoice, Number: 2}},
	} {
		require.NoError(t, p.Play(m))
	}
	r, err := p.Measure()
	require.NoError(t, err)
	for _, of := range r.Programmes {
		if of.Name != "swapped" {
			require.NoError(t, of.Refused, of.Name)
			mixed := slices.ContainsFunc(of.Comparison.Findings, func(f response.Finding) bool { return f.Kind == fitness.MixedSides })
			assert.Equal(t, of.Name == "crossfed", mixed, of.Name)
			assert.False(t, mixed && slices.ContainsFunc(of.Spectrogram.Findings, func(f response.Finding) bool {
				return f.Kind == programme.Wavering
			}), "the difference follows the other channel: a cause is told once")
			continue
		}
		assert.ErrorContains(t, of.Refused, "left and right are swapped", of.Side)
	}
}

// A click at one place in both recordings is part of the material, such as a note that is cut off.
// A click in one of them is not.
func TestClicksOfTheMaterialAreNoFault(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	tune := rig.Click(rig.Speech(48000, 6, 4), 1, -6, 3)
	direct := s.recording("direct.wav", s.rig.Direct(tune))
	through := s.rig.Through(s.pair, 0, tune)
	for name, c := range map[string]struct {
		through [][]float64
		clicks  int
	}{"in both": {through, 0}, "knocked": {rig.Click(through, 2, 0, 1), 1}} {
		p, err := s.seated(s.bench(), asItIs)
		require.NoError(t, err)
		require.NoError(t, p.Play(review.Material{Name: "tune", Kind: "music", Direct: review.Channel{Recording: direct},
			Through: review.Channel{Recording: s.recording("through.wav", c.through)}}))
		r, err := p.Measure()
		require.NoError(t, err)
		alone, err := placement.Locate(direct, nil)
		require.NoError(t, err)
		assert.True(t, slices.ContainsFunc(fitness.Inspect(alone, fitness.Config{}).Findings, abrupt), "by itself it clicks")
		found := slices.DeleteFunc(r.Programmes[0].Findings, func(f response.Finding) bool { return !abrupt(f) })
		assert.GreaterOrEqual(t, len(found), c.clicks, name)
		if c.clicks == 0 {
			assert.Empty(t, found, name)
		}
	}
}

func abrupt(f response.Finding) bool {
	return f.Kind == fitness.Clicks || f.Kind == fitness.DroppedSamples
}
