package programme_test

import (
	"math"
	"testing"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/speech"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
	"example.com/earnest/smoothing"
)

func TestVoice(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	x := rig.Speech(fs, 8, 3)[0]
	d := device{filter: biquad.Chain{biquad.New(biquad.Peaking, 6300, 1.4, 6, fs)}, gain: 0.5, start: 800, snr: 60}
	voice := compare(t, x, d.through(x), fs, programme.Config{}).Voice
	level := func(f float64) float64 {
		h := d.filter.Response(f, fs)
		return 20 * math.Log10(math.Hypot(real(h), imag(h)))
	}
	// The effect of the filter at the midbands, weighted by hand.
	nominal, share := speech.Importance()
	var mean, square float64
	for i, f := range nominal {
		mean += share[i] * level(f)
	}
	for i, f := range nominal {
		square += share[i] * (level(f) - mean) * (level(f) - mean)
	}
	assert.InDelta(t, 1, voice.KnownShare, 1e-12, "rounding")
	assert.InDelta(t, math.Sqrt(square), voice.Deviation.Value, 0.1, "bands have a width")
	assert.Less(t, voice.Deviation.Uncertainty, 0.05)
	parts := map[string]response.Figure{}
	for _, p := range voice.Parts {
		parts[p.Name] = p.Level
	}
	sibilance := (level(5000) + level(6300) + level(8000)) / 3
	assert.InDelta(t, sibilance-mean, parts["sibilance"].Value, 0.2, "bands have a width")
	assert.InDelta(t, -mean, parts["low voice"].Value, 0.05, "there the result is the mean alone")

	softer := compare(t, x, device{gain: 0.1, start: 50}.through(x), fs, programme.Config{}).Voice
	assert.InDelta(t, 0, softer.Deviation.Value, 0.001, "only softer")
}

func TestBass(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	x := music(10, 9)
	d := device{filter: biquad.Chain{biquad.New(biquad.HighPass, 60, math.Sqrt(0.5), 0, fs)}, gain: 1, start: 100, snr: 60}
	thin := compare(t, x, d.through(x), fs, programme.Config{}).Bass
	// Second-order Butterworth: 10 dB down where (60/f)⁴ = 9.
	assert.InDelta(t, 60/math.Sqrt(3), thin.Extension.Value, 2, "Hz; bands have a width")
	assert.False(t, thin.Deeper)
	assert.Less(t, thin.Level.Value, -3.0)

	full := compare(t, x, device{gain: 1}.through(x), fs, programme.Config{}).Bass
	assert.True(t, full.Deeper)
	assert.Less(t, full.Extension.Value, 26.0)
	assert.InDelta(t, 0, full.Level.Value, 0.001)
}

func TestAttacks(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	x := music(10, 9)
	full := compare(t, x, device{gain: 1}.through(x), fs, programme.Config{}).Attacks
	assert.Greater(t, full.Count, 10, "there are drums")
	assert.InDelta(t, 1, full.Kept, 1e-12)
	assert.InDelta(t, 0, full.Change.Value, 0.001)

	// A copy 30 ms later, as loud, fills the quiet before each attack.
	smeared := make([]float64, len(x))
	for i, v := range x {
		smeared[i] = v
		for _, late := range []int{480, 960, 1440, 1920} {
			if i >= late {
				smeared[i] += 0.7 * x[i-late]
			}
		}
	}
	soft := compare(t, x, smeared, fs, programme.Config{}).Attacks
	assert.Less(t, soft.Change.Value, -0.5, "dB")
}

func TestLevels(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	x := music(8, 10)
	c := compare(t, x, device{gain: 0.5}.through(x), fs, programme.Config{})
	var peak, sum float64
	for _, v := range x {
		peak = max(peak, math.Abs(v))
		sum += v * v
	}
	rms := 10 * math.Log10(sum/float64(len(x)))
	assert.InDelta(t, rms, c.Direct.RMS, 0.001)
	assert.InDelta(t, 20*math.Log10(peak), c.Direct.Peak, 1e-9)
	assert.InDelta(t, 20*math.Log10(peak)-rms, c.Direct.Crest, 0.001)
	assert.InDelta(t, c.Direct.Crest, c.Through.Crest, 0.01)
	assert.InDelta(t, -6.0206, c.Through.AWeighted-c.Direct.AWeighted, 0.001, "20 log10 0.5")

	// The A-weighted level over one transform of everything.
	all := programme.Welch(x, x, fs, len(x)/2*2, len(x))
	var weighted float64
	for k, v := range all.Direct {
		if f := all.Frequency(k); f >= 20 && f <= 20000 {
			weighted += v * fs / float64(all.Len) * math.Pow(10, smoothing.AWeighting(f)/10)
		}
	}
	assert.InDelta(t, 10*math.Log10(weighted), c.Direct.AWeighted, 1, "one Hann window over a tune weighs its middle")

	var total float64
	for _, b := range c.Bands(3) {
		total += math.Pow(10, b.Direct/10)
		assert.InDelta(t, -6.0206, b.Through-b.Direct, 0.01)
	}
	assert.InDelta(t, rms, 10*math.Log10(total), 0.2, "a drum has a little below the band of 25 Hz")
}

