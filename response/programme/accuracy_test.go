//go:build !race

package programme_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response/programme"
	"example.com/earnest/smoothing"
)

var (
	draws = flag.Int("draws", 2, "noise draws in the test of the 95 % intervals; 100 take a minute or two")
	first = flag.Uint64("seed", 0, "seed of the first of these draws")
)

// weighed holds the spectra from which the true difference in a band follows: those of the
// material, over segments of the length that the comparison uses there.
type weighed struct {
	spectra map[int]*programme.Spectra
	x, y    []float64 // the material, and the material after the filter alone
	fs      float64
}

func newWeighed(x, filtered []float64, fs int) *weighed {
	return &weighed{map[int]*programme.Spectra{}, x, filtered[:len(x)], float64(fs)}
}

// truth returns the difference in dB between the filtered material and the material in the band,
// without noise, delay or drift.
func (w *weighed) truth(c *programme.Comparison, b programme.BandLevel) float64 {
	n := int(math.Round(c.Segment(b.Centre) * w.fs))
	if w.spectra[n] == nil {
		w.spectra[n] = programme.Welch(w.x, w.y, w.fs, n, n/4)
	}
	s := w.spectra[n]
	var before, after float64
	for k := range s.Direct {
		low, high := (float64(k)-0.5)*w.fs/float64(n), (float64(k)+0.5)*w.fs/float64(n)
		if part := min(high, b.High) - max(low, b.Low); part > 0 {
			before += part * s.Direct[k]
			after += part * s.Through[k]
		}
	}
	return 10 * math.Log10(after/before)
}

// Recorded material through a filter by sox, with noise at −50 dB, an arbitrary start and gain, and
// 40 ppm of drift.
func TestRecordedMaterialThroughSox(t *testing.T) {
	race.Skip(t)
	for _, c := range []struct{ name, file string }{
		{"read speech", "8297-275156-0011.flac"},
		{"music", "257344.flac"},
	} {
		t.Run(c.name, func(t *testing.T) {
			x, fs := recorded(t, c.file)
			filtered := sox(t, x, fs, "gain", "-8.5", "equalizer", "2500", "2q", "-6", "bass", "+4", "105", "equalizer", "5000", "3q", "5")
			const begin = 4321
			y := sox(t, append(make([]float64, begin), filtered...), fs, "pad", "0", "0.2", "speed", "0.99996", "rate", "-v", "-s")
			y = withNoise(y, 50, 1)
			got := compare(t, x, y, fs, programme.Config{})
			ppm := (1/0.99996 - 1) * 1e6
			assert.InDelta(t, ppm, got.Alignment.Clock.Drift, 0.05, "0.05 ppm is 0.02 samples over 8 s at 48 kHz")
			assert.InDelta(t, begin*(1+ppm*1e-6), got.Alignment.Delay*float64(fs), 0.02, "samples; what is asked for")
			assert.False(t, got.Alignment.Inverted)
			w := newWeighed(x, filtered, fs)
			known := 0
			for _, b := range got.Bands(3) {
				if b.Known && b.Coherence > 0.95 {
					known++
					assert.InDelta(t, w.truth(got, b), b.Difference, 0.02+3*b.Uncertainty, "%v Hz; 0.2 dB is asked for", b.Nominal)
				}
			}
			assert.Greater(t, known, 20, "third octaves")
			assert.Greater(t, got.Covered, 0.99)
		})
	}
}

func withNoise(y []float64, snr float64, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 5))
	noise := math.Sqrt(power(y)) * math.Pow(10, -snr/20)
	out := slices.Clone(y)
	for i := range out {
		out[i] += noise * random.NormFloat64()
	}
	return out
}

func power(x []float64) (p float64) {
	for _, v := range x {
		p += v * v / float64(len(x))
	}
	return p
}

// The 95 % intervals hold the truth in 93 to 97 % of third octaves, whatever the material.
func TestIntervalsHoldTheTruth(t *testing.T) {
	long.Skip(t)
	speech, speechRate := recorded(t, "8297-275156-0011.flac")
	tune, tuneRate := recorded(t, "257344.flac")
	const fs = 16000
	for _, c := range []struct {
		name string
		x    []float64
		fs   int
		snr  float64
	}{
		{"recorded speech", speech, speechRate, 50},
		{"recorded music", tune, tuneRate, 50},
		{"recorded speech in noise", speech, speechRate, 20},
		{"an invented voice", rig.Speech(fs, 8, 1)[0], fs, 50},
		{"an invented tune", rig.Music(fs, 8, 1)[0], fs, 50},
		{"pink noise", pink(8*fs, fs, 1), fs, 50},
		{"bursts and silence", bursts(10*fs, fs, 0.4, 1), fs, 50},
	} {
		t.Run(c.name, func(t *testing.T) {
			share, all := coverage(t, c.x, c.fs, c.snr)
			t.Logf("%.1f %% of %.0f third octaves, %d draws", 100*share, all, *draws)
			// Neighbouring third octaves share the bin between them, so each counts as half an
			// independent one at worst. The allowance is 3 standard errors of a binomial share;
			// from 100 draws on there is none.
			slack := 3 * math.Sqrt(0.95*0.05/(all/2))
			if *draws >= 100 {
				slack = 0
			}
			assert.InDelta(t, 0.95, share, 0.02+slack)
		})
	}
}

