package tone_test

import (
	"cmp"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/response"
)

func TestMultitoneAsPlayed(t *testing.T) {
	for name, c := range map[string]tone.MultitoneConfig{
		"usual":  {},
		"sixths": {Level: -10, PerOctave: 6, Low: 100, Period: 4096},
		"96 kHz": {SampleRate: 96000, Low: 200, High: 40000, Period: 4096},
	} {
		t.Run(name, func(t *testing.T) {
			m, err := tone.NewMultitone(c)
			require.NoError(t, err)
			x := m.Samples()
			steady, err := tone.Steady(x, cmp.Or(c.SampleRate, 48000))
			require.NoError(t, err)
			top := peak(x)
			assert.LessOrEqual(t, dB(top), c.Level+0.05, "the peak between samples is found to 0.5 %")
			assert.Greater(t, dB(top), c.Level-1.5, "samples miss the peak by less")
			r, err := m.Analyse(steady, tone.Config{})
			require.NoError(t, err)
			require.Len(t, r.Tones, len(m.Tones()))
			for i, f := range m.Tones() {
				assert.InDelta(t, f, r.Tones[i].Frequency, 1e-6, "double precision")
				assert.InDelta(t, r.Tones[0].Value, r.Tones[i].Value, 1e-6, "all alike; double precision")
			}
			rmsWanted := math.Sqrt(float64(len(m.Tones()))/2) * math.Pow(10, r.Tones[0].Value/20)
			assert.InDelta(t, rmsWanted, rms(steady[:len(steady)/2]), 0.02*rmsWanted, "not a whole number of periods")
			assert.Less(t, r.Total.TDPlusN.Value, -150.0, "nothing is there but the tones")
		})
	}
}

// The peak between samples, the tones added up term by term on a grid of 64 points to a period of the
// highest: the level asked for.
func TestPeakOfTheSumIsTheLevelAskedFor(t *testing.T) {
	const n = 64 * 107
	m, err := tone.NewMultitone(tone.MultitoneConfig{SampleRate: 8000, Low: 300, High: 3400, Period: 256, Level: -3})
	require.NoError(t, err)
	r, err := m.Analyse(m.Samples()[8000+256:][:8*256], tone.Config{})
	require.NoError(t, err)
	var top float64
	for i := range n {
		var v float64
		for k, component := range r.Tones {
			j := float64(k)
			v += math.Pow(10, component.Value/20) *
				math.Cos(2*math.Pi*m.Tones()[k]*256/8000*float64(i)/n+math.Pi*j*j/float64(len(r.Tones)))
		}
		top = max(top, math.Abs(v))
	}
	assert.InDelta(t, -3, dB(top), 0.09, "both grids miss up to 0.5 %%")
}

// What a polynomial adds, by summing the transform of one period term by term.
func TestMultitoneThroughAPolynomialByDirectDFT(t *testing.T) {
	const fs, period = 48000, 2048
	m, err := tone.NewMultitone(tone.MultitoneConfig{Low: 200, High: 5000, Period: period, Level: -3, Silence: 200 * time.Millisecond, Periods: 20})
	require.NoError(t, err)
	played := m.Samples()
	bent := through(played, 0, 1, 0.01, 0.003)
	first := 9600 + period
	spectrum := make([]float64, period/2)
	for k := range spectrum {
		var z complex128
		for i, v := range bent[first : first+period] {
			z += complex(v, 0) * cmplx.Rect(2./period, -2*math.Pi*float64(k*i%period)/period)
		}
		spectrum[k] = real(z)*real(z)/2 + imag(z)*imag(z)/2
	}
	var tones float64
	for _, f := range m.Tones() {
		k := int(math.Round(f * period / fs))
		tones += spectrum[k]
		spectrum[k] = 0
	}
	within := func(b response.Band) (power float64, lines int) {
		for k, p := range spectrum {
			if f := float64(k) * fs / period; b.Contains(f) {
				power += p
				lines++
			}
		}
		return power / tones, lines
	}
	r, err := m.Analyse(bent[first:first+16*period], tone.Config{Band: response.Band{Low: 100, High: 15000}})
	require.NoError(t, err)
	checked := 0
	for _, b := range r.Bands {
		near := false
		for _, edge := range []float64{b.Low, b.High} {
			d := math.Abs(math.Remainder(edge, float64(fs)/period))
			near = near || d < 4 // Hz: a line's main lobe is cut by the edge
		}
		want, lines := within(b.Band)
		if near || lines == 0 || !b.Distortion.Known() {
			continue
		}
		checked++
		assert.InDelta(t, 10*math.Log10(want), b.TDPlusN.Value, 0.02, "%v; Hann sidelobes beyond 2.5 bins", b.Band)
		assert.InDelta(t, 10*math.Log10(want), b.Distortion.Value, 0.02, "%v", b.Band)
	}
	assert.Greater(t, checked, 5)
	want, _ := within(response.Band{Low: 100, High: 15000})
	assert.InDelta(t, 10*math.Log10(want), r.Total.TDPlusN.Value, 0.02, "all of it")
	assert.True(t, r.Total.Distortion.Known())
}

