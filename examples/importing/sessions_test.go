package importing

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/demo"
	"example.com/earnest/examples/session"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
)

// usual completes a part of a session file that a page shows: the sections that the page leaves
// out.
var usual = []struct{ section, text string }{
	{"[headphones]", "[headphones]\nname = \"Wren\"\n"},
	{"[rig]", "[rig]\nname = \"flat plate\"\n"},
	{"[stimulus]", "[stimulus]\nseconds = 1.5\nlevel = -12\n"},
	{"[direct]", "[direct]\nfile = \"direct.wav\"\n"},
	{"[[seating]]", "[[seating]]\nleft = { file = \"first-left.wav\" }\nright = { file = \"first-right.wav\" }\n"},
}

// TestSessionsOfTheManualAreMeasured measures every part of a session file that the manual shows.
// The recordings of the demonstration are used in place of the reader's.
func TestSessionsOfTheManualAreMeasured(t *testing.T) {
	long.Skip(t)
	recordings := recordingsOfTheManual(t)
	measured := 0
	for _, name := range manual {
		for _, block := range readPage(t, filepath.Join(root(t), name)).blocks("toml") {
			folder := t.TempDir()
			require.NoError(t, os.CopyFS(folder, os.DirFS(recordings)))
			text := block
			for _, u := range usual {
				sweeps := u.section != "[headphones]" && u.section != "[rig]"
				if !strings.Contains(block, u.section) && !(sweeps && strings.Contains(block, "[[programme]]")) {
					text += "\n" + u.text
				}
			}
			require.NoError(t, os.WriteFile(filepath.Join(folder, "session.toml"), []byte(text), 0o644))
			s, err := session.Read(folder)
			if !assert.NoError(t, err, "%s:\n%s", name, text) {
				continue
			}
			results, err := s.Review(nil)
			if assert.NoError(t, err, "%s:\n%s", name, text) {
				want := 1
				if strings.Contains(text, "every_play") {
					want = 2 // the plays after the direct recording's
				}
				assert.Len(t, results.Left.Seatings, want, "%s:\n%s", name, text)
				measured++
			}
		}
	}
	assert.Greater(t, measured, 3)
}

// recordingsOfTheManual returns a folder of recordings with the names that the manual's pages use.
func recordingsOfTheManual(t *testing.T) string {
	programs.Need(t, "sox")
	made, to := t.TempDir(), t.TempDir()
	require.NoError(t, demo.Write(made, demo.Options{Seconds: 1.5, Seatings: 2, Alone: true}, func(string) {}))
	for name, from := range map[string][]string{
		"direct.wav":       {"direct.wav"},
		"evening.wav":      {"direct.wav", "seating-1.wav", "seating-2.wav"},
		"first-left.wav":   {"seating-1.wav", "remix", "1"},
		"first-right.wav":  {"seating-1.wav", "remix", "2"},
		"song-direct.wav":  {"tune-direct.wav"},
		"song-left.wav":    {"tune-through.wav", "remix", "1"},
		"song-right.wav":   {"tune-through.wav", "remix", "2"},
		"song-left-2.wav":  {"tune-through.wav", "remix", "1"},
		"song-right-2.wav": {"tune-through.wav", "remix", "2"},
	} {
		var input, effects []string
		for _, word := range from {
			if strings.HasSuffix(word, ".wav") {
				input = append(input, filepath.Join(made, word))
			} else {
				effects = append(effects, word)
			}
		}
		words := append(append(input, filepath.Join(to, name)), effects...)
		out, err := exec.Command("sox", words...).CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	stimulus := exec.Command("go", "run", "./examples/stimulus", "-seconds", "1.5", "-with", "", "-to", filepath.Join(made, "stimulus"))
	stimulus.Dir = root(t)
	out, err := stimulus.CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.NoError(t, os.Rename(filepath.Join(made, "stimulus", "stimulus.wav"), filepath.Join(to, "played.wav")))
	return to
}
