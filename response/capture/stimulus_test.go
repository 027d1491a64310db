package capture_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

var stimulusFormats = []struct {
	format capture.Format
	step   float64 // full scale 1; the largest error of rounding and triangular dither is 1.5 steps
	rms    float64 // dBFS of the error, Δ²/4: Lipshitz, Wannamaker, Vanderkooy 1992
}{
	{capture.Format{Bits: 16}, 1.0 / (1 << 15), 20 * math.Log10(0.5/(1<<15))},
	{capture.Format{Bits: 24}, 1.0 / (1 << 23), 20 * math.Log10(0.5/(1<<23))},
	{capture.Format{Bits: 32, Float: true}, 1.0 / (1 << 25), 0}, // half of the 24-bit significand's last place, full scale 1
}

// sox and ffmpeg decode the file independently of the code that wrote it.
func TestOtherProgramsReadTheStimulus(t *testing.T) {
	s, err := sweep.New(sweep.Config{Duration: 500 * time.Millisecond, Start: 50})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 200 * time.Millisecond, Gap: 200 * time.Millisecond})
	require.NoError(t, err)
	want := st.Channels()
	for program, arguments := range map[string][]string{
		"sox":    {"FILE", "-t", "f64", "-"},
		"ffmpeg": {"-v", "error", "-i", "FILE", "-f", "f64le", "-"},
	} {
		for _, c := range stimulusFormats {
			t.Run(program+" "+c.format.String(), func(t *testing.T) {
				if _, err := exec.LookPath(program); err != nil {
					t.Skip(program + " is not installed")
				}
				path := filepath.Join(t.TempDir(), "stimulus.wav")
				sound := &capture.Recording{SampleRate: s.SampleRate(), Channels: want, Settings: "of odd length"}
				require.NoError(t, capture.Write(path, sound, capture.WriteConfig{Format: c.format, Seed: 1}))
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
				if c.format.Float {
					assert.LessOrEqual(t, largest, c.step, "half of the last place of a 24-bit significand")
					return
				}
				assert.LessOrEqual(t, largest, 2*c.step, "1.5 steps, and half a step where full scale is a step too high")
				assert.InDelta(t, c.rms, 10*math.Log10(power), 0.05, "150 000 samples of independent error")
			})
		}
	}
}
