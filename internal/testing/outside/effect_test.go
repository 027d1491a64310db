package outside

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/biquad"
)

// effect is a device: its arguments for each program, and its response.
type effect struct {
	sox    []string // effects with their arguments
	ffmpeg string   // filters, separated by commas
	// response is that at a frequency in Hz, without the delay; nil if it is 1.
	response func(f float64) complex128
	delay    float64 // samples
	// At most one of these is set, and makes the effect nonlinear.
	noise *noise
	curve *curve
}

// filter returns a biquad of the cookbook at a sample rate in Hz.
func filter(shape biquad.Shape, f, q, gain float64, rate int) effect {
	// The programs get the drawn values to six digits, and so does the truth.
	f, q, gain = rounded(f), rounded(q), rounded(gain)
	b := biquad.New(shape, f, q, gain, float64(rate))
	e := effect{response: func(f float64) complex128 { return b.Response(f, float64(rate)) }}
	width, name := fmt.Sprintf("%gq", q), ""
	switch shape {
	case biquad.Peaking:
		name = "equalizer"
		e.sox = []string{name, fmt.Sprint(f), width, fmt.Sprint(gain)}
	case biquad.LowShelf, biquad.HighShelf:
		name = map[biquad.Shape]string{biquad.LowShelf: "bass", biquad.HighShelf: "treble"}[shape]
		e.sox = []string{name, fmt.Sprint(gain), fmt.Sprint(f), width}
		// ffmpeg's shelves have √(2A) α where the cookbook has 2√A α: their Q is the
		// cookbook's over √2 (libavfilter/af_biquads.c, from memory; measured here).
		q /= math.Sqrt2
	case biquad.LowPass, biquad.HighPass:
		name = map[biquad.Shape]string{biquad.LowPass: "lowpass", biquad.HighPass: "highpass"}[shape]
		e.sox = []string{name, "-2", fmt.Sprint(f), width}
		e.ffmpeg = fmt.Sprintf("%s=f=%g:t=q:w=%g", name, f, q)
		return e
	}
	e.ffmpeg = fmt.Sprintf("%s=f=%g:t=q:w=%.9g:g=%g", name, f, q, gain)
	return e
}

func rounded(x float64) float64 {
	scale := math.Pow(10, 5-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*scale) / scale
}

// gain returns a gain in dB.
func gain(level float64) effect {
	level = rounded(level)
	g := complex(math.Pow(10, level/20), 0)
	return effect{
		sox: []string{"vol", fmt.Sprintf("%gdB", level)}, ffmpeg: fmt.Sprintf("volume=%gdB:precision=double", level),
		response: func(float64) complex128 { return g },
	}
}

// delay returns a delay by a number of samples.
func delay(samples int) effect {
	return effect{sox: []string{"pad", fmt.Sprintf("%ds", samples)}, ffmpeg: fmt.Sprintf("adelay=%dS:all=1", samples), delay: float64(samples)}
}

// quarters returns a delay by quarters of a sample, at four times the sample rate.
func quarters(n, rate int) effect {
	return effect{
		sox: there(rate, 4*rate, "pad", fmt.Sprintf("%ds", n)), ffmpeg: thereFFmpeg(rate, 4*rate, fmt.Sprintf("adelay=%dS:all=1", n)),
		delay: float64(n) / 4,
	}
}

// resampled returns a conversion to another sample rate and back. It changes nothing below nine
// tenths of half the lower rate.
func resampled(rate, other int) effect {
	return effect{sox: there(rate, other), ffmpeg: thereFFmpeg(rate, other, "")}
}

// there returns an effect of sox at another sample rate.
func there(rate, other int, inner ...string) []string {
	return append(append([]string{"rate", "-v", fmt.Sprint(other)}, inner...), "rate", "-v", fmt.Sprint(rate))
}

// thereFFmpeg returns a filter of ffmpeg at another sample rate. The longer filter keeps the band
// level up to 20 kHz at 44.1 kHz.
func thereFFmpeg(rate, other int, inner string) string {
	const quality = "filter_size=256:phase_shift=12:cutoff=0.97"
	if inner != "" {
		inner += ","
	}
	return fmt.Sprintf("aresample=%d:%s,%saresample=%d:%s", other, quality, inner, rate, quality)
}

// noise is white and uniform between −amplitude and amplitude: its power is a third of amplitude².
type noise struct {
	amplitude float64
	seed      uint32
}

func added(level float64, seed uint32) effect {
	return effect{noise: &noise{rounded(math.Pow(10, level/20) * math.Sqrt(3)), seed}}
}

// product returns the response of effects at f Hz, with the delay.
func product(effects []effect, f float64, rate int) complex128 {
	h := complex(1, 0)
	for _, e := range effects {
		if e.response != nil {
			h *= e.response(f)
		}
		if e.delay != 0 {
			h *= cmplx.Rect(1, -2*math.Pi*f*e.delay/float64(rate))
		}
	}
	return h
}