// coverage returns the share of third octaves whose intervals hold the truth over the draws of
// noise, and the number of third octaves.
func coverage(t *testing.T, x []float64, fs int, snr float64) (share, all float64) {
	d := device{filter: headphones(float64(fs)), gain: 0.7, ppm: 40, start: 4321.37, tail: 3000, fine: true}
	clean := d.through(x)
	filtered := slices.Clone(x)
	d.filter.Apply(filtered)
	w := newWeighed(x, filtered, fs)
	var inside float64
	for draw := range *draws {
		c := compare(t, x, withNoise(clean, snr, *first+uint64(draw)), fs, programme.Config{})
		for _, b := range c.Bands(3) {
			if b.Known && !math.IsNaN(b.HalfWidth95) {
				all++
				if math.Abs(b.Difference-20*math.Log10(0.7)-w.truth(c, b)) < without(b.HalfWidth95, 1.96*b.Unresolved) {
					inside++
				}
			}
		}
	}
	require.Greater(t, all, 15*float64(*draws), "most bands state an interval")
	return inside / all, all
}

// without removes a component from a root sum of squares. The truth is that of the segments
// themselves, so their length is no error here.
func without(all, part float64) float64 { return math.Sqrt(all*all - part*part) }

// pink returns noise of about −3 dB per octave: first-order low-pass noises an octave apart.
func pink(count, fs int, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 4))
	x := make([]float64, count)
	var low [12]float64
	for i := range x {
		for k := range low {
			a := math.Exp(-2 * math.Pi * 20000 * math.Exp2(-float64(k)) / float64(fs))
			low[k] = a*low[k] + (1-a)*random.NormFloat64()*math.Exp2(float64(k)/2)
			x[i] += 0.02 * low[k]
		}
	}
	return x
}

// bursts returns bursts of noise of 30 ms and of uneven level, on average apart seconds apart, and
// near silence between them.
func bursts(count, fs int, apart float64, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 3))
	x := make([]float64, count)
	n := int(0.03 * float64(fs))
	for at := 0.1; at < float64(count)/float64(fs)-0.1; at += apart * (0.5 + random.Float64()) {
		level := 0.1 * math.Exp(0.7*random.NormFloat64())
		var low float64
		for j := range n {
			low += 0.1 * (random.NormFloat64() - low)
			x[int(at*float64(fs))+j] = level * (3*low + random.NormFloat64()) * (1 - math.Cos(2*math.Pi*float64(j)/float64(n)))
		}
	}
	for i := range x {
		x[i] += 1e-6 * random.NormFloat64()
	}
	return x
}

// Leakage across the ends of segments is the same whatever the noise: it moves no level and widens
// no interval.
func TestRingingAcrossSegmentsIsNotUncertainty(t *testing.T) {
	x, fs := recorded(t, "8297-275156-0011.flac")
	d := device{filter: headphones(float64(fs)), gain: 1, start: 4321}
	filtered := slices.Clone(x)
	d.filter.Apply(filtered)
	w := newWeighed(x, filtered, fs)
	c := compare(t, x, d.through(x), fs, programme.Config{})
	for _, b := range c.Bands(3) {
		require.True(t, b.Known, "%v Hz", b.Nominal)
		assert.InDelta(t, w.truth(c, b), b.Difference, 0.002, "%v Hz: second order, (τ/T)² of 2 ms in 0.5 s, and the ends of the recording", b.Nominal)
		assert.Less(t, without(b.Uncertainty, b.Unresolved), 0.003, "%v Hz", b.Nominal)
		if b.Nominal > 100 {
			assert.False(t, b.Residual > -50, "%v Hz: %v dB; NaN without a residual", b.Nominal, b.Residual)
		}
	}
}

