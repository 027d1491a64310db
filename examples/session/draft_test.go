package session_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/target/review"
)

// drafted is a session file with the recordings written into it.
func drafted(t *testing.T, text string, there []string, recorded ...session.Recorded) string {
	folder := t.TempDir()
	path := filepath.Join(folder, "session.toml")
	if text != "" {
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	}
	for _, name := range there {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), nil, 0o600))
	}
	d, err := session.ReadDraft(folder)
	require.NoError(t, err)
	require.NoError(t, d.Write(d.Propose("Wren", "plate", recorded)))
	out, err := os.ReadFile(path)
	require.NoError(t, err)
	d, err = session.ReadDraft(folder)
	require.NoError(t, err)
	assert.Empty(t, d.Propose("Wren", "plate", recorded), "lines in the file are not proposed again")
	return string(out)
}

func as(file string, role review.Role, left, right int) session.Recorded {
	return session.Recorded{File: file, Candidate: review.Candidate{Role: role, Left: left, Right: right}}
}

const names = "[headphones]\nname = \"Wren\"\n\n[rig]\nname = \"plate\"\n"

// Text that was written by hand is kept to the letter; recordings are added to their tables.
func TestRecordingsGoWhereTheyBelong(t *testing.T) {
	piece := as("song-left.wav", review.ThroughPiece, 1, 0)
	piece.With = "song.wav"
	played := as("evening.wav", review.ThroughSweep, 2, 1)
	played.Play = 3
	after := as("end.wav", review.DirectSweep, 1, 2)
	after.After = true
	other := as("b.wav", review.ThroughSweep, 1, 0)
	other.Resampled = true
	for name, c := range map[string]struct {
		text, want string
		there      []string
		recorded   []session.Recorded
	}{
		"a seating that lacks its right side": {
			names + "[direct]\nfile = \"a.wav\"\n[[seating]]  # by hand\nleft = { file = \"b.wav\" } # mine\n# the end\n",
			names + "[direct]\nfile = \"a.wav\"\n[[seating]]  # by hand\nleft = { file = \"b.wav\" } # mine\nright = { file = \"c.wav\" }\n# the end\n",
			[]string{"a.wav", "b.wav"}, []session.Recorded{as("c.wav", review.ThroughSweep, 0, 1)}},
		"names of files that are not there": {
			names + "# [direct] file = \"direct.wav\"\n[direct]\nfile = \"direct.wav\"\n[[seating]]\nleft  = { file = \"first-left.wav\" }\nright = { file = \"first-right.wav\", channel = 2 }\n",
			names + "# [direct] file = \"direct.wav\"\n[direct]\nfile = \"a.wav\"\n[[seating]]\nleft  = { file = \"b.wav\" }\nright = { file = \"c.wav\" }\n",
			nil, []session.Recorded{as("a.wav", review.DirectSweep, 1, 2), as("b.wav", review.ThroughSweep, 1, 0), as("c.wav", review.ThroughSweep, 0, 1)}},
		"plays, exchanged channels, and the end": {
			names, names + "\n[[seating]]\nleft = { file = \"evening.wav\", channel = 2, play = 3 }\nright = { file = \"evening.wav\", channel = 1, play = 3 }\n\n[direct_after]\nfile = \"end.wav\"\n",
			nil, []session.Recorded{played, after}},
		"what is beside the sweeps": {
			names, names + "\n[calibrator]\nfile = \"tone.wav\"\nlevel = 94  # dB SPL, as the calibrator says\n\n[isolation]\nopen = \"o.wav\"\ncovered = \"under.wav\"\n" +
				"\n[[programme]]\nname = \"song\"\nkind = \"music\"  # or speech\ndirect = { file = \"song.wav\" }\nleft = { file = \"song-left.wav\" }\n",
			nil, []session.Recorded{as("tone.wav", review.CalibratorTone, 1, 0), as("under.wav", review.CoveredNoise, 0, 0), as("o.wav", review.OpenNoise, 0, 0), piece}},
		"another rate": {
			names, "resample = true\n\n" + names + "\n[[seating]]\nleft = { file = \"b.wav\" }\n", nil, []session.Recorded{other}},
		"a name with quotes": {
			names, names + "\n[direct]\nfile = 'the \"best\".wav'\n", nil, []session.Recorded{as("the \"best\".wav", review.DirectSweep, 1, 2)}},
	} {
		t.Run(name, func(t *testing.T) {
			assert.Equal(t, c.want, drafted(t, c.text, c.there, c.recorded...))
		})
	}
}

// A file that cannot be read is not overwritten, and its content is not guessed.
func TestABrokenSessionFileIsLeftAlone(t *testing.T) {
	folder := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(folder, "session.toml"), []byte("[rig\n"), 0o600))
	_, err := session.ReadDraft(folder)
	assert.ErrorIs(t, err, session.ErrSession)
	assert.ErrorContains(t, err, "line 1")

	// A file whose folder disappears between reading and writing is not written either.
	gone := t.TempDir()
	d, err := session.ReadDraft(gone)
	require.NoError(t, err)
	require.NoError(t, os.Remove(gone))
	assert.Error(t, d.Write(d.Propose("Wren", "plate", nil)))
}
