package level_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// limited clips samples at a level.
func limited(x []float64, at float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = max(-at, min(at, v))
	}
	return out
}

// peak returns the largest magnitude of samples.
func peak(x []float64) (most float64) {
	for _, v := range x {
		most = max(most, math.Abs(v))
	}
	return most
}

// muted sets the third quarter of samples to zero.
func muted(x []float64) []float64 {
	out := append([]float64(nil), x...)
	clear(out[len(x)/2 : 3*len(x)/4])
	return out
}

// fading multiplies samples by a gain that changes exponentially over the recording, by some dB.
func fading(x []float64, by float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = v * amplitude(by*float64(i)/float64(len(x)))
	}
	return out
}

// with returns samples of which one has another value.
func with(x []float64, at int, v float64) []float64 {
	out := append([]float64(nil), x...)
	out[at] = v
	return out
}

// What a reviewer can do wrong while measuring impedance is named. By circuit theory, 300 Ω or more
// behind 100 Ω with exchanged channels in both recordings would read 50 Ω without a word: (4/3)/2
// of 1/2 is the ratio of 50 Ω.
func TestImpedanceOfWrongRecordings(t *testing.T) {
	source, across := bridge(dynamic, 100, 0, 5.12, 1e-5, 1)
	knownSource, knownAcross := bridge(resistor, 100, 0, 5.12, 1e-5, 10)
	for _, c := range []struct {
		name                     string
		source, load, refS, refL []float64
		series, known            float64
		want                     error
		says                     string
	}{
		{"channels exchanged in both", across, source, knownAcross, knownSource, 100, 100, level.ErrSwapped, "where 0.5 times is expected"},
		{"channels exchanged in the reference", source, across, knownAcross, knownSource, 100, 100, level.ErrSwapped, "where 0.5 times is expected"},
		{"load and resistor exchanged", knownSource, knownAcross, source, across, 100, 100, level.ErrUnequal, "exchange the two recordings"},
		{"one recording for both", source, across, source, across, 100, 100, level.ErrUnequal, "are one recording"},
		{"a tenth of the resistor stated", source, across, knownSource, knownAcross, 10, 100, level.ErrSwapped, "measure both resistors"},
		{"the source clipped", limited(scaled(source, 6), 1), scaled(across, 6), nil, nil, 100, 0, level.ErrInput, "samples are clipped"},
		{"the load clipped ahead of the converter", source, limited(across, 0.6*peak(across)), knownSource, knownAcross, 100, 100, level.ErrInput, "clipped below full scale"},
		{"a recorder with level control on one channel", source, fading(across, -6), nil, nil, 100, 0, level.ErrInput, "level control"},
		{"a sample that is not a number", source, with(across, 48, math.NaN()), nil, nil, 100, 0, level.ErrInput, "load channel cannot be used: the sample at 0.001 s is NaN"},
		{"a sample that is infinite", with(source, 48, math.Inf(1)), across, nil, nil, 100, 0, level.ErrInput, "source channel cannot be used: the sample at 0.001 s is +Inf"},
		{"a plug that is shorted by a hair", source, scaled(source, 0.05/100.05), nil, nil, 100, 0, level.ErrShorted, "the load is shorted"},
		{"an absurd resistor", source, across, nil, nil, 1e12, 0, level.ErrSeriesResistor, "10 Ω to 1 kΩ"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := level.Divider{Series: exact(c.series, level.Ohm), Known: exact(c.known, level.Ohm)}
			r, err := level.RatioFromNoise(c.source, c.load, rate)
			if err == nil && c.refS != nil {
				d.Reference, err = level.RatioFromNoise(c.refS, c.refL, rate)
			}
			if err == nil {
				_, err = d.Impedance(r)
			}
			require.ErrorIs(t, err, c.want)
			assert.ErrorContains(t, err, c.says)
		})
	}
	t.Run("a resistor of another value than stated gets a finding", func(t *testing.T) { // 20 log10 (1/2)/(47/147) = 3.88 dB, and 0.42 dB of the inputs
		d := level.Divider{Series: exact(100, level.Ohm), Known: exact(47, level.Ohm)}
		var err error
		d.Reference, err = level.RatioFromNoise(knownSource, knownAcross, rate)
		require.NoError(t, err)
		r, err := level.RatioFromNoise(source, across, rate)
		require.NoError(t, err)
		z, err := d.Impedance(r)
		require.NoError(t, err)
		require.Len(t, z.Findings, 1)
		assert.Equal(t, level.UnequalChannels, z.Findings[0].Kind)
		assert.Contains(t, z.Findings[0].What, "differ by 4.3 dB")
	})
}

