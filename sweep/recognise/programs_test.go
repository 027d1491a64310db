package recognise_test

import (
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/programs"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep/recognise"
)

// Sweeps of other programs, by the formulas in their documentation:
//
//	scipy.signal.chirp  logarithmic: cos(2π β f0 ((f1/f0)^(t/T) − 1) + φ), β = T / ln(f1/f0)
//	                    linear: cos(2π (f0 t + (f1 − f0) t²/2T) + φ)
//	sox synth           sine f0/f1: sin(2π β f0 (f1/f0)^(t/T)), as its output shows; f0:f1: linear
//	ffmpeg aevalsrc     as the expression says
func TestSweepsOfOtherPrograms(t *testing.T) {
	race.Skip(t)
	const seconds, start, stop = 3.0, 20.0, 20000.0
	l := seconds / math.Log(stop/start)
	exponential := func(at float64) float64 { return start * l * math.Expm1(at/l) }
	linear := func(at float64) float64 { return start*at + (stop-start)*at*at/2/seconds }
	shifted := func(law func(float64) float64, turns float64) func(float64) float64 {
		return func(at float64) float64 { return law(at) + turns }
	}
	chirp := func(method string, phi float64) []string {
		return []string{"/usr/bin/python3", "-c", fmt.Sprintf(`
import sys, numpy, scipy.signal, scipy.io.wavfile
t = numpy.arange(%d) / 48000
x = 0.5 * scipy.signal.chirp(t, %g, %g, %g, method=%q, phi=%g)
scipy.io.wavfile.write(sys.argv[1], 48000, x.astype(numpy.float32))`, int(seconds*48000), start, seconds, stop, method, phi)}
	}
	sox := func(bits, law string) []string {
		return []string{"sox", "-D", "-n", "-r", "48000", "-b", bits, "FILE", "synth", "3", "sine", law, "gain", "-6"}
	}
	for name, c := range map[string]struct {
		kind recognise.Kind
		law  func(at float64) float64
		run  []string
	}{
		"scipy, logarithmic":           {recognise.ExponentialSweep, shifted(exponential, 0.25), chirp("logarithmic", 0)},
		"scipy, logarithmic, 77°":      {recognise.ExponentialSweep, shifted(exponential, (90+77)/360.0), chirp("logarithmic", 77)},
		"scipy, logarithmic, -90°":     {recognise.ExponentialSweep, exponential, chirp("logarithmic", -90)},
		"scipy, linear, 200°":          {recognise.LinearSweep, shifted(linear, (90+200)/360.0), chirp("linear", 200)},
		"sox, exponential":             {recognise.ExponentialSweep, shifted(exponential, start*l), sox("24", "20/20000")},
		"sox, exponential, 16 bits":    {recognise.ExponentialSweep, shifted(exponential, start*l), sox("16", "20/20000")},
		"sox, linear":                  {recognise.LinearSweep, linear, sox("24", "20:20000")},
		"ffmpeg, exponential from 30°": {recognise.ExponentialSweep, shifted(exponential, 30/360.0), ffmpeg(fmt.Sprintf("0.5*sin(PI/6+2*PI*20*%[1]v*(exp(t/%[1]v)-1))", l))},
		"ffmpeg, linear":               {recognise.LinearSweep, linear, ffmpeg("0.5*sin(2*PI*(20*t+3330*t*t))")},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got := one(t, madeBy(t, c.run))
			require.Equal(t, c.kind, got.Kind)
			assert.InDelta(t, 1, got.Certainty, 1e-3, "the first few periods of a linear sweep")
			assert.InDelta(t, start, got.Start, 0.1, "the first sample may be 0")
			assert.InDelta(t, stop, got.Stop, 1e-3, "to 1e-6 of a period at its end")
			assert.Less(t, got.Unexplained, -75.0, "16 bits")
			assert.Zero(t, got.FadeIn)
			assert.Zero(t, got.FadeOut)
			for _, at := range []float64{0, 0.5, 1.5, 2.5, 2.999} {
				in := at - float64(got.From)/48000
				turns := start*in + (got.Stop-got.Start)*in*in/2/(float64(got.Len)/48000)
				if c.kind == recognise.ExponentialSweep {
					turns = got.Start * got.TimeConstant * math.Expm1(in/got.TimeConstant)
				}
				assert.InDelta(t, 0, math.Remainder(c.law(at)-turns-got.Phase/(2*math.Pi), 1), 1e-6, "at %g s: what is asked for", at)
			}
		})
	}
}

// The fades of sox: logarithmic (the default), quarter and half sine, straight and parabola.
func TestFadesOfOtherPrograms(t *testing.T) {
	race.Skip(t)
	for _, shape := range []string{"l", "q", "h", "t", "p"} {
		got := one(t, madeBy(t, []string{"sox", "-D", "-R", "-n", "-r", "48000", "-b", "24", "FILE", "synth", "3", "sine", "20/20000", "gain", "-12", "fade", shape, "0.02", "3", "0.01"}))
		require.Equal(t, recognise.ExponentialSweep, got.Kind, shape)
		assert.InDelta(t, 0.02, got.FadeIn, 0.0005, "%s: s", shape)
		assert.InDelta(t, 0.01, got.FadeOut, 0.0005, "%s: s", shape)
		assert.InDelta(t, 20, got.Start, 0.01, "%s: Hz; the fade hides the first period", shape)
		assert.InDelta(t, 20000, got.Stop, 0.1, "%s: Hz", shape)
		assert.Empty(t, got.Doubt, shape)
	}
}

func ffmpeg(expression string) []string {
	return []string{"ffmpeg", "-v", "error", "-f", "lavfi", "-i", "aevalsrc=" + expression + ":s=48000:d=3", "-c:a", "pcm_s24le", "FILE"}
}

// madeBy runs a program that writes a file, and reads the file.
func madeBy(t *testing.T, run []string) []float64 {
	t.Helper()
	run = append([]string(nil), run...)
	run[0] = programs.Need(t, run[0])
	file, placed := filepath.Join(t.TempDir(), "made.wav"), false
	for i := range run {
		if run[i] == "FILE" {
			run[i], placed = file, true
		}
	}
	if !placed {
		run = append(run, file)
	}
	said, err := exec.Command(run[0], run[1:]...).CombinedOutput()
	require.NoError(t, err, string(said))
	rec, err := capture.Read(file)
	require.NoError(t, err)
	return rec.Channels[0]
}

func TestNoiseAndSequencesOfOtherPrograms(t *testing.T) {
	long.Skip(t)
	pink := one(t, madeBy(t, []string{"sox", "-D", "-R", "-n", "-r", "48000", "-b", "24", "FILE", "synth", "5", "pinknoise"}))
	assert.Equal(t, recognise.Noise, pink.Kind)
	assert.InDelta(t, -3.01, pink.Slope, 0.15, "a sum of steps, not quite pink; 50 frames")
	// scipy.signal.max_len_seq(16) has the taps 15, 13, 4.
	sequence := one(t, madeBy(t, []string{"/usr/bin/python3", "-c", `
import sys, numpy, scipy.signal, scipy.io.wavfile
scipy.io.wavfile.write(sys.argv[1], 48000, (0.5 - scipy.signal.max_len_seq(16)[0]).astype(numpy.float32))`}))
	assert.Equal(t, recognise.MaximumLength, sequence.Kind)
	assert.Equal(t, []int{16, 15, 13, 4, 0}, sequence.Taps)
}