func TestAgreementWithASweep(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	x := music(8, 11)
	d := device{filter: headphones(fs), gain: 0.5, start: 300, snr: 55}
	c := compare(t, x, d.through(x), fs, programme.Config{Rig: "flat plate"})
	sweep := func(chain biquad.Chain, rig string) response.Curve {
		out := response.Curve{Frequency: response.LogGrid(20, 20000, 48), Rig: rig, Valid: response.Band{Low: 20, High: 20000}}
		for _, f := range out.Frequency {
			h := chain.Response(f, fs)
			out.Level = append(out.Level, 20*math.Log10(math.Hypot(real(h), imag(h))))
		}
		return out
	}
	same, err := c.Agreement(sweep(d.filter, "flat plate"))
	require.NoError(t, err)
	assert.True(t, same.Agree, "%v", same.Beyond)
	assert.Less(t, same.RMS, 0.05)
	assert.InDelta(t, -6.02, same.Level.Value, 0.05, "the gain of 0.5")
	assert.Contains(t, same.Sentence, "give the same response")

	for _, c2 := range []struct {
		name  string
		moved biquad.Filter
		said  string
	}{
		{"a leak", biquad.New(biquad.LowShelf, 60, 0.7, -4, fs), "seal"},
		{"another place", biquad.New(biquad.Peaking, 9000, 4, 6, fs), "cup that moved"},
		{"another sound", biquad.New(biquad.Peaking, 1000, 1, 4, fs), "adapts"},
	} {
		t.Run(c2.name, func(t *testing.T) {
			other, err := c.Agreement(sweep(append(biquad.Chain{c2.moved}, d.filter...), "flat plate"))
			require.NoError(t, err)
			assert.False(t, other.Agree)
			assert.Greater(t, other.RMS, 2*other.Expected)
			assert.Contains(t, other.Sentence, c2.said)
		})
	}
	_, err = c.Agreement(sweep(d.filter, "ear simulator"))
	require.ErrorIs(t, err, response.ErrOtherRig)
	_, err = c.Agreement(sweep(d.filter, "").Within(response.Band{Low: 100, High: 150}))
	require.ErrorContains(t, err, "it takes 3")
}

// The second ear is aligned from the first; both have the same clock.
func TestTheOtherEarNeedsNoSearch(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	tune := rig.Music(fs, 6, 12)
	left := device{filter: headphones(fs), gain: 0.5, start: 5000.25, ppm: 30, snr: 50}
	right := device{gain: 0.4, start: 5003.75, ppm: 30, snr: 50, seed: 9}
	l := compare(t, tune[0], left.through(tune[0]), fs, programme.Config{})
	r := compare(t, tune[1], right.through(tune[1]), fs, programme.Config{Alignment: l.Alignment})
	assert.InDelta(t, 3.5, (r.Alignment.Delay-l.Alignment.Delay)*fs, 0.04, "samples; twice the required accuracy of one delay")
	assert.InDelta(t, 30, r.Alignment.Clock.Drift, 0.1)
}

func TestFiguresAreWrittenWithTheirUncertainty(t *testing.T) {
	assert.Equal(t, "1.37 dB with u = 0.12 dB", response.Figure{Value: 1.3678, Uncertainty: 0.1234, Unit: "dB"}.String())
	assert.Equal(t, "34.6 Hz with u = 1.2 Hz", response.Figure{Value: 34.64, Uncertainty: 1.24, Unit: "Hz"}.String())
	assert.Equal(t, "22.39 Hz", response.Figure{Value: 22.387, Unit: "Hz"}.String())
	assert.Equal(t, "not known", response.Figure{Value: math.NaN()}.String())
}
