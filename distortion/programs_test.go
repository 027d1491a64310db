package distortion_test

import (
	"math"
	"math/cmplx"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/wav"
	"example.com/earnest/sweep"
)

// At 96 kHz the relevant harmonics of tones up to 2 kHz do not fold.
var programSweep = sweep.Config{Start: 40, Stop: 3000, SampleRate: 96000, Duration: 2 * time.Second, Level: -6}

// tones are steady tones after the sweep in the same file; each lies on a bin of the analysed part.
var tones = []float64{100, 250, 1000, 2000}

const (
	toneSeconds = 0.5 // of each tone
	lookSeconds = 0.2 // analysed, at its end
)

// TestSweepAgainstSteadyTonesThroughOtherPrograms runs a sweep and steady tones of its level
// through effects of other programs, and expects the harmonics of both to agree. They are equal for
// a memoryless device. So are they with a filter before or after it that the sweep passes slowly.
func TestSweepAgainstSteadyTonesThroughOtherPrograms(t *testing.T) {
	race.Skip(t)
	t.Parallel()
	for _, row := range []struct {
		name    string
		program string
		args    []string // after the input file
		note    string   // why they agree
	}{
		{"sox overdrive", "sox", []string{"-e", "floating-point", "-b", "32", "OUT", "overdrive", "6", "30"},
			"a cubic with an offset, followed by a DC blocker at 76 Hz; both pass it alike"},
		{"sox compand, instantaneous", "sox", []string{"-e", "floating-point", "-b", "32", "OUT", "compand", "0,0", "6:-40,-40,-20,-20,0,-12"},
			"attack and decay of zero make a memoryless curve of it"},
		{"sox compand, riding", "sox", []string{"-e", "floating-point", "-b", "32", "OUT", "compand", "0.002,0.05", "6:-40,-40,-20,-20,0,-12"},
			"its gain follows the envelope, which a sweep keeps as steady as a tone does; it ripples within a period of both"},
		{"ffmpeg asoftclip tanh", "ffmpeg", []string{"-af", "asoftclip=type=tanh", "-c:a", "pcm_f64le", "OUT"}, "memoryless"},
		{"ffmpeg asoftclip cubic", "ffmpeg", []string{"-af", "asoftclip=type=cubic", "-c:a", "pcm_f64le", "OUT"}, "memoryless"},
		{"ffmpeg asoftclip exp, then a shelf", "ffmpeg", []string{"-af", "asoftclip=type=exp,bass=g=-4:f=200", "-c:a", "pcm_f64le", "OUT"},
			"a filter after it moves level and phase of harmonics and fundamental, of both alike"},
	} {
		t.Run(row.name, func(t *testing.T) {
			t.Parallel()
			s := newSweep(t, programSweep)
			out := process(t, row.program, row.args, programSignal(s))
			length := len(blank(s))
			hs, err := distortion.Harmonics(separate(t, s, 8, out[:length]), distortion.Config{Orders: 8})
			require.NoError(t, err)
			var compared int
			var worst float64
			for k, f := range tones {
				end := length + int(toneSeconds*float64(k+1)*96000)
				steady := toneHarmonics(out[:end], f, 8)
				for n := 2; n <= 8; n++ {
					if steady[n] < -75 {
						continue // rounding to 32 bits, and folding from the twentieth harmonic on, are near
					}
					compared++
					worst = max(worst, math.Abs(steady[n]-hs.Harmonic(n, f).AsRead))
					assert.InDelta(t, steady[n], hs.Harmonic(n, f).AsRead, 0.2, "order %d of %g Hz", n, f) // a usual requirement for two methods
				}
			}
			assert.GreaterOrEqual(t, compared, 4) // of a cubic, only the third order exists
			t.Logf("%d levels compared, off by %.3f dB at most: %s", compared, worst, row.note)
		})
	}
}

// programSignal returns the sweep followed by the tones.
func programSignal(s *sweep.Sweep) []float64 {
	x := withHarmonics(s)
	for _, f := range tones {
		for i := range int(toneSeconds * 96000) {
			x = append(x, s.Amplitude()*math.Sin(2*math.Pi*f*float64(i)/96000))
		}
	}
	return x
}

// toneHarmonics returns the levels of the harmonics of f relative to it at the
// end of a signal, each by a single bin of the discrete Fourier transform over a
// whole number of periods.
func toneHarmonics(x []float64, f float64, orders int) []float64 {
	look := x[len(x)-int(lookSeconds*96000):]
	level := make([]float64, orders+1)
	for n := orders; n >= 0; n-- {
		var bin complex128
		for i, v := range look {
			bin += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*float64(n)*f*float64(i)/96000)
		}
		level[n] = 20 * math.Log10(cmplx.Abs(bin))
	}
	for n := 2; n <= orders; n++ {
		level[n] -= level[1]
	}
	return level
}

// process runs a signal at 96 kHz through a program.
func process(t *testing.T, program string, args []string, x []float64) []float64 {
	path, err := exec.LookPath(program)
	if err != nil {
		t.Skipf("%s is not installed", program)
	}
	in, out := filepath.Join(t.TempDir(), "in.wav"), filepath.Join(t.TempDir(), "out.wav")
	f, err := os.Create(in)
	require.NoError(t, err)
	require.NoError(t, wav.Write(f, 96000, [][]float64{x}, wav.Options{Format: wav.Format{Bits: 32, Float: true}}))
	require.NoError(t, f.Close())
	command := []string{"-D", in} // without dither
	if program == "ffmpeg" {
		command = []string{"-nostdin", "-loglevel", "error", "-i", in}
	}
	for _, a := range args {
		if a == "OUT" {
			a = out
		}
		command = append(command, a)
	}
	message, err := exec.Command(path, command...).CombinedOutput()
	require.NoError(t, err, "%s", message)
	b, err := os.Open(out)
	require.NoError(t, err)
	defer b.Close()
	info, err := b.Stat()
	require.NoError(t, err)
	file, err := wav.Read(b, info.Size(), 1<<30)
	require.NoError(t, err)
	require.Len(t, file.Channels[0], len(x))
	return file.Channels[0]
}
