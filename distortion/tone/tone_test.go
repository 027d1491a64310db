package tone_test

import (
	"math"
	"testing"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion/tone"
	"example.com/earnest/response"
)

// The required 0.05 dB at any frequency, on a bin and off, down to −100 dB.
func TestHarmonicsAtAnyFrequency(t *testing.T) {
	const fs, n = 48000, 24000
	worst := 0.0
	for _, nominal := range []float64{20, 31.5, 100, 1000, 3150, 7000} {
		for shift := 0.0; shift < 2; shift += 0.41 {
			f := nominal + shift // bins are 2 Hz wide
			x := sum(n, fs, partial{f, 0.5, 0.3 + shift}, partial{2 * f, 0.5e-3, 1}, partial{3 * f, 0.5e-5, 2})
			r, err := tone.Analyse(x, fs, tone.Config{})
			require.NoError(t, err, "%v Hz", f)
			assert.InDelta(t, f, r.Frequency.Value, 1e-8*f, "double precision")
			assert.InDelta(t, dB(0.5), r.Level.Value, 1e-8, "double precision")
			assert.InDelta(t, math.Remainder(0.3+shift, 2*math.Pi), r.Phase.Value, 1e-7, "double precision")
			worst = max(worst, math.Abs(r.Harmonics[0].Value+60), math.Abs(r.Harmonics[1].Value+100))
		}
	}
	assert.Less(t, worst, 1e-6, "0.05 dB is required; the model fits exactly, so only rounding is left")
}

// Hum is not in the model, so it only leaks.
func TestHumDoesNotReachTheHarmonics(t *testing.T) {
	const fs = 48000
	x := sum(fs, fs, partial{1000, 0.5, 0}, partial{2000, 0.5e-5, 0}, partial{50.3, 0.005, 1}, partial{150.9, 0.002, 1})
	r, err := tone.Analyse(noisy(x, 1e-7, 1), fs, tone.Config{})
	require.NoError(t, err)
	assert.InDelta(t, -100, r.Harmonics[0].Value, 0.05, "1/x³ of −40 dB at 1950 bins is far below −150 dB")
	assert.True(t, r.Harmonics[1].Below)
	assert.Less(t, r.Harmonics[1].Floor, -160.0, "and hum is not taken for the noise under the harmonics")
	assert.InDelta(t, math.Hypot(0.005, 0.002)/math.Sqrt2, rmsOf(r.Noise), 1e-6, "it is noise all the same")
}

// Noise of density S in bands whose power is known: flat noise, and two lines
// whose A-weighting IEC 61672-1 tabulates.
func TestNoiseInABand(t *testing.T) {
	const fs, n, rms = 48000, 96000, 1e-3
	x := noisy(sum(n, fs, partial{997, 0.5, 0}), rms, 7)
	for _, b := range []response.Band{{Low: 20, High: 20000}, {Low: 1000, High: 4000}, {Low: 0, High: 24000}} {
		r, err := tone.Analyse(x, fs, tone.Config{Band: b})
		require.NoError(t, err)
		want := rms * math.Sqrt((b.High-b.Low)/(fs/2))
		assert.InDelta(t, dB(want*math.Sqrt2), r.Noise.Value, 3*r.Noise.Uncertainty, "three standard uncertainties, %v", r.Noise)
		assert.Less(t, r.Noise.Uncertainty, 0.08, "12 000 bins give 0.07 dB")
	}
	for _, row := range []struct{ f, a float64 }{{125.89, -16.1}, {3981.1, 1.0}, {7943.3, -1.1}} {
		r, err := tone.Analyse(sum(n, fs, partial{997, 0.5, 0}, partial{row.f, 0.01, 0}), fs, tone.Config{})
		require.NoError(t, err)
		assert.InDelta(t, row.a, r.NoiseA.Value-dB(0.01), 0.06, "the table is rounded to 0.1 dB")
		assert.InDelta(t, 0.01/math.Sqrt2, rmsOf(r.Noise), 1e-5, "one line")
	}
}

func TestTHDNCountsBoth(t *testing.T) {
	const fs = 48000
	x := noisy(sum(2*fs, fs, partial{1000.3, 0.5, 0}, partial{2000.6, 0.005, 1}), 0.002, 3)
	r, err := tone.Analyse(x, fs, tone.Config{Band: response.Band{High: fs / 2}})
	require.NoError(t, err)
	want := math.Sqrt(0.005*0.005/2+0.002*0.002) / (0.5 / math.Sqrt2)
	assert.InDelta(t, want, r.THDPlusN.Value/100, 4*r.THDPlusN.Uncertainty/100, "four standard uncertainties")
	r, err = tone.Analyse(x, fs, tone.Config{Band: response.Band{Low: 20, High: 1500}})
	require.NoError(t, err)
	assert.InDelta(t, 0.002*math.Sqrt(1480./24000)/(0.5/math.Sqrt2), r.THDPlusN.Value/100, 4*r.THDPlusN.Uncertainty/100, "the second harmonic is outside this band")
}

