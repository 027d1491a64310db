//go:build !race

package loudness

import (
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/response/capture"
)

// processor is how long this process has worked on the processors.
func processor(t *testing.T) time.Duration {
	var usage syscall.Rusage
	require.NoError(t, syscall.Getrusage(syscall.RUSAGE_SELF, &usage))
	return time.Duration(usage.Utime.Nano() + usage.Stime.Nano())
}

// Ten minutes of two channels, read from a file and measured with their true peak, by the time on
// the processors: at most four times what ffmpeg's ebur128 takes in the same run.
func TestTenMinutesAgainstFFmpeg(t *testing.T) {
	long.Skip(t)
	ffmpeg := programs.Need(t, "ffmpeg")
	x := tones(48000, [2]float64{-18, 200}, [2]float64{-27, 200}, [2]float64{-23, 200})
	path := filepath.Join(t.TempDir(), "material.wav")
	require.NoError(t, capture.Write(path, &capture.Recording{SampleRate: 48000, Channels: [][]float64{x, x}},
		capture.WriteConfig{Format: capture.Format{Bits: 24}}))
	command := exec.Command(ffmpeg, "-hide_banner", "-nostats", "-i", path, "-filter_complex", "ebur128=peak=true", "-f", "null", "-")
	said, err := command.CombinedOutput()
	require.NoError(t, err, string(said))
	theirs := command.ProcessState.UserTime() + command.ProcessState.SystemTime()
	before := processor(t)
	recording, err := capture.Read(path)
	require.NoError(t, err)
	_, err = Measure(recording.Channels, recording.SampleRate)
	require.NoError(t, err)
	ours := processor(t) - before
	t.Logf("here %v, ffmpeg %v: %.2f times", ours, theirs, ours.Seconds()/theirs.Seconds())
	assert.Less(t, ours.Seconds(), 4*theirs.Seconds(), "what is asked")
}
