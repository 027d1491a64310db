//go:build !race

package rig

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

func TestLatencyIsThePhaseSlope(t *testing.T) {
	for _, latency := range []float64{0, 1, 612, 0.5, 612.3, 1000.987} {
		r := Rig{SampleRate: fs, Latency: latency}
		x := tones(2*fs, 0.1, 1000, 1010, 20000, 20010)
		y := r.Direct([][]float64{x, x})[Right]
		assert.Len(t, y, 2*fs+int(math.Ceil(latency)))
		end := 2*fs - 100 // the tones stop at 2 s, and that rings
		for _, f := range []float64{1000, 20000} {
			turn := cmplx.Phase(lastSecond(y, end, f+10) / lastSecond(y, end, f))
			// The phase difference over 10 Hz gives the delay, up to multiples of 4800 samples.
			delay := math.Mod(-turn/(2*math.Pi*10)*fs+4800+1, 4800) - 1
			assert.InDelta(t, latency, delay, 0.05, "samples, at %v Hz; the ripple of the windowed sinc over 10 Hz", f)
			// The phase itself gives it accurately, up to whole periods.
			h := lastSecond(y, end, f) / 0.1 * cmplx.Rect(1, 2*math.Pi*f*latency/fs)
			assert.InDelta(t, 0, cmplx.Abs(h-1), 2.3e-5, "%v Hz; 0.0002 dB, as the documentation states, and 0.00001 samples at 20 kHz", f)
		}
	}
}

// The gain of a delayed tone up to the edge that the documentation states.
func TestFractionalDelayIsFlat(t *testing.T) {
	worst := 0.0
	for _, fraction := range []float64{0.1, 0.25, 0.5, 0.77} {
		p := paths{{fraction / fs, 1}}
		taps, first := p.taps(fs)
		for f := 0.0; f <= 0.45; f += 0.001 {
			var h complex128
			for i, v := range taps {
				h += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*f*(float64(first+i)-fraction))
			}
			worst = max(worst, cmplx.Abs(h-1))
		}
	}
	t.Logf("worst error of a fractional delay: %.2g", worst)
	assert.Less(t, worst, 2.3e-5, "0.0002 dB; stated in the package's documentation")
}

func TestDriftMovesTones(t *testing.T) {
	for _, drift := range []float64{-120, -1, 0, 33, 1000} {
		r := Rig{SampleRate: fs, Drift: drift, Latency: 100.25}
		x := tones(4*fs, 0.1, 5000)
		y := r.Direct([][]float64{x, x})[Left]
		assert.InDelta(t, (4*fs+100.25)*(1+drift*1e-6), len(y), 1, "a fast clock takes more samples")
		// The bin of 5 kHz turns by the difference in each second.
		turn := cmplx.Phase(lastSecond(y, 3*fs, 5000) / lastSecond(y, 2*fs, 5000))
		want := 5000/(1+drift*1e-6) - 5000
		got := turn/(2*math.Pi) + math.Round(want-turn/(2*math.Pi))
		assert.InDelta(t, want, got, 1e-4, "Hz; 0.02 ppm, leakage of the tone's mirror")
	}
}

func TestDriftIsAccurate(t *testing.T) {
	for _, f := range []float64{100, 1000, 10000, 20000, 21600} {
		x := tones(fs, 1, f)
		const ratio, delay = 1 + 77e-6, 40.4
		y := resampled(x, ratio, delay, fs)
		worst := 0.0
		for i := 200; i < fs-200; i++ {
			want := math.Sin(2 * math.Pi * f / fs * (float64(i)/ratio - delay))
			worst = max(worst, math.Abs(y[i]-want))
		}
		t.Logf("%6v Hz: %.1f dB", f, 20*math.Log10(worst))
		assert.Less(t, 20*math.Log10(worst), -97.0, "%v Hz; level, phase and images together, as the documentation states", f)
	}
}

func TestNoiseHasItsLevel(t *testing.T) {
	silence := [][]float64{make([]float64, 10*fs), make([]float64, 10*fs)}
	for _, pink := range []float64{0, 0.3, 1} {
		r := Rig{SampleRate: fs, Seed: 5, Noise: Noise{Level: -70, Pink: pink}}
		for _, x := range r.Direct(silence) {
			assert.InDelta(t, -70, 20*math.Log10(rms(x)), 0.15, "pink %v; 3 standard deviations; the lowest octaves have few values", pink)
		}
	}
	r := Rig{SampleRate: fs, Noise: Noise{Level: -70}, Room: Noise{Level: -70, Pink: 0.5}}
	assert.InDelta(t, -70+10*math.Log10(2), 20*math.Log10(rms(r.Through(Headphones{}, 0, silence)[Left])), 0.15, "two equal powers")
}

