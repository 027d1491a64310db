package session

import (
	"encoding/binary"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

var withAnHour = flag.Bool("hour", false, "measure the memory that an hour of recording takes, too: half a minute of work")

// recordSilence writes seconds of two channels: the stimulus, and silence, which takes no space on
// the disk. It returns the number of samples.
func recordSilence(t *testing.T, path string, bits int, seconds float64) (samples float64) {
	t.Helper()
	s, err := sweep.New(sweep.Config{Duration: 2 * time.Second, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
	require.NoError(t, err)
	r := &capture.Recording{SampleRate: 48000, Channels: st.Channels()}
	format := capture.Format{Bits: min(bits, 32), Float: bits > 32}
	require.NoError(t, capture.Write(path, r, capture.WriteConfig{Format: format, NoDither: true}))
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	require.NoError(t, err)
	defer f.Close()
	head := make([]byte, 100)
	_, err = f.Read(head)
	require.NoError(t, err)
	at := strings.Index(string(head), "data")
	n := int64(seconds*48000) * 2
	data := n * int64(format.Bits/8)
	require.NoError(t, f.Truncate(int64(at)+8+data))
	for place, size := range map[int64]int64{4: int64(at) + data, int64(at) + 4: data} {
		_, err = f.WriteAt(binary.LittleEndian.AppendUint32(nil, uint32(size)), place)
		require.NoError(t, err)
	}
	return float64(n)
}

const sessionOfTwo = `
use_unfit = true
headphones = { name = "Invented" }
rig = { name = "flat plate" }
stimulus = { seconds = 2, level = -12 }
direct = { file = "direct.wav" }
[[seating]]
left = { file = "long.wav" }
right = { file = "long.wav" }
`

// The peak of memory, as reported by the system, is at most 150 MB plus 12 bytes for each sample in
// the files, whatever their width, and 400 MB for an hour; a file that is refused takes almost
// none.
func TestPeakMemory(t *testing.T) {
	long.Skip(t)
	for _, c := range []struct {
		name, how string
		bits      int
		seconds   float64
		most      float64 // MB; 0 for the rule
	}{
		{"a review, 16 bits", "review", 16, 500, 0},
		{"a review, 24 bits", "review", 24, 500, 0},
		{"a review, short", "review", 24, 30, 0},
		{"read by an importer, 32-bit float", "read", 33, 500, 0},
		{"measured by an importer, 24 bits", "measure", 24, 240, 0},
		{"2 GB", "read", 16, 10400, 50},
		{"an hour", "review", 16, 3600, 400},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.seconds == 3600 && !*withAnHour {
				t.Skip("takes half a minute of work; -args -hour runs it")
			}
			folder := t.TempDir()
			n := recordSilence(t, filepath.Join(folder, "long.wav"), c.bits, c.seconds)
			n += recordSilence(t, filepath.Join(folder, "direct.wav"), 24, 15)
			require.NoError(t, os.WriteFile(filepath.Join(folder, "session.toml"), []byte(sessionOfTwo), 0o600))
			child := exec.Command(os.Args[0], "-test.run", "^TestPeakMemoryOfThisProcess$", "-test.v")
			child.Env = append(os.Environ(), "EARNEST_MEMORY="+c.how+" "+folder)
			said, err := child.CombinedOutput()
			require.NoError(t, err, string(said))
			require.NotContains(t, string(said), "SKIP")
			most := c.most
			if most == 0 {
				most = (12*n + 150e6) / 1e6
			}
			var peak float64 // of memory that is the child's own; getrusage(2) counts what its parent held too
			_, status, _ := strings.Cut(string(said), "VmHWM:")
			_, err = fmt.Sscanf(status, "%f kB", &peak)
			require.NoError(t, err, string(said))
			peak *= 1024 / 1e6
			t.Logf("%.1f million samples, peak %.0f MB of %.0f MB", n/1e6, peak, most)
			assert.LessOrEqual(t, peak, most, "MB")
		})
	}
}

// What the child process of TestPeakMemory does.
func TestPeakMemoryOfThisProcess(t *testing.T) {
	how, folder, asked := strings.Cut(os.Getenv("EARNEST_MEMORY"), " ")
	if !asked {
		t.Skip("for the child process only")
	}
	defer func() {
		status, err := os.ReadFile("/proc/self/status") // proc(5): VmHWM is the peak of what was in memory
		require.NoError(t, err)
		t.Logf("%s", status)
	}()
	s, err := Read(folder)
	require.NoError(t, err)
	if how == "review" {
		SpareMemory()
		_, err := s.Review(nil)
		require.NoError(t, err)
		return
	}
	if how == "measure" {
		st, err := s.Played()
		require.NoError(t, err)
		direct, err := capture.Read(filepath.Join(folder, "direct.wav"))
		require.NoError(t, err)
		bench, err := review.New(review.Config{Stimulus: st, UseUnfit: true})
		require.NoError(t, err)
		_, err = bench.Direct(review.Both(direct))
		require.NoError(t, err)
		r, err := capture.Read(filepath.Join(folder, "long.wav"))
		require.NoError(t, err)
		pair := bench.Pair(review.About{Name: "Invented"})
		_, err = pair.Seat(review.Seating{Channels: review.Both(r)})
		require.NoError(t, err)
		_, err = pair.Measure()
		require.NoError(t, err)
		return
	}
	_, err = capture.Read(filepath.Join(folder, "long.wav"))
	if errors.Is(err, capture.ErrTooLarge) {
		fmt.Println(err)
		return
	}
	require.NoError(t, err)
}