func TestHarmonicsAboveTheCeilingAreNotKnown(t *testing.T) {
	x := through(sum(48000, 48000, partial{6100, 0.5, 0}), 0, 1, 0.1, 0.1)
	r, err := tone.Analyse(x, 48000, tone.Config{Orders: 5, MaxFrequency: 16000})
	require.NoError(t, err)
	assert.Equal(t, []int{2}, r.THD.Contains)
	assert.Equal(t, []int{3, 4, 5}, r.THD.OutOfRange, "18.3 kHz is above the microphone, 24.4 and 30.5 kHz above half the rate")
	for _, h := range r.Harmonics[1:] {
		assert.Equal(t, "above the maximum frequency", h.Reason)
		assert.False(t, h.Known())
		assert.True(t, math.IsNaN(h.Bound) && math.IsNaN(h.Floor), "never zero, never a bound")
	}
	r, err = tone.Analyse(sum(48000, 48000, partial{15000, 0.5, 0}), 48000, tone.Config{})
	require.NoError(t, err)
	assert.False(t, r.THD.Known())
	assert.True(t, math.IsNaN(r.THD.Bound))
	assert.Equal(t, "not known", r.THD.ReTotal().Reading.String())
}

// Below the floor there is a bound, and it holds.
func TestBelowTheFloorThereIsABound(t *testing.T) {
	x := noisy(sum(48000, 48000, partial{1000.3, 0.5, 0}, partial{2000.6, 0.5e-6, 0}), 1e-4, 9)
	r, err := tone.Analyse(x, 48000, tone.Config{Orders: 2})
	require.NoError(t, err)
	h := r.Harmonics[0]
	assert.True(t, h.Below)
	assert.Contains(t, h.Reading.String(), "below the floor of this measurement")
	// Two quadratures of variance S·1.5 Hz, S = rms²/(fs/2).
	floor := dB(math.Sqrt(2*1e-8/24000*1.5) / 0.5)
	assert.InDelta(t, floor, h.Floor, 1, "the median of about 120 bins is right to 0.5 dB")
	assert.GreaterOrEqual(t, h.Bound, h.Floor-6.03, "half the floor")
	assert.Less(t, h.Bound, h.Floor+8.5, "6 dB, and 1.645 quadratures")
	assert.False(t, r.THD.Known())
	assert.InDelta(t, h.Bound, dB(r.THD.Bound/100), 1e-9, "one order is the whole THD")
	assert.InDelta(t, h.AsRead, dB(r.THD.AsRead/100), 1e-9, "so is the reading")
	assert.InDelta(t, h.Floor, dB(r.THD.Floor/100), 1e-9, "and the floor")
	assert.True(t, r.THD.Below)
}