// Ten bursts in ten seconds suffice to estimate the drift.
func TestClockFromFewBursts(t *testing.T) {
	long.Skip(t)
	const fs = 16000
	for seed := range uint64(4) {
		x := bursts(10*fs, fs, 1.2, seed+1)
		d := device{gain: 0.7, start: 4321.37, ppm: 40, tail: 3000, fine: true}
		a := compare(t, x, withNoise(d.through(x), 50, seed), fs, programme.Config{}).Alignment
		assert.InDelta(t, 40, a.Clock.Drift, 0.03, "0.03 ppm is 0.005 samples over 10 s at 16 kHz")
		assert.InDelta(t, 4321.37*(1+40e-6), a.Delay*fs, 0.005, "samples; a quarter of the required accuracy")
	}
}

func TestInventedMaterial(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	for i, c := range []struct {
		name   string
		x      []float64
		device device
	}{
		{"music, begins before", music(6, 1), device{gain: 0.3, ppm: 40, start: 12345.37, snr: 50, tail: 3000}},
		{"music, begins late", music(6, 2), device{gain: 2, ppm: -90, start: -70000.81, snr: 50, tail: 3000}},
		{"music turned over", music(6, 3), device{gain: -0.05, start: 1000, snr: 50}},
		{"voice, fast clock", rig.Speech(fs, 6, 1)[0], device{gain: 0.3, ppm: 250, start: 40000.5, snr: 40, tail: 9000}},
		{"voice in noise", rig.Speech(fs, 6, 2)[0], device{gain: 1, ppm: -250, start: 17.25, snr: 25}},
	} {
		if !long.Enabled() && i != 1 && i != 3 {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			d := c.device
			d.filter = headphones(fs)
			got := compare(t, c.x, d.through(c.x), fs, programme.Config{})
			a := got.Alignment
			assert.Equal(t, d.gain < 0, a.Inverted)
			assert.InDelta(t, d.ppm, a.Clock.Drift, 0.02+4*a.Clock.Uncertainty)
			assert.InDelta(t, d.start*(1+d.ppm*1e-6), a.Delay*fs, 0.02, "samples")
			checked := 0
			for f := 60.0; f < 15000; f *= 1.3 {
				p := got.At(f)
				if !p.Known || p.Coherence < 0.95 {
					continue
				}
				checked++
				h := d.filter.Response(f, fs)
				level := 20 * math.Log10(math.Hypot(real(h), imag(h))*math.Abs(d.gain))
				assert.InDelta(t, level, 10*math.Log10(real(p.H1)*real(p.H1)+imag(p.H1)*imag(p.H1)), 0.1+3*p.RandomError, "%.0f Hz", f)
				turned := p.H1 * complex(real(h), -imag(h))
				assert.InDelta(t, 0, math.Atan2(imag(turned), real(turned)), 0.03+0.4*p.RandomError, "phase in radians at %.0f Hz", f)
			}
			assert.Greater(t, checked, 12)
		})
	}
}

// The residual is the level of the noise that was added.
func TestResidualIsTheNoise(t *testing.T) {
	const fs = 48000
	x := music(7, 4)
	d := device{filter: headphones(fs), gain: 0.5, start: 999.4, ppm: 40}
	clean := d.through(x)
	const level = -62.0 // dBFS rms, white to half the sample rate
	random := rand.New(rand.NewPCG(8, 8))
	y := slices.Clone(clean)
	for i := range y {
		y[i] += math.Pow(10, level/20) * random.NormFloat64()
	}
	got := compare(t, x, y, fs, programme.Config{})
	checked := 0
	var noise, all float64 // A-weighted powers where the residual is known
	for _, b := range got.Bands(3) {
		if !math.IsNaN(b.Residual) {
			weight := math.Pow(10, smoothing.AWeighting(b.Centre)/10)
			noise += weight * math.Pow(10, level/10) * (b.High - b.Low) / (fs / 2)
			all += weight * math.Pow(10, b.Through/10)
		}
		if b.Centre < 200 || b.Centre > 15000 {
			continue
		}
		checked++
		want := level + 10*math.Log10((b.High-b.Low)/(fs/2))
		assert.InDelta(t, want, b.Through+b.Residual, 1, "%v Hz: the noise's own scatter and 0.5 dB that the segments' ends add", b.Nominal)
	}
	assert.Equal(t, 18, checked)
	assert.InDelta(t, 10*math.Log10(noise/all), got.ResidualLevel, 1, "the same")
}

// No filter explains the action of a compressor, and no sweep shows it.
func TestResidualOfADeviceThatBends(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	x := music(6, 5)
	bent := make([]float64, len(x))
	for i, v := range x {
		bent[i] = v - 0.6*v*v*v
	}
	straight := compare(t, x, x, fs, programme.Config{})
	crooked := compare(t, x, bent, fs, programme.Config{})
	assert.Less(t, straight.ResidualLevel, -80.0, "the interpolator errs by −88 dB at most")
	assert.Greater(t, crooked.ResidualLevel, -45.0)
}