// Noise of equal power in both channels does not bias the ratio, 0.9 here. With a signal-to-noise
// ratio of 20 dB in the source, Sxy/Sxx would be 1/1.01 of it (Bendat & Piersol, ch. 9; from
// memory).
func TestNoiseDoesNotBiasTheRatio(t *testing.T) {
	white := noise(4, 0.1, 20)
	hiss := 0.1 * amplitude(-20)
	r, err := level.RatioFromNoise(sum(white, noise(5, hiss, 20)), sum(scaled(white, 0.9), noise(6, hiss, 20)), rate)
	require.NoError(t, err)
	var mean complex128
	n := 0.0
	for _, v := range r.T {
		if !cmplx.IsNaN(v) {
			mean, n = mean+v, n+1
		}
	}
	require.Greater(t, n, 20000.0, "nearly all bins are known")
	assert.InDelta(t, 0.9, cmplx.Abs(mean)/n, 0.001, "Sxy/Sxx would be 0.891")
}

// What a reviewer can do wrong while measuring isolation is named.
func TestIsolationOfWrongRecordings(t *testing.T) {
	open, under, quiet := noise(1, 0.1, 8), covered(noise(2, 0.1, 8)), noise(3, 1e-5, 8)
	for _, c := range []struct {
		name string
		r    level.NoiseRecordings
		want error
		says string
	}{
		{"exchanged", level.NoiseRecordings{Open: under, Covered: open, Background: quiet}, level.ErrUnequal, "louder than without headphones"},
		{"one recording for both", level.NoiseRecordings{Open: open, Covered: open, Background: quiet}, level.ErrUnequal, "are one recording"},
		{"the background named for the noise", level.NoiseRecordings{Open: open, Covered: quiet, Background: under}, level.ErrUnequal, "under the cup is louder than the noise itself at 24 of 24"},
		{"the background is the recording", level.NoiseRecordings{Open: open, Covered: under, Background: under}, level.ErrUnequal, "are one recording"},
		{"clipped", level.NoiseRecordings{Open: limited(scaled(open, 8), 1), Covered: under, Background: quiet}, level.ErrInput, "without headphones: the recording cannot be used"},
		{"not a number", level.NoiseRecordings{Open: open, Covered: with(under, 0, math.NaN()), Background: quiet}, level.ErrInput, "the sample at 0.000 s is NaN"},
		{"not a number in the background", level.NoiseRecordings{Open: open, Covered: under, Background: with(quiet, 0, math.NaN())}, level.ErrInput, "the sample at 0.000 s is NaN"},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.r.SampleRate = rate
			_, err := level.InsertionLoss(c.r)
			require.ErrorIs(t, err, c.want)
			assert.ErrorContains(t, err, c.says)
		})
	}
	for _, c := range []struct {
		name string
		r    level.NoiseRecordings
		kind response.FindingKind
		says string
	}{
		{"a gate that shuts for a second", level.NoiseRecordings{Open: open, Covered: muted(under), Background: quiet}, level.Wandering, "part of the recording is digital silence"},
		{"a noise that fades by 6 dB", level.NoiseRecordings{Open: open, Covered: fading(under, -6), Background: quiet}, level.Wandering, "under the cup the level moves by 5."},
		{"a background of digital silence", level.NoiseRecordings{Open: open, Covered: under, Background: make([]float64, len(under))}, level.NoBackground, "digital silence"},
		{"no noise above the background", level.NoiseRecordings{Open: open, Covered: under, Background: scaled(covered(noise(9, 0.1, 8)), 0.9)}, level.Noisy, "does not exceed its background by 10 dB at any frequency"},
		{"float samples beyond full scale are not clipped", level.NoiseRecordings{Open: scaled(open, 20), Covered: scaled(under, 20), Background: scaled(quiet, 20)}, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.r.SampleRate = rate
			loss, err := level.InsertionLoss(c.r)
			require.NoError(t, err)
			if c.kind == "" {
				assert.Empty(t, loss.Findings)
				return
			}
			require.Len(t, loss.Findings, 1)
			assert.Equal(t, c.kind, loss.Findings[0].Kind)
			assert.Contains(t, loss.Findings[0].What, c.says)
		})
	}
	t.Run("leakage with the background named for the noise", func(t *testing.T) {
		_, err := level.MeasureSoundLeakage(level.SoundLeakageRecordings{SampleRate: rate, Sensitivity: fullScale, Distance: exact(0.3, level.Metre), Beside: quiet, Background: open})
		require.ErrorIs(t, err, level.ErrUnequal)
		assert.ErrorContains(t, err, "louder than the noise itself")
	})
}

