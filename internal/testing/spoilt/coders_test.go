package spoilt

import (
	"fmt"
	"math"
	"os/exec"
	"path/filepath"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/response/capture"
)

// lowRate converts to a lower rate and back, with a filter that is steep, gentle, or linear
// interpolation.
func lowRate(s *session) (string, spoiling) {
	rate, width := one(s, 44100, 32000, 32000, 24000, 22050, 16000), s.logBetween(0.01, 0.25)
	if rate >= s.rate {
		rate = 32000
	}
	if s.chance(0.2) {
		return s.struck(fmt.Sprintf("%d Hz, straight lines", rate), func(x [][]float64) [][]float64 {
			out := make([][]float64, len(x))
			for k := range x {
				out[k] = straight(convolvedAt(x[k], lowPass(float64(rate)/2*0.95, 0.1, s.rate)), float64(s.rate)/float64(rate))
			}
			return out
		})
	}
	return s.struck(fmt.Sprintf("%d Hz, over %.0f %%", rate, 100*width), func(x [][]float64) [][]float64 {
		taps := lowPass(float64(rate)/2*(1-width/2), width, s.rate)
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = convolvedAt(x[k], taps)
		}
		return out
	})
}

// lowPass returns a low-pass that is half down at a cutoff in Hz, over a width as a share of it, 90
// dB down.
func lowPass(cutoff, width float64, rate int) []float64 {
	c := cutoff / float64(rate)
	half := int(math.Ceil((90 - 7.95) / 14.36 / (c * width) / 2)) // Kaiser 1974
	taps, beta := make([]float64, 2*half+1), interpolate.Beta(90)
	for i := range taps {
		n := float64(i - half)
		taps[i] = 2 * c * interpolate.Sinc(2*c*n) * interpolate.Kaiser(n/float64(half+1), beta)
	}
	return taps
}

// convolvedAt returns x through a filter of an odd length, without its delay.
func convolvedAt(x, taps []float64) []float64 {
	half := len(taps) / 2
	return convolved(append(append([]float64(nil), x...), make([]float64, half)...), taps)[half:]
}

// straight interpolates linearly between samples that are step apart.
func straight(x []float64, step float64) []float64 {
	at := func(t float64) float64 {
		i := min(int(t), len(x)-2)
		return x[i] + (t-float64(i))*(x[i+1]-x[i])
	}
	out := make([]float64, len(x))
	for i := range out {
		t := float64(i) / step
		a := math.Floor(t)
		last := float64(len(x) - 2)
		out[i] = (1-(t-a))*at(min(a*step, last)) + (t-a)*at(min((a+1)*step, last))
	}
	return out
}

// coder sends the signal through a program's coder and back.
func coder(codec, suffix string, kilobits ...int) func(*session) (string, spoiling) {
	return func(s *session) (string, spoiling) {
		rate := one(s, kilobits...)
		return s.struck(fmt.Sprintf("%d kbit/s", rate), func(x [][]float64) [][]float64 {
			folder := s.TempDir()
			in, coded, out := filepath.Join(folder, "in.wav"), filepath.Join(folder, "coded"+suffix), filepath.Join(folder, "out.wav")
			require.NoError(s, capture.Write(in, &capture.Recording{SampleRate: s.rate, Channels: x}, capture.WriteConfig{Format: capture.Format{Bits: 32, Float: true}}))
			codedRate := min(s.rate, 48000)
			if codec == "libopus" {
				codedRate = 48000 // it knows no 44.1 kHz
			}
			for _, c := range [][]string{{"-i", in, "-ar", fmt.Sprint(codedRate), "-c:a", codec, "-b:a", fmt.Sprint(rate, "k"), coded},
				{"-i", coded, "-ar", fmt.Sprint(s.rate), "-c:a", "pcm_f32le", out}} {
				said, err := exec.Command("ffmpeg", append([]string{"-nostdin", "-loglevel", "error", "-y"}, c...)...).CombinedOutput()
				require.NoError(s, err, "%s", said)
			}
			back, err := capture.Read(out)
			require.NoError(s, err)
			for k := range back.Channels {
				n := copy(x[k], back.Channels[k])
				clear(x[k][n:])
			}
			return x
		})
	}
}

// simulatedCoder removes bands that louder neighbours mask, and all above a cutoff, and quantises
// the rest coarsely.
func simulatedCoder(s *session) (string, spoiling) {
	cutoff, masked, coarse := s.logBetween(10000, 20000), s.between(-60, -20), s.between(-40, -10)
	return s.struck(fmt.Sprintf("%.0f Hz, masking from %.0f dB, coarse by %.0f dB", cutoff, masked, coarse), func(x [][]float64) [][]float64 {
		const n = 2048
		out := make([][]float64, len(x))
		for k := range x {
			out[k] = framed(x[k], n, func(_ int, bins []complex128) { code(bins, float64(s.rate)/n, cutoff, masked, coarse) })
		}
		return out
	})
}

// code codes a frame, bin Hz to a bin, in bands of a sixth of an octave and at least four bins.
func code(bins []complex128, bin, cutoff, masked, coarse float64) {
	type band struct {
		from, to int
		level    float64
	}
	var bands []band
	for from := 1; from < len(bins); {
		to := min(len(bins), max(from+4, int(float64(from)*math.Exp2(1.0/6))))
		b := band{from: from, to: to}
		for _, v := range bins[from:to] {
			b.level += fft.Power(v) / float64(to-from)
		}
		bands = append(bands, b)
		from = to
	}
	threshold := 0.0
	for _, b := range bands {
		threshold = max(threshold*amplitude(-20), b.level*amplitude(2*masked)) // 10 dB a band upwards
		step := math.Sqrt(b.level) * amplitude(coarse)
		for k := b.from; k < b.to; k++ {
			if float64(k)*bin > cutoff || b.level < threshold {
				bins[k] = 0
			} else if step > 0 {
				bins[k] = complex(step*math.Round(real(bins[k])/step), step*math.Round(imag(bins[k])/step))
			}
		}
	}
}
