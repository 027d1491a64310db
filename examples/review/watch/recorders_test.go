package watch

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
)

// A file that another program writes in blocks of 4 kB is judged once it is complete, and not
// before.
func TestFilesOfOtherPrograms(t *testing.T) {
	long.Skip(t)
	sox, ffmpeg := programs.Need(t, "sox"), programs.Need(t, "ffmpeg")
	r := newRecorder(t)
	require.Equal(t, "Good", r.land("direct.wav", direct()).Word)
	// The seating is another each time, or it would be the same recording.
	for i, c := range []struct {
		name    string
		program []string
		piped   bool // into the test; otherwise the program writes the file, and completes its header
	}{
		{"sox.wav", []string{sox, "-", "-b", "24"}, false},
		{"sox-open.wav", []string{sox, "-t", "wav", "-", "-t", "wav", "-"}, true},
		{"sox.flac", []string{sox, "-t", "wav", "-"}, false},
		{"ffmpeg.wav", []string{ffmpeg, "-v", "error", "-i", "-", "-c:a", "pcm_s24le"}, false},
		{"ffmpeg-open.wav", []string{ffmpeg, "-v", "error", "-i", "-", "-c:a", "pcm_s24le", "-f", "wav", "pipe:1"}, true},
		{"ffmpeg.flac", []string{ffmpeg, "-v", "error", "-i", "-"}, false},
		{"ffmpeg-open.flac", []string{ffmpeg, "-v", "error", "-i", "-", "-f", "flac", "pipe:1"}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			made := filepath.Join(t.TempDir(), c.name)
			run := exec.Command(c.program[0], c.program[1:]...)
			if c.program[0] == sox && !c.piped {
				run.Args = append([]string{sox, "-t", "wav", "-"}, made)
			} else if !c.piped {
				run.Args = append(run.Args, made)
			}
			run.Stdin = bytes.NewReader(through(rig.Left, i+1, 0))
			out, err := run.Output()
			require.NoError(t, err)
			if !c.piped {
				out, err = os.ReadFile(made)
				require.NoError(t, err)
			}
			path := filepath.Join(r.folder, c.name)
			file, err := os.Create(path)
			require.NoError(t, err)
			for at := 0; at < len(out); at += 64 << 10 { // of the blocks of 4 kB a look sees every sixteenth
				for k := at; k < min(len(out), at+64<<10); k += 4 << 10 {
					_, err := file.Write(out[k:min(len(out), k+4<<10)])
					require.NoError(t, err)
				}
				r.later(200 * time.Millisecond)
				require.Equal(t, "Wait", r.shown().Word, "after %d of %d bytes", at, len(out))
			}
			require.NoError(t, file.Close())
			r.later(stillOpen)
			shown := r.shown()
			assert.NotEqual(t, "Wait", shown.Word, "within a second of the last byte")
			assert.Contains(t, shown.What, "Through the headphones, left", "%+v", shown)
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, out, after, "it is only read")
		})
	}
}