// Noise and distortion are told apart, by another clock as well.
func TestMultitoneNoiseApartFromDistortion(t *testing.T) {
	const fs, period, noise = 48000, 4096, 1e-4
	m, err := tone.NewMultitone(tone.MultitoneConfig{Low: 100, High: 5000, Period: period, Level: -3})
	require.NoError(t, err)
	const a = 0.085
	for _, ppm := range []float64{0, 90} {
		var partials []partial
		for i, f := range m.Tones() {
			partials = append(partials, partial{f * (1 + ppm*1e-6), a, float64(i * i)})
		}
		clean := sum(8*period, fs, partials...)
		quiet, err := m.Analyse(through(clean, 0, 1, 0.01), tone.Config{})
		require.NoError(t, err)
		r, err := m.Analyse(noisy(through(clean, 0, 1, 0.01), noise, 1), tone.Config{})
		require.NoError(t, err)
		assert.InDelta(t, m.Tones()[3]*(1+ppm*1e-6), r.Tones[3].Frequency, 1e-3, "the clock is followed")
		tones := float64(len(partials)) * a * a / 2
		want := 10 * math.Log10(noise*noise*(20000.-20)/24000/tones)
		assert.InDelta(t, want, r.Total.Noise, 0.2, "the noise between 20 Hz and 20 kHz")
		require.True(t, r.Total.Distortion.Known())
		assert.InDelta(t, quiet.Total.Distortion.Value, r.Total.Distortion.Value, 4*r.Total.Distortion.Uncertainty, "%v", r.Total.Distortion)
		assert.Less(t, r.Total.Distortion.Uncertainty, 0.3)
		high := r.Bands[len(r.Bands)-1]
		assert.True(t, high.Distortion.Below, "the square of tones to 5 kHz ends at 10 kHz")
		assert.False(t, high.Distortion.Known())
		assert.InDelta(t, high.Noise, high.TDPlusN.Value, 0.5, "all of it is noise")

		short, err := m.Analyse(noisy(through(clean, 0, 1, 0.01), noise, 1)[:3*period], tone.Config{})
		require.NoError(t, err)
		assert.True(t, math.IsNaN(short.Total.Noise), "three periods leave no bin between the multiples")
		assert.False(t, short.Total.Distortion.Known())
		assert.True(t, short.Total.TDPlusN.Known())
	}
}

// Two clocks at the ends of what crystals do: the highest tone is nine bins off.
func TestMultitoneByAnotherClock(t *testing.T) {
	const fs, period, fast = 48000, 8192, 1 + 250e-6
	m, err := tone.NewMultitone(tone.MultitoneConfig{Low: 50, Period: period})
	require.NoError(t, err)
	var partials []partial
	for i, f := range m.Tones() {
		partials = append(partials, partial{f * fast, 0.02, float64(i * i)})
	}
	r, err := m.Analyse(noisy(sum(9*period, fs, partials...), 1e-6, 1), tone.Config{})
	require.NoError(t, err)
	for i, f := range m.Tones() {
		assert.InDelta(t, f*fast, r.Tones[i].Frequency, 1e-3, "a thousandth of a bin")
		assert.InDelta(t, dB(0.02), r.Tones[i].Value, 1e-3, "80 dB above the noise in one bin")
	}
	assert.True(t, r.Total.Distortion.Below)
}

func TestMultitoneRefusals(t *testing.T) {
	for name, c := range map[string]tone.MultitoneConfig{
		"sample rate": {SampleRate: 1}, "level": {Level: 1}, "upside down": {Low: 100, High: 50}, "above half": {High: 30000},
		"per octave": {PerOctave: 100}, "period": {Period: 100}, "a period too short": {Low: 20, Period: 1024},
		"periods": {Periods: 1}, "silence": {Silence: -1}, "one tone": {Low: 990, High: 1010},
	} {
		_, err := tone.NewMultitone(c)
		assert.ErrorContains(t, err, "tone: ", name)
	}
	m, err := tone.NewMultitone(tone.MultitoneConfig{Low: 100, Period: 4096})
	require.NoError(t, err)
	_, err = m.Analyse(make([]float64, 8000), tone.Config{})
	assert.ErrorIs(t, err, tone.ErrTooShort)
	_, err = m.Analyse(noisy(make([]float64, 48000), 0.1, 1), tone.Config{})
	assert.ErrorIs(t, err, tone.ErrAbsent)
	_, err = m.Analyse(sum(48000, 48000, partial{1000, 0.5, 0}), tone.Config{})
	require.ErrorIs(t, err, tone.ErrAbsent)
	assert.ErrorContains(t, err, "1 kHz at -6.0 dBFS")
}

// TestRepeatingTonesMadeElsewhere: three tones and one product, 60 dB below their power, in noise.
func TestRepeatingTonesMadeElsewhere(t *testing.T) {
	const rate, period = 48000, 8192
	random := rand.New(rand.NewPCG(3, 4))
	x := make([]float64, 9*period)
	for i := range x {
		at := func(k float64) float64 { return math.Sin(2 * math.Pi * k * float64(i) / period) }
		x[i] = 0.1*(at(51)+at(171)+at(341)) + 0.1*math.Sqrt(3)*1e-3*at(222) + 1e-6*random.NormFloat64()
	}
	base := float64(rate) / period
	r, err := tone.Repeating(rate, period, []float64{51 * base, 171 * base, 341 * base}).Analyse(x, tone.Config{})
	require.NoError(t, err)
	assert.InDelta(t, -60, r.Total.Distortion.Value, 0.05) // dB; noise
}
