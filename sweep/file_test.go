package sweep_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"example.com/earnest/sweep"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var formats = []struct {
	format sweep.Format
	step   float64 // full scale 1; the largest error of rounding and triangular dither is 1.5 steps
	rms    float64 // dBFS of the error, Δ²/4: Lipshitz, Wannamaker, Vanderkooy 1992
}{
	{sweep.PCM16, 1.0 / (1 << 15), 20 * math.Log10(0.5/(1<<15))},
	{sweep.PCM24, 1.0 / (1 << 23), 20 * math.Log10(0.5/(1<<23))},
	{sweep.Float32, 1.0 / (1 << 25), 0}, // half of the 24-bit significand's last place, full scale 1
}

// sox and ffmpeg decode the file independently of the code that wrote it.
func TestOtherProgramsReadTheStimulus(t *testing.T) {
	s := mustNew(t, sweep.Config{Duration: 500 * time.Millisecond, Start: 50})
	st := mustStimulus(t, sweep.StimulusConfig{Sweep: s, Silence: 200 * time.Millisecond, Gap: 200 * time.Millisecond})
	want := st.Channels()
	for program, arguments := range map[string][]string{
		"sox":    {"FILE", "-t", "f64", "-"},
		"ffmpeg": {"-v", "error", "-i", "FILE", "-f", "f64le", "-"},
	} {
		for _, c := range formats {
			t.Run(program+" "+c.format.String(), func(t *testing.T) {
				if _, err := exec.LookPath(program); err != nil {
					t.Skip(program + " is not installed")
				}
				path := filepath.Join(t.TempDir(), "stimulus.wav")
				require.NoError(t, st.SaveWAV(path, c.format, false))
				command := exec.Command(program)
				for _, a := range arguments {
					if a == "FILE" {
						a = path
					}
					command.Args = append(command.Args, a)
				}
				var out, complaints bytes.Buffer
				command.Stdout, command.Stderr = &out, &complaints
				require.NoError(t, command.Run(), complaints.String())
				assert.Empty(t, complaints.String(), "it opens without a warning")
				require.Equal(t, 2*8*st.Len(), out.Len(), "two channels of float64")
				var power, largest float64
				for i := range st.Len() {
					for side := range want {
						v := math.Float64frombits(binary.LittleEndian.Uint64(out.Bytes()[8*(2*i+side):]))
						e := v - want[side][i]
						largest = max(largest, math.Abs(e))
						power += e * e / float64(2*st.Len())
					}
				}
				if c.format == sweep.Float32 {
					assert.LessOrEqual(t, largest, c.step, "half of the last place of a 24-bit significand")
					return
				}
				assert.LessOrEqual(t, largest, 2*c.step, "1.5 steps, and half a step where full scale is a step too high")
				assert.InDelta(t, c.rms, 10*math.Log10(power), 0.05, "150 000 samples of independent error")
			})
		}
	}
}

func TestFileIsTheSameEachTime(t *testing.T) {
	st := mustStimulus(t, sweep.StimulusConfig{Sweep: mustNew(t, sweep.Config{Duration: time.Second})})
	var a, b bytes.Buffer
	require.NoError(t, st.WriteWAV(&a, sweep.PCM16))
	require.NoError(t, st.WriteWAV(&b, sweep.PCM16))
	assert.Equal(t, a.Bytes(), b.Bytes())
}

func TestFileThatIsThereIsLeftAlone(t *testing.T) {
	st := mustStimulus(t, sweep.StimulusConfig{Sweep: mustNew(t, sweep.Config{Duration: time.Second})})
	path := filepath.Join(t.TempDir(), "stimulus.wav")
	require.NoError(t, os.WriteFile(path, []byte("precious"), 0o644))
	err := st.SaveWAV(path, sweep.PCM24, false)
	require.ErrorIs(t, err, fs.ErrExist)
	assert.ErrorContains(t, err, "sweep: "+path)
	kept, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "precious", string(kept))

	require.NoError(t, st.SaveWAV(path, sweep.PCM24, true))
	var want bytes.Buffer
	require.NoError(t, st.WriteWAV(&want, sweep.PCM24))
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, want.Bytes(), got)
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestFileThatCannotBeWritten(t *testing.T) {
	st := mustStimulus(t, sweep.StimulusConfig{Sweep: mustNew(t, sweep.Config{Duration: time.Second})})
	assert.ErrorContains(t, st.WriteWAV(fullDisk{}, sweep.PCM24), "sweep: stimulus: disk full")
	var b bytes.Buffer
	assert.ErrorContains(t, st.WriteWAV(&b, sweep.Format(7)), "sweep: Format(7) is no format; choose PCM24, PCM16 or Float32")
	assert.Zero(t, b.Len())
	folder := t.TempDir()
	assert.Error(t, st.SaveWAV(filepath.Join(folder, "s.wav"), sweep.Format(-1), false))
	assert.ErrorIs(t, st.SaveWAV(filepath.Join(folder, "nowhere", "s.wav"), sweep.PCM24, false), fs.ErrNotExist)
	left, err := os.ReadDir(folder)
	require.NoError(t, err)
	assert.Empty(t, left, "nothing is left half-written")
}

func BenchmarkWriteWAV(b *testing.B) {
	st := mustStimulus(b, sweep.StimulusConfig{Sweep: mustNew(b, sweep.Config{})})
	var out bytes.Buffer
	b.ReportAllocs()
	for b.Loop() {
		out.Reset()
		if err := st.WriteWAV(&out, sweep.PCM24); err != nil {
			b.Fatal(err)
		}
	}
}
