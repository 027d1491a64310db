package tone_test

import (
	"math"
	"math/cmplx"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/response"
)

func TestMultitoneWithoutDistortion(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		tones, x := many(4096, rate, 100, 0.4*float64(rate), 8)
		r, err := tone.AnalyseMultitone(x[:len(x)-100], rate, 4096, tones, tone.Config{})
		require.NoError(t, err)
		require.Len(t, r.Tones, len(tones))
		for i, f := range tones {
			assert.InDelta(t, f, r.Tones[i].Frequency, 1e-6, "double precision")
			assert.InDelta(t, dB(0.02), r.Tones[i].Value, 1e-6, "double precision")
		}
		assert.Less(t, r.Total.TDPlusN.Value, -150.0, "nothing is there but the tones")
	}
}

// The distortion by a polynomial, from the transform of one period summed term by term.
func TestMultitoneThroughAPolynomialByDirectDFT(t *testing.T) {
	const fs, period = 48000, 2048
	tones, played := many(period, fs, 200, 5000, 16)
	floats.Scale(2.5, played)
	bent := through(played, 0, 1, 0.01, 0.003)
	spectrum := make([]float64, period/2)
	for k := range spectrum {
		var z complex128
		for i, v := range bent[:period] {
			z += complex(v, 0) * cmplx.Rect(2./period, -2*math.Pi*float64(k*i%period)/period)
		}
		spectrum[k] = real(z)*real(z)/2 + imag(z)*imag(z)/2
	}
	var power float64
	for _, f := range tones {
		k := int(math.Round(f * period / fs))
		power += spectrum[k]
		spectrum[k] = 0
	}
	within := func(b response.Band) (share float64, lines int) {
		for k, p := range spectrum {
			if f := float64(k) * fs / period; b.Contains(f) {
				share += p / power
				lines++
			}
		}
		return share, lines
	}
	r, err := tone.AnalyseMultitone(bent, fs, period, tones, tone.Config{Band: response.Band{Low: 100, High: 15000}})
	require.NoError(t, err)
	checked := 0
	for _, b := range r.Bands {
		near := false
		for _, edge := range []float64{b.Low, b.High} {
			d := math.Abs(math.Remainder(edge, float64(fs)/period))
			near = near || d < 4 // Hz: the edge cuts a line's main lobe
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

// Noise and distortion are separated, also on another clock.
func TestMultitoneNoiseApartFromDistortion(t *testing.T) {
	race.Skip(t)
	const fs, period, noise = 48000, 4096, 1e-4
	tones, _ := many(period, fs, 100, 5000, 1)
	const a = 0.085
	for _, ppm := range []float64{0, 90} {
		var partials []partial
		for i, f := range tones {
			partials = append(partials, partial{f * (1 + ppm*1e-6), a, float64(i * i)})
		}
		clean := sum(8*period, fs, partials...)
		quiet, err := tone.AnalyseMultitone(through(clean, 0, 1, 0.01), fs, period, tones, tone.Config{})
		require.NoError(t, err)
		r, err := tone.AnalyseMultitone(noisy(through(clean, 0, 1, 0.01), noise, 1), fs, period, tones, tone.Config{})
		require.NoError(t, err)
		assert.InDelta(t, tones[3]*(1+ppm*1e-6), r.Tones[3].Frequency, 1e-3, "the clock is followed")
		power := float64(len(partials)) * a * a / 2
		want := 10 * math.Log10(noise*noise*(20000.-20)/24000/power)
		assert.InDelta(t, want, r.Total.Noise, 0.2, "the noise between 20 Hz and 20 kHz")
		require.True(t, r.Total.Distortion.Known())
		assert.InDelta(t, quiet.Total.Distortion.Value, r.Total.Distortion.Value, 4*r.Total.Distortion.Uncertainty, "%v", r.Total.Distortion)
		assert.Less(t, r.Total.Distortion.Uncertainty, 0.3)
		high := r.Bands[len(r.Bands)-1]
		assert.True(t, high.Distortion.Below, "the square of tones to 5 kHz ends at 10 kHz")
		assert.False(t, high.Distortion.Known())
		assert.InDelta(t, high.Noise, high.TDPlusN.Value, 0.5, "all of it is noise")

		short, err := tone.AnalyseMultitone(noisy(through(clean, 0, 1, 0.01), noise, 1)[:3*period], fs, period, tones, tone.Config{})
		require.NoError(t, err)
		assert.True(t, math.IsNaN(short.Total.Noise), "three periods leave no bin between the multiples")
		assert.False(t, short.Total.Distortion.Known())
		assert.True(t, short.Total.TDPlusN.Known())
	}
}

// The largest difference of two crystals: the highest tone is nine bins off.
func TestMultitoneByAnotherClock(t *testing.T) {
	const fs, period, fast = 48000, 8192, 1 + 250e-6
	tones, _ := many(period, fs, 50, 20000, 1)
	var partials []partial
	for i, f := range tones {
		partials = append(partials, partial{f * fast, 0.02, float64(i * i)})
	}
	r, err := tone.AnalyseMultitone(noisy(sum(9*period, fs, partials...), 1e-6, 1), fs, period, tones, tone.Config{})
	require.NoError(t, err)
	for i, f := range tones {
		assert.InDelta(t, f*fast, r.Tones[i].Frequency, 1e-3, "a thousandth of a bin")
		assert.InDelta(t, dB(0.02), r.Tones[i].Value, 1e-3, "80 dB above the noise in one bin")
	}
	assert.True(t, r.Total.Distortion.Below)
}

func TestMultitoneRefusals(t *testing.T) {
	tones, x := many(4096, 48000, 100, 15000, 4)
	refused := func(x []float64, period int, tones []float64) error {
		_, err := tone.AnalyseMultitone(x, 48000, period, tones, tone.Config{})
		return err
	}
	assert.ErrorContains(t, refused(x, 0, tones), "a period of 0 samples")
	assert.ErrorContains(t, refused(x, 4096, nil), "0 tones")
	assert.ErrorContains(t, refused(x, 4096, []float64{1000, 500}), "rising multiples of 11.7188 Hz")
	assert.ErrorContains(t, refused(x, 4096, []float64{30000}), "below half the sample rate")
	assert.ErrorContains(t, refused(x, 4096, []float64{math.NaN()}), "a tone at NaN Hz")
	assert.ErrorIs(t, refused(x[:8000], 4096, tones), tone.ErrTooShort)
	assert.ErrorIs(t, refused(noisy(make([]float64, 48000), 0.1, 1), 4096, tones), tone.ErrAbsent)
	err := refused(sum(48000, 48000, partial{1000, 0.5, 0}), 4096, tones)
	require.ErrorIs(t, err, tone.ErrAbsent)
	assert.ErrorContains(t, err, "1 kHz at -6.0 dBFS")
}