// A tone of amplitude a through x − k x³ has a fundamental of a − 3k a³/4 and a third harmonic of k
// a³/4, by the power-reduction identities (NIST DLMF 4.21). With 8 % of distortion the level reads
// 1.9 dB too low, and the interval has to hold the level without the overload.
func TestOverloadedCalibrator(t *testing.T) {
	tone := func(d float64) (samples []float64, lost float64) {
		k := 4 * d / (1 + 3*d) // (k/4)/(1 − 3k/4) = d, at a = 1
		samples = make([]float64, 5*rate)
		for i := range samples {
			x := math.Sin(2 * math.Pi * 1000 * float64(i) / rate)
			samples[i] = 0.1*math.Sqrt2*(x-k*x*x*x) + 1e-6*math.Sin(float64(i*i))
		}
		return samples, -20 * math.Log10(1-3*k/4)
	}
	samples, lost := tone(0.08)
	assert.InDelta(t, 1.87, lost, 0.01, "by hand")
	got, err := level.Calibrator{Frequency: 1000}.Tone(samples, rate)
	require.NoError(t, err)
	assert.InDelta(t, -20-lost, got.Level.Value, 0.001, "the skirt of a Hann window")
	low, high := got.Level.Interval(0.95)
	assert.True(t, low < -20 && -20 < high, "%v to %v dB", low, high)
	require.Len(t, got.Findings, 1)
	assert.Equal(t, level.Harmonics, got.Findings[0].Kind)

	samples, _ = tone(0.2)
	_, err = level.Calibrator{Frequency: 1000}.Tone(samples, rate)
	require.ErrorIs(t, err, level.ErrClippedTone)
	assert.ErrorContains(t, err, "20.0 % of harmonics")

	samples, _ = tone(0)
	_, err = level.Calibrator{Frequency: 1000}.Tone(samples, 44100)
	assert.ErrorContains(t, err, "as if it had been recorded at 48000 Hz and not at the 44100 Hz that the file states")
}

func TestMeterRefusesWhatIsNotANumber(t *testing.T) {
	_, err := level.Meter{SampleRate: rate, Sensitivity: fullScale}.Measure(with(noise(1, 0.1, 2), rate, math.NaN()))
	require.ErrorIs(t, err, level.ErrInput)
	assert.True(t, strings.Contains(err.Error(), "the sample at 1.000 s is NaN"), err)
}

// If a microphone reads 3 dB too low up to 4 kHz, and is not known above, the level is 3 dB higher
// up to 4 kHz and not known above. The uncertainty of 0.4 dB is common to the whole A-weighted
// level.
func TestSoundLeakageByACalibratedMicrophone(t *testing.T) {
	r := level.SoundLeakageRecordings{SampleRate: rate, Sensitivity: fullScale, Distance: exact(0.3, level.Metre), Beside: noise(1, 1e-4, 10), Background: noise(2, 1e-6, 10),
		Band: response.Band{Low: 50, High: 3000}}
	plain, err := level.MeasureSoundLeakage(r)
	require.NoError(t, err)
	r.Correction = &response.Curve{Frequency: []float64{20, 4000}, Level: []float64{3, 3}, Uncertainty: []float64{0.4, 0.4}, Valid: response.Band{Low: 20, High: 4000}}
	got, err := level.MeasureSoundLeakage(r)
	require.NoError(t, err)
	assert.InDelta(t, 3, got.Curve.At(1000)-plain.Curve.At(1000), 1e-9, "rounding")
	assert.InDelta(t, 3, got.A.Value-plain.A.Value, 1e-9, "rounding")
	assert.InDelta(t, math.Hypot(plain.A.Uncertainty, 0.4), got.A.Uncertainty, 1e-9, "one error at all frequencies")
	assert.InDelta(t, math.Hypot(plain.Curve.UncertaintyAt(1000), 0.4), got.Curve.UncertaintyAt(1000), 1e-9, "independent of the others")
	r.Band.High = 10000
	got, err = level.MeasureSoundLeakage(r)
	require.NoError(t, err)
	assert.True(t, math.IsNaN(got.Curve.At(8000)))
	assert.Contains(t, got.Reason[22], "the response of the microphone is not known at 7.94 kHz")
	assert.Greater(t, got.Unknown, 1.0, "dB: white noise has most of its power above 4 kHz")
}

// A channel that is a sample early or late is told as that, and not as reversed or as a wrong
// resistor.
func TestImpedanceOfADelayedChannel(t *testing.T) {
	source, across := bridge(low, 100, 0, 5.12, 1e-5, 1)
	n := len(source)
	for samples, load := range map[int][]float64{
		1: across[:n-1], -1: across[1:], 5: across[:n-5],
	} {
		from := source[max(0, samples):min(n, n+samples)]
		ratio, err := level.RatioFromNoise(from, load, rate)
		require.NoError(t, err)
		z, err := level.Divider{Series: response.Figure{Value: 100, Unit: level.Ohm}}.Impedance(ratio)
		require.NoError(t, err)
		var late float64
		var side string
		for _, f := range z.Findings {
			if _, what, told := strings.Cut(f.What, "the load channel comes about "); told {
				_, err = fmt.Sscanf(what, "%f µs %s", &late, &side)
				require.NoError(t, err)
			}
		}
		assert.Equal(t, map[bool]string{true: "after", false: "before"}[samples > 0], side)
		assert.InDelta(t, math.Abs(float64(samples))*1e6/rate, late, 4, "µs; the simulated input, 60 kHz wide, and the coil add up to 3")
		assert.True(t, math.IsNaN(z.At(1000).Value), "not known at any frequency")
	}
}
