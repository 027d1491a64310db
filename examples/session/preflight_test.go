package session

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
)

// complete names a file of every kind.
const complete = `
headphones = { name = "Finchale" }
rig = { name = "plate", microphone = "microphone.txt" }
direct = { file = "direct.wav" }
calibrator = { file = "calibrator.wav" }
impedance = { file = "impedance.wav", series = 100, reference = "reference.wav", known = 100 }
isolation = { open = "open.wav", covered = "covered.wav", background = "quiet.wav" }
spill = { beside = "beside.wav", background = "away.wav" }
[target]
file = "target.txt"
[[seating]]
left = { file = "left.wav" }
right = { file = "right.wav" }
[[rival]]
session = "rival.toml"
[[programme]]
name = "tune"
direct = { file = "tune.wav" }
through = { file = "heard.wav" }
`

// folderOf returns a folder with a session, the session of a rival, and every file that they name.
func folderOf(t *testing.T) string {
	t.Helper()
	folder := t.TempDir()
	sound := &capture.Recording{SampleRate: 48000, Format: capture.Format{Bits: 16}, Channels: [][]float64{make([]float64, 48)}}
	for _, name := range strings.Fields("direct left right calibrator impedance reference open covered quiet beside away tune heard") {
		require.NoError(t, capture.Write(filepath.Join(folder, name+".wav"), sound, capture.WriteConfig{}))
	}
	for name, text := range map[string]string{
		"session.toml": complete, "rival.toml": least,
		"microphone.txt": "20 0\n1000 0\n20000 1\n",
		"target.txt":     "# rig: plate\n20 3\n1000 0\n20000 -3\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(folder, name), []byte(text), 0o666))
	}
	return folder
}

// Faults that can be seen beforehand are reported before any recording of the stimulus is read: the
// recordings here are silence.
func TestFaultsAreForeseen(t *testing.T) {
	for _, c := range []struct {
		name, file, text string // the new content of the file; "" removes the file
		is               error
		says             []string
	}{
		{"a target that is not there", "target.txt", "", fs.ErrNotExist, []string{"[target]: ", "target.txt: file does not exist; check the name"}},
		{"a word in the target", "target.txt", "20 3\n1000 loud\n", nil, []string{"[target] file target.txt", "target.txt: line 2", "loud"}},
		{"a target of another rig", "target.txt", "# rig: an ear\n20 3\n20000 -3\n", response.ErrOtherRig,
			[]string{"[target] file target.txt", `"plate"`, `"an ear"`, "other_rig = true"}},
		{"a target beside the band", "target.txt", "# rig: plate\n2 3\n10 -3\n", nil, []string{"[target] file target.txt"}},
		{"a calibration that is not there", "microphone.txt", "", fs.ErrNotExist, []string{"[rig] microphone: ", "microphone.txt: file does not exist; check the name"}},
		{"a word in the calibration", "microphone.txt", "20 0\n1000 0\n20000 much\n", nil, []string{"[rig] microphone microphone.txt", "microphone.txt: line 3", "much"}},
		{"a calibration that does not reach the calibrator", "microphone.txt", "20 0\n100 0\n", nil, []string{"[rig] microphone microphone.txt", "20 Hz–100 Hz"}},
		{"a rival that is not there", "rival.toml", "", fs.ErrNotExist, []string{"rival rival.toml", "name a session file"}},
		{"a word in the rival", "rival.toml", strings.Replace(least, "[rig]", "[rigg]", 1), ErrSession, []string{"rival rival.toml", "line 4", `"rig"`}},
		{"a rival on another rig", "rival.toml", strings.Replace(least, "plate", "an ear", 1), response.ErrOtherRig, []string{"[[rival]]: ", `"an ear"`}},
		{"a rival without its direct recording", "rival.toml", strings.Replace(least, "direct.wav", "derict.wav", 1), fs.ErrNotExist,
			[]string{"rival rival.toml", "[direct]: ", "derict.wav"}},
		{"a direct recording that is none", "direct.wav", "words", capture.ErrNotWAV, []string{"rival rival.toml", "direct.wav"}},
		{"another pair for a target, on another rig", "session.toml", strings.Replace(strings.Replace(complete, `"plate"`, `"an ear"`, 1), `file = "target.txt"`, `pair = "rival.toml"`, 1),
			response.ErrOtherRig, []string{"[target] pair rival.toml", "other_rig = true"}},
		{"a folder for a recording", "session.toml", strings.Replace(complete, `"direct.wav"`, `"."`, 1), errNotRegular, []string{"[direct]: ", "a folder"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder := folderOf(t)
			path := filepath.Join(folder, c.file)
			require.NoError(t, os.Remove(path))
			if c.text != "" {
				require.NoError(t, os.WriteFile(path, []byte(c.text), 0o666))
			}
			s, err := Read(folder)
			require.NoError(t, err)
			var steps []string
			_, err = s.Review(func(step string) { steps = append(steps, step) })
			require.Error(t, err)
			if c.is != nil {
				assert.ErrorIs(t, err, c.is)
			}
			for _, words := range c.says {
				assert.Contains(t, err.Error(), words)
			}
			assert.Equal(t, []string{"checking the files of the session"}, steps, "%v", err)
		})
	}
}

// Every required file that is missing is named at once, with its place in the session.
func TestMissingFilesAreNamedTogether(t *testing.T) {
	folder := folderOf(t)
	for _, name := range []string{"direct.wav", "microphone.txt", "target.txt", "left.wav", "tune.wav"} {
		require.NoError(t, os.Remove(filepath.Join(folder, name)))
	}
	s, err := Read(folder)
	require.NoError(t, err)
	_, err = s.Review(nil)
	require.ErrorIs(t, err, fs.ErrNotExist)
	for _, words := range []string{"[direct]: " + s.path("direct.wav"), "[rig] microphone: " + s.path("microphone.txt"), "[target]: " + s.path("target.txt")} {
		assert.Contains(t, err.Error(), "session: "+words+": file does not exist; check the name")
	}
	assert.NotContains(t, err.Error(), "left.wav", "one of several is left out")
}

// If no fault shows beforehand, the recordings are read; they are silent, so the stimulus is not
// found.
func TestASessionWithoutVisibleFaultsIsRead(t *testing.T) {
	s, err := Read(folderOf(t))
	require.NoError(t, err)
	_, err = s.preflight()
	require.NoError(t, err)
	_, err = s.Review(nil)
	assert.Error(t, err)
}