// Of 200 recordings, the share whose error is within one and two stated
// standard uncertainties is that of a Gaussian: 68.3 % and 95.4 %.
func TestStatedUncertaintiesCover(t *testing.T) {
	long.Skip(t)
	const fs, n, repeats = 48000, 6007, 200
	coloured := func(x []float64, seed uint64) []float64 {
		hiss := noisy(make([]float64, n), 4e-5, seed)
		last := 0.0
		for i, v := range hiss {
			last = 0.9*last + v // 25.6 dB from 0 Hz to 24 kHz
			x[i] += last
		}
		return x
	}
	white := func(x []float64, seed uint64) []float64 { return noisy(x, 1.6e-5, seed) }
	for name, add := range map[string]func([]float64, uint64) []float64{"white": white, "falling": coloured} {
		t.Run(name, func(t *testing.T) {
			one, two := map[string]int{}, map[string]int{}
			bounded, alarms := 0, 0
			for seed := range uint64(repeats) {
				f, phase := 1000+0.37*float64(seed), 0.03*float64(seed)-3
				x := add(sum(n, fs, partial{f, 0.5, phase}, partial{2 * f, 5e-5, 1}, partial{3 * f, 5e-6, 1}), seed)
				r, err := tone.Analyse(x, fs, tone.Config{Orders: 4, Band: response.Band{High: fs / 2}})
				require.NoError(t, err)
				count := func(what string, f response.Figure, want float64) {
					e := math.Abs(f.Value-want) / f.Uncertainty
					if e <= 1 {
						one[what]++
					}
					if e <= 2 {
						two[what]++
					}
				}
				count("frequency", r.Frequency, f)
				count("level", r.Level, dB(0.5))
				count("phase", r.Phase, phase)
				count("second harmonic", r.Harmonics[0].Figure, -80)
				count("its phase", r.Harmonics[0].Phase, beside(1-2*phase, r.Harmonics[0].Phase.Value))
				if name == "white" {
					count("noise", r.Noise, dB(1.6e-5*math.Sqrt2))
					count("THD+N", r.THDPlusN, 200*math.Sqrt(2*1.6e-5*1.6e-5+5e-5*5e-5+5e-6*5e-6))
				}
				if r.Harmonics[1].Bound >= -100 {
					bounded++
				}
				if r.Harmonics[2].Known() {
					alarms++
				}
			}
			// Binomial: 3.3 % and 1.5 % standard deviation; four of each.
			for what := range one {
				assert.InDelta(t, 0.683, float64(one[what])/repeats, 0.13, "%s within one", what)
				assert.InDelta(t, 0.954, float64(two[what])/repeats, 0.06, "%s within two", what)
			}
			assert.GreaterOrEqual(t, bounded, 182, "95 %% of 200 less 2.6 standard deviations")
			assert.LessOrEqual(t, alarms, 12, "noise passes 6 dB above its rms in exp(−4) = 1.8 %% of cases")
		})
	}
}

// The noise of a band, by 200 repeats.
func TestNoiseUncertaintyInABandCovers(t *testing.T) {
	race.Skip(t)
	const fs, n, repeats, rms = 48000, 3001, 200, 1e-3
	band := response.Band{Low: 500, High: 9500}
	one, two := 0, 0
	for seed := range uint64(repeats) {
		r, err := tone.Analyse(noisy(sum(n, fs, partial{12345, 0.5, 0}), rms, seed), fs, tone.Config{Orders: 2, Band: band})
		require.NoError(t, err)
		e := math.Abs(r.Noise.Value-dB(rms*math.Sqrt(2*9000./24000))) / r.Noise.Uncertainty
		if e <= 1 {
			one++
		}
		if e <= 2 {
			two++
		}
	}
	assert.InDelta(t, 0.683, float64(one)/repeats, 0.13, "four standard deviations of 200 trials")
	assert.InDelta(t, 0.954, float64(two)/repeats, 0.06, "the same")
}

// rmsOf returns the rms of a level in dBFS, full scale = 1.
func rmsOf(level response.Figure) float64 { return math.Pow(10, level.Value/20) / math.Sqrt2 }

// beside returns the angle, plus or minus whole turns, that is nearest to another.
func beside(angle, other float64) float64 { return other + math.Remainder(angle-other, 2*math.Pi) }

// TestTheMicrophoneIsDividedOut has harmonics of a known level through a microphone that reads 2 dB
// per octave too high, and is known up to 3.5 kHz.
func TestTheMicrophoneIsDividedOut(t *testing.T) {
	const rate, f = 48000, 1000.0
	x := make([]float64, rate)
	for i := range x {
		for n, level := range []float64{-20, -60, -70, -80} {
			reads := level + 2*math.Log2(float64(n+1))
			x[i] += math.Pow(10, reads/20) * math.Sin(2*math.Pi*f*float64(n+1)*float64(i)/rate)
		}
	}
	correction := response.Curve{Valid: response.Band{Low: 20, High: 3500}}
	for _, at := range response.LogGrid(20, 3500, 24) {
		correction.Frequency, correction.Level = append(correction.Frequency, at), append(correction.Level, -2*math.Log2(at/f))
	}
	r, err := tone.Analyse(x, rate, tone.Config{Frequency: f, Correction: &correction})
	require.NoError(t, err)
	assert.InDelta(t, -40, r.Harmonics[0].Value, 0.01) // dB; the curve between its points
	assert.InDelta(t, -50, r.Harmonics[1].Value, 0.01)
	assert.NotEmpty(t, r.Harmonics[2].Reason, "the microphone is not known at 4 kHz")
	assert.Equal(t, []int{2, 3}, r.THD.Contains)
	assert.InDelta(t, 100*math.Hypot(0.01, math.Pow(10, -2.5)), r.THD.Value, 1e-3)
	assert.InDelta(t, -20, r.Level.Value, 1e-3, "the level stays as recorded")
}
