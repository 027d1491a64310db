package review_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// layout is a stimulus in the words of a session.
type layout struct {
	start, stop, seconds, gap float64
	repeats                   int
	unmarked                  bool
}

func (l layout) stimulus(t *testing.T) *sweep.Stimulus {
	s, err := sweep.New(sweep.Config{Start: l.start, Stop: l.stop, Duration: duration.Of(l.seconds), Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: duration.Of(l.gap), Repeats: l.repeats, Unmarked: l.unmarked})
	require.NoError(t, err)
	return st
}

// A wrong setting is named with the value in the recording, and nothing else is reported. The
// expected values are those that were played.
func TestSettingsThatWereNotPlayed(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	played := layout{20, 20000, 1, 0.8, 1, false}
	for name, row := range map[string]struct {
		played, stated layout
		says           string // no finding without a fault
	}{
		"as stated": {played, played, ""},
		"stop": {played, layout{20, 18000, 1, 0.8, 1, false}, "stop is 18 kHz as stated but 20 kHz in " +
			"the recording"},
		"start": {played, layout{40, 20000, 1, 0.8, 1, false}, "start is 40 Hz as stated but 20 Hz in " +
			"the recording"},
		"gap": {played, layout{20, 20000, 1, 0.9, 1, false}, "gap is 0.9 s as stated but 0.800 s in " +
			"the recording"},
		"seconds": {played, layout{20, 20000, 1.5, 0.8, 1, false}, "seconds, of a sweep, is 1.382 as " +
			"stated but 1.036 in the recording"},
		"unmarked": {played, layout{20, 20000, 1, 0.8, 1, true}, "unmarked is true as stated but false " +
			"(there are timing marks) in the recording"},
		"marked": {layout{20, 20000, 1, 0.8, 1, true}, played, "unmarked is false as stated but true " +
			"(there are no timing marks) in the recording"},
		"repeats": {layout{20, 20000, 1, 0.8, 2, false}, played, "repeats is 1 as stated but 2 in the recording"},
		"two": {played, layout{20, 18000, 1, 0.9, 1, false}, "stop is 18 kHz as stated but 20 kHz in " +
			"the recording; gap is 0.9 s as stated but 0.800 s in the recording"},
	} {
		t.Run(name, func(t *testing.T) {
			s := *s
			s.T, s.stimulus = t, row.played.stimulus(t)
			s.config.Stimulus = row.stated.stimulus(t)
			b, err := review.New(s.config)
			require.NoError(t, err)
			findings, err := b.Direct(review.Both(s.direct()))
			wrong := found(findings, review.WrongSetting)
			if row.says == "" {
				require.NoError(t, err)
				assert.Empty(t, wrong)
				return
			}
			require.ErrorIs(t, err, fitness.ErrUnfit)
			require.Len(t, findings, 1, "the cause alone: %v", findings)
			require.Len(t, wrong, 1)
			assert.Equal(t, "direct.wav", wrong[0].Recording)
			assert.Contains(t, wrong[0].What, "does not hold the stated stimulus: "+row.says)
		})
	}
}

// Lost samples are not taken for a setting.
func TestLostSamplesAreNoSetting(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	direct := s.direct()
	for k, x := range direct.Channels {
		direct.Channels[k] = append(append([]float64(nil), x[:110_000]...), x[110_400:]...)
	}
	b, err := review.New(s.config)
	require.NoError(t, err)
	findings, err := b.Direct(review.Both(direct))
	require.ErrorIs(t, err, fitness.ErrUnfit)
	assert.Empty(t, found(findings, review.WrongSetting))
	require.Len(t, found(findings, fitness.DroppedSamples), 1)
	assert.Contains(t, findings[0].What, "about 400 samples (8.3 ms) are missing")
}

// A recording at another speed is named by it, and not by the settings that look changed. An echo
// that hides the marks from recognition is no setting either.
func TestAnotherSpeedIsNoSetting(t *testing.T) {
	long.Skip(t)
	for _, row := range []struct {
		name  string
		spoil func(direct *capture.Recording)
		kind  response.FindingKind
		says  string
	}{
		{"labelled with another rate", func(r *capture.Recording) { *r = *r.Resampled(44100); r.SampleRate = 48000 },
			fitness.NoSweep, "recorded at 44100 Hz and labelled 48000 Hz"},
		{"a little fast", func(r *capture.Recording) { *r = *r.Resampled(47600); r.SampleRate = 48000 },
			fitness.WrongRate, "at 1.0084 times its speed"},
		{"an echo", func(r *capture.Recording) {
			for k, x := range r.Channels {
				y := slices.Clone(x)
				for i := 1500; i < len(y); i++ {
					y[i] += 0.12 * x[i-1500]
				}
				r.Channels[k] = y
			}
		}, fitness.Echo, "31.2 ms later"},
	} {
		t.Run(row.name, func(t *testing.T) {
			s := simulate(t)
			direct := s.direct()
			row.spoil(direct)
			b, err := review.New(s.config)
			require.NoError(t, err)
			findings, err := b.Direct(review.Both(direct))
			require.ErrorIs(t, err, fitness.ErrUnfit)
			assert.Empty(t, found(findings, review.WrongSetting))
			of := found(findings, row.kind)
			require.NotEmpty(t, of, "%v", findings)
			assert.Contains(t, of[0].What, row.says)
		})
	}
}

// A level alone does not prove a wrong setting; the gain that would explain it is a figure of the
// finding.
func TestAnotherLevelIsNoted(t *testing.T) {
	s := simulate(t)
	sw, err := sweep.New(sweep.Config{Duration: time.Second, Level: -6})
	require.NoError(t, err)
	s.config.Stimulus, err = sweep.NewStimulus(sweep.StimulusConfig{Sweep: sw})
	require.NoError(t, err)
	b, err := review.New(s.config)
	require.NoError(t, err)
	played, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	require.NoError(t, err)
	s.stimulus, err = sweep.NewStimulus(sweep.StimulusConfig{Sweep: played})
	require.NoError(t, err)
	findings, err := b.Direct(review.Both(s.direct()))
	require.NoError(t, err)
	of := found(findings, review.WrongSetting)
	require.Len(t, of, 1)
	assert.Equal(t, response.Note, of[0].Severity)
	assert.InDelta(t, -6, of[0].Figures["gain"].Value, 0.1, "dB; the interface's own at 1 kHz is in it")
}