func TestPinkNoiseHasEqualOctaves(t *testing.T) {
	r := Rig{SampleRate: fs, Seed: 2, Noise: Noise{Level: -40, Pink: 1}}
	const block = 8192
	plan, power := fourier.NewFFT(block), make([]float64, block/2+1)
	x := r.Direct([][]float64{make([]float64, 60*block), make([]float64, 60*block)})[Left]
	for start := 0; start < len(x); start += block {
		for k, v := range plan.Coefficients(nil, x[start:start+block]) {
			power[k] += real(v)*real(v) + imag(v)*imag(v)
		}
	}
	octave := func(k int) float64 {
		var sum float64
		for i := k; i < 2*k; i++ {
			sum += power[i]
		}
		return 10 * math.Log10(sum)
	}
	for k := 16; k <= 1024; k *= 2 { // 94 Hz to 12 kHz
		assert.InDelta(t, octave(128), octave(k), 0.8, "octave from %.0f Hz; the filter's ripple and the scatter of 1000 bins", float64(k)*fs/block)
	}
}

func TestHumAndDC(t *testing.T) {
	r := Rig{SampleRate: fs, Hum: Hum{Frequency: 50, Level: -60, Harmonics: []float64{-10, -4}}, DC: 0.001}
	x := r.Direct([][]float64{make([]float64, fs), make([]float64, fs)})[Left]
	for f, want := range map[float64]float64{50: -60, 100: -70, 150: -64} {
		assert.InDelta(t, want, dB(lastSecond(x, fs, f)), 1e-6, "rounding")
	}
	assert.InDelta(t, 0.001, real(lastSecond(x, fs, 0)), 1e-9, "rounding")
	assert.Less(t, dB(lastSecond(x, fs, 200)), -200.0)
	low := Rig{SampleRate: 8000, Hum: Hum{Frequency: 3000, Level: -60, Harmonics: []float64{0}}}
	assert.InDelta(t, math.Pow(10, -3)/math.Sqrt2, rms(low.Direct([][]float64{make([]float64, 8000), make([]float64, 8000)})[Left]), 1e-9,
		"6 kHz is beyond half of 8 kHz and left out")
}

func TestRecorderClips(t *testing.T) {
	r := Rig{SampleRate: fs, DirectGain: 6}
	x := tones(fs, 0.9, 100)
	assert.Equal(t, 1.0, loudest(r.Direct([][]float64{x, x})[Left]))
}

func TestSameCallSameSamples(t *testing.T) {
	h, rivals, r := Demonstration()
	r.Drift = 12
	stimulus := Music(fs, 0.3, 3)
	first := r.Through(h, 2, stimulus)
	assert.True(t, same(first, r.Through(h, 2, stimulus)))
	assert.True(t, same(r.Direct(stimulus), r.Direct(stimulus)))
	assert.False(t, same(first, r.Through(h, 3, stimulus)), "another seating")
	assert.False(t, same(first, r.Through(rivals[0], 2, stimulus)), "another pair")
	r.Seed++
	assert.False(t, same(first, r.Through(h, 2, stimulus)), "another seed")
	assert.True(t, same(Music(fs, 0.3, 3), stimulus), "the stimulus is left alone")
}

func TestImpossibleConfigurationsPanic(t *testing.T) {
	good := [][]float64{{0}, {0}}
	rows := map[string]func(){
		"one channel":      func() { Rig{SampleRate: fs}.Direct(good[:1]) },
		"unequal channels": func() { Rig{SampleRate: fs}.Direct([][]float64{{0}, {0, 0}}) },
		"no sample rate":   func() { Rig{}.Through(Headphones{}, 0, good) },
		"early":            func() { Rig{SampleRate: fs, Latency: -1}.Single(Headphones{}, Left, 0, good) },
		"absurd drift":     func() { Rig{SampleRate: fs, Drift: 1e6}.Direct(good) },
		"loud noise":       func() { Rig{SampleRate: fs, Noise: Noise{Level: 3}}.Direct(good) },
		"pinker than pink": func() { Rig{SampleRate: fs, Noise: Noise{Level: -3, Pink: 2}}.Direct(good) },
	}
	for name, call := range rows {
		t.Run(name, func(t *testing.T) { require.Panics(t, call) })
	}
	assert.Equal(t, [][]float64{{}, {}}, Rig{SampleRate: fs}.Direct([][]float64{nil, nil}), "nothing played, nothing recorded")
}

// loudest returns the largest magnitude in x.
func loudest(x []float64) float64 { return floats.Norm(x, math.Inf(1)) }
