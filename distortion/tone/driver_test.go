package tone_test

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/distortion/tone"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// TestADriverIntegratedBySciPy simulates a driver whose force factor decreases with displacement.
// Its steady tones are analysed by SciPy's own Fourier sums. The sweep gives the same, and shows
// that the distortion rises below its resonance at 90 Hz, where displacement does.
func TestADriverIntegratedBySciPy(t *testing.T) {
	long.Skip(t)
	python := programs.Need(t, "/usr/bin/python3")
	const rate, level = 16000, -12.0
	s, err := sweep.New(sweep.Config{Start: 10, Stop: 1500, SampleRate: rate, Duration: 4 * time.Second, Level: level})
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "displacement")
	c := exec.Command(python, "testdata/driver.py", fmt.Sprintf("[%d, %v, %v, %v, %v]", rate, level, s.Start(), s.Stop(), s.TimeConstant()), path)
	c.Stderr = os.Stderr
	printed, err := c.Output()
	require.NoError(t, err)
	var truth [][5]float64
	require.NoError(t, json.Unmarshal(printed, &truth))
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	x := make([]float64, len(data)/8)
	for i := range x {
		x[i] = math.Float64frombits(binary.LittleEndian.Uint64(data[8*i:]))
	}
	swept := append(make([]float64, rate/2), x[len(truth)*rate:]...)
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Longest: time.Duration(float64(len(swept)) / rate * float64(time.Second)), Orders: 5})
	require.NoError(t, err)
	separated, err := d.Separate(swept)
	require.NoError(t, err)
	hs, err := distortion.Harmonics(separated, distortion.Config{Orders: 5})
	require.NoError(t, err)
	for i, row := range truth {
		f := row[0]
		r, err := tone.Analyse(x[i*rate:(i+1)*rate], rate, tone.Config{Frequency: f})
		require.NoError(t, err)
		for n := 2; n <= 3; n++ {
			assert.InDelta(t, row[n-1], r.Harmonics[n-2].AsRead, 0.02, "%v Hz, order %d", f, n) // dB; SciPy's steps
			if bySweep := hs.Harmonic(n, f).AsRead; f >= 40 {
				assert.InDelta(t, row[n-1], bySweep, 0.5, "%v Hz, order %d, by the sweep", f, n) // dB; the sweep passes a resonance
			}
		}
	}
	assert.Greater(t, truth[0][2], truth[5][2]+30, "dB: the third harmonic rises below the resonance")
}
