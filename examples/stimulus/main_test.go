package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/examples/session"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

func TestStimulusSheetAndSessionBelongTogether(t *testing.T) {
	to := filepath.Join(t.TempDir(), "mine")
	require.NoError(t, run([]string{"-to", to, "-seconds", "2", "-level", "-20", "-repeats", "2"}))

	s, err := session.Read(to)
	require.NoError(t, err, "the session file to fill in can be read as it is")
	stimulus, err := s.Played()
	require.NoError(t, err)
	played, err := capture.Read(filepath.Join(to, "stimulus.wav"))
	require.NoError(t, err)
	assert.Equal(t, stimulus.WholeLen(), played.Len(), "the session describes the file beside it")
	placed, err := placement.Locate(played, stimulus)
	require.NoError(t, err)
	for channel, side := range map[int]sweep.Side{1: sweep.Left, 2: sweep.Right} {
		take, err := placed.Take(channel, side)
		require.NoError(t, err)
		assert.Len(t, take.Sweeps, 2)
		assert.InDelta(t, 0, take.Start, 0.003, "locating is to a few milliseconds")
	}

	sheet, err := os.ReadFile(filepath.Join(to, "how-to-record.txt"))
	require.NoError(t, err)
	assert.Regexp(t, `(?s)^HOW TO RECORD.*Before anything is played.*Take the headphones off.*1\. Set up`, string(sheet), "cautions come first")
	assert.Contains(t, string(sheet), "-20.0 dBFS")
}

// The sweep through the inverse filter is an impulse at the end of the sweep.
func TestInverseFilter(t *testing.T) {
	to := t.TempDir()
	require.NoError(t, run([]string{"-to", to, "-inverse"}))
	inverse, err := capture.Read(filepath.Join(to, "inverse.wav"))
	require.NoError(t, err)
	s, err := session.Read(to)
	require.NoError(t, err)
	stimulus, err := s.Played()
	require.NoError(t, err)
	x, y := stimulus.Sweep().Samples(), inverse.Channels[0]
	require.Len(t, y, len(x))
	var peak float64 // of the convolution at Len() − 1, where the two overlap completely
	for i, v := range x {
		peak += v * y[len(y)-1-i]
	}
	assert.InDelta(t, 2*(20000.0-20)/48000, peak, 0.01, "the share of the band that the sweep covers, less half a per cent for the fades")
}

func TestStimulusOverwritesNothing(t *testing.T) {
	to := t.TempDir()
	kept := filepath.Join(to, "session.toml")
	require.NoError(t, os.WriteFile(kept, []byte("filled in"), 0o644))
	assert.ErrorContains(t, run([]string{"-to", to, "-seconds", "1"}), "already exists")
	text, err := os.ReadFile(kept)
	require.NoError(t, err)
	assert.Equal(t, "filled in", string(text))
	assert.NoFileExists(t, filepath.Join(to, "stimulus.wav"), "nothing half-written")
	require.NoError(t, run([]string{"-to", to, "-seconds", "1", "-replace"}))
}

func TestImpossibleStimuli(t *testing.T) {
	for _, args := range [][]string{{"-rate", "4000"}, {"-encoding", "mp3"}, {"-level", "3"}, {"-stop", "30000"}, {"-seconds", "0.001"}} {
		to := filepath.Join(t.TempDir(), "mine")
		assert.Error(t, run(append(args, "-to", to)), "%v", args)
		assert.NoDirExists(t, to)
	}
}

// TestWithMoreQuestions checks that the file states its questions, that the sheet announces each
// level after the cautions, and that the parts are found in a recording.
func TestWithMoreQuestions(t *testing.T) {
	to := t.TempDir()
	require.NoError(t, run([]string{"-to", to, "-seconds", "1", "-with", "distortion,levels,modulation,crosstalk", "-tones", "100, 315"}))
	s, err := session.Read(to)
	require.NoError(t, err)
	stimulus, err := s.Played()
	require.NoError(t, err)
	played, err := capture.Read(filepath.Join(to, "stimulus.wav"))
	require.NoError(t, err)
	require.Equal(t, stimulus.WholeLen(), played.Len())
	found := placement.FindParts(played, stimulus)
	for _, p := range stimulus.Parts() {
		assert.InDelta(t, float64(p.Start)/48000, found.At(p), 0.003, "locating is to a few milliseconds")
	}
	sheet, err := os.ReadFile(filepath.Join(to, "how-to-record.txt"))
	require.NoError(t, err)
	assert.Regexp(t, `(?s)Take the headphones off.*tone of 315 Hz at -12 dBFS.*Stop at the first rattle.*Levels rise.* -30 dBFS.*: -12 dBFS, 6 dB louder.*-louder`, string(sheet))
	assert.NotContains(t, string(sheet), "LOUDER THAN")

	require.NoError(t, run([]string{"-to", to, "-replace", "-seconds", "1", "-with", "levels", "-louder"}))
	sheet, err = os.ReadFile(filepath.Join(to, "how-to-record.txt"))
	require.NoError(t, err)
	assert.Regexp(t, `: -6 dBFS, 6 dB louder than before, LOUDER THAN THE SWEEPS`, string(sheet))
	for _, bad := range [][]string{{"-with", "warmth"}, {"-with", "levels", "-tones", "100"}, {"-with", "distortion", "-tones", "low"}, {"-louder"}} {
		assert.Error(t, run(append([]string{"-to", t.TempDir()}, bad...)), bad)
	}
}
