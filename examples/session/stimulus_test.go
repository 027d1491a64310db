package session_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/response/capture"
)

// beside writes a session file with the given stimulus settings, and beside it a stimulus file that
// states its own settings; nil for one that says nothing.
func beside(t *testing.T, says string, made *session.Stimulus) *session.Session {
	t.Helper()
	folder := t.TempDir()
	text := "[headphones]\nname = \"Finchale\"\n[rig]\nname = \"plate\"\n[direct]\nfile = \"d.wav\"\n[[seating]]\nleft = { file = \"l.wav\" }\n" + says
	require.NoError(t, os.WriteFile(filepath.Join(folder, "session.toml"), []byte(text), 0o600))
	rec := &capture.Recording{SampleRate: 48000, Channels: [][]float64{{0.1, 0.2}, {0, 0}}}
	if made != nil {
		var err error
		rec.Settings, err = made.Settings()
		require.NoError(t, err)
	}
	require.NoError(t, capture.Write(filepath.Join(folder, "stimulus.wav"), rec, capture.WriteConfig{}))
	s, err := session.Read(folder)
	require.NoError(t, err)
	return s
}

func TestStimulusBesideTheSessionSaysHowItWasMade(t *testing.T) {
	made := session.Stimulus{Start: 30, Seconds: 2, Level: -20, Repeats: 2, FadeIn: 0.2, FadeOut: -1}
	want, err := made.Build()
	require.NoError(t, err)
	got, err := beside(t, "", &made).Played()
	require.NoError(t, err)
	assert.Equal(t, want.Channels(), got.Channels(), "no [stimulus] is needed")

	got, err = beside(t, "[stimulus]\nstart = 30\nseconds = 2.02\nlevel = -20\nrepeats = 2\nfade_in = 0.2\nfade_out = -1\n", &made).Played()
	require.NoError(t, err, "2.02 s are rounded to the same whole turns")
	assert.Equal(t, want.Channels(), got.Channels())

	got, err = beside(t, "[stimulus]\nlevel = -20\n", nil).Played()
	require.NoError(t, err, "an old file says nothing of itself")
	assert.Equal(t, -20.0, got.Sweep().Level())
}

func TestStimulusThatContradictsItsFile(t *testing.T) {
	made := session.Stimulus{Start: 30, Seconds: 2, Level: -20}
	for says, complaint := range map[string]string{
		"start = 30\nseconds = 2\nlevel = -12\n":                  "level is -12 in one and -20 in the other",
		"start = 20\nseconds = 2\nlevel = -20\n":                  "start is 20 in one and 30 in the other",
		"start = 30\nseconds = 4\nlevel = -20\n":                  "the length of a sweep is 3.901 s in one and 1.951 s in the other",
		"start = 30\nseconds = 2\nlevel = -20\nrepeats = 3\n":     "repeats is 3 in one and 1 in the other",
		"start = 30\nseconds = 2\nlevel = -20\nunmarked = true\n": "the number of timing marks is 0 in one and 2 in the other",
		"start = 30\nseconds = 2\nlevel = -20\nsilence = 3\n":     "the total length is",
		"start = 30\nseconds = 2\nlevel = -20\nfade_in = 0.1\n":   "fade_in or fade_out differ, first at 0.000 s in the sweep",
	} {
		_, err := beside(t, "[stimulus]\n"+says, &made).Played()
		assert.ErrorIs(t, err, session.ErrSession, says)
		assert.ErrorContains(t, err, complaint)
		assert.ErrorContains(t, err, "leave [stimulus] out if that file was played")
	}
}

func TestSettingsThatCannotBeRead(t *testing.T) {
	folder := t.TempDir()
	text := "[headphones]\nname = \"Finchale\"\n[rig]\nname = \"plate\"\n[direct]\nfile = \"d.wav\"\n[[seating]]\nleft = { file = \"l.wav\" }\n"
	require.NoError(t, os.WriteFile(filepath.Join(folder, "session.toml"), []byte(text), 0o600))
	for settings, complaint := range map[string]string{
		"[stimulus":                 "the settings in stimulus.wav cannot be read",
		"[stimulus]\nstart = 99000": "the settings in stimulus.wav: sweep: stop frequency",
	} {
		rec := &capture.Recording{SampleRate: 48000, Channels: [][]float64{{0.1, 0.2}}, Settings: settings}
		require.NoError(t, capture.Write(filepath.Join(folder, "stimulus.wav"), rec, capture.WriteConfig{Overwrite: true}))
		s, err := session.Read(folder)
		require.NoError(t, err)
		_, err = s.Played()
		assert.ErrorIs(t, err, session.ErrSession)
		assert.ErrorContains(t, err, complaint)
	}
}
