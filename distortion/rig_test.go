package distortion_test

import (
	"math"
	"math/cmplx"
	"testing"
	"time"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/biquad"
	"example.com/earnest/sweep"
)

// headphonesFilter is the linear part of a simulated pair, behind its own nonlinearity.
var headphonesFilter = biquad.Chain{
	biquad.New(biquad.LowShelf, 120, 0.7, -6, 48000),
	biquad.New(biquad.Peaking, 3000, 1.4, 9, 48000),
	biquad.New(biquad.HighShelf, 8000, 0.7, -5, 48000),
}

func gain(c biquad.Chain, f float64) float64 { return 20 * math.Log10(cmplx.Abs(c.Response(f, 48000))) }

// rigSweep stops at a frequency whose second and third harmonics do not fold.
var rigSweep = sweep.Config{Stop: 7000, Duration: 3 * time.Second, Level: -6}

// chain records the sweep through a converter before, headphones, and a converter after; a direct
// recording leaves the headphones out.
type chain struct {
	before, after func(x float64) float64
	own           []harmonic // of the headphones, before their filter
}

func clean(x float64) float64 { return x }

func (c chain) record(s *sweep.Sweep, direct bool) []float64 {
	recording := withHarmonics(s)
	for i, v := range recording {
		recording[i] = c.before(v)
	}
	if !direct {
		addHarmonics(recording[lead(s):], s, c.own...)
		headphonesFilter.Apply(recording)
	}
	for i, v := range recording {
		recording[i] = c.after(v)
	}
	return recording
}

func harmonics(t testing.TB, s *sweep.Sweep, recording []float64, c distortion.Config) *distortion.HarmonicSet {
	t.Helper()
	hs, err := distortion.Harmonics(separate(t, s, 3, recording), c)
	require.NoError(t, err)
	return hs
}

// An interface with a second harmonic of −90 dB, and headphones with one of
// −80 dB.
func TestRigSubtractedAsComplexNumbers(t *testing.T) {
	race.Skip(t)
	t.Parallel()
	s := newSweep(t, rigSweep)
	// x + c x² has the second harmonic c A/2, as −cos.
	square := func(level float64) func(x float64) float64 {
		c := 2 * math.Pow(10, level/20) / s.Amplitude()
		return func(x float64) float64 { return x + c*x*x }
	}
	for _, row := range []struct {
		name  string
		chain chain
	}{
		{"converter before, in phase", chain{square(-90), clean, []harmonic{{2, -80, -math.Pi / 2}}}},
		{"converter before, against it", chain{square(-90), clean, []harmonic{{2, -80, math.Pi / 2}}}},
		{"converter before, aslant", chain{square(-90), clean, []harmonic{{2, -80, 0.3}}}},
	} {
		t.Run(row.name, func(t *testing.T) {
			through := harmonics(t, s, row.chain.record(s, false), distortion.Config{})
			direct := harmonics(t, s, row.chain.record(s, true), distortion.Config{})
			subtracted, err := through.Subtract(direct)
			require.NoError(t, err)
			beside, err := through.WithRig(direct)
			require.NoError(t, err)
			assert.Equal(t, []string{distortion.RigUnknown, distortion.RigInFloor, distortion.RigSubtracted},
				[]string{through.Rig, beside.Rig, subtracted.Rig})
			assert.Nil(t, through.Orders[0].Rig, "the original set does not change")
			assert.Equal(t, through.Orders[0].AsRead[100], beside.Orders[0].AsRead[100])

			second, raw := subtracted.Orders[0], beside.Orders[0]
			var off float64
			for i, f := range through.Fundamental {
				if f < 50 || f > 3400 { // up to where 2f was played
					continue
				}
				truth := -80 + gain(headphonesFilter, 2*f) - gain(headphonesFilter, f)
				assert.InDelta(t, truth, second.AsRead[i], 0.1, "at %g Hz", f) // 0.5 dB are required; only rounding and the window remain
				off = max(off, math.Abs(raw.AsRead[i]-truth))
				// Without subtraction the truth lies within the range that the rig's part can add
				// or cancel.
				share := math.Pow(10, (raw.Rig[i]-raw.AsRead[i])/20)
				assert.GreaterOrEqual(t, truth, raw.AsRead[i]+20*math.Log10(max(0, 1-share))-0.05, "at %g Hz", f)
				assert.LessOrEqual(t, truth, raw.AsRead[i]+20*math.Log10(1+share)+0.05, "at %g Hz", f)
			}
			assert.Greater(t, off, 0.3, "without subtraction it is off")
		})
	}
}

func TestRigInTheFloor(t *testing.T) {
	t.Parallel()
	s := newSweep(t, rigSweep)
	// The rig's third harmonic alone is read; the second is the headphones'.
	c := chain{func(x float64) float64 { return x + 0.01*x*x*x }, clean, []harmonic{{2, -50, 0}}}
	silence := make([]float64, 48000)
	addNoise(silence, 1, -80)
	through := harmonics(t, s, c.record(s, false), distortion.Config{Silence: silence})
	direct := harmonics(t, s, c.record(s, true), distortion.Config{Silence: silence})
	assert.False(t, through.Harmonic(3, 500).Below, "noise alone does not say so")
	hs, err := through.WithRig(direct)
	require.NoError(t, err)
	third := hs.Harmonic(3, 500)
	assert.True(t, third.Below)
	assert.Contains(t, third.String(), "below the floor of this measurement")
	assert.False(t, hs.Harmonic(2, 500).Below)
	// x + c x³ has the third harmonic c A²/4 over 1 + 3/4 c A² of the fundamental (NIST DLMF
	// §4.21).
	a := s.Amplitude()
	want := 20*math.Log10(0.01*a*a/4/(1+0.0075*a*a)) + gain(headphonesFilter, 1500) - gain(headphonesFilter, 500)
	rig := distortion.Readings{Fundamental: hs.Fundamental, AsRead: hs.Orders[1].Rig}
	assert.InDelta(t, want, rig.At(500).AsRead, 0.05)
	assert.Nil(t, through.Orders[1].Rig)
	i := 100
	assert.InDelta(t, hs.Orders[1].AsRead[i], hs.Orders[1].Rig[i], 0.1, "the rig alone can have made it")
	// Where the harmonic is above the sweep's stop frequency, the rig's part is not known.
	assert.True(t, math.IsNaN(hs.Harmonic(3, 3000).Floor))
	assert.False(t, hs.Harmonic(3, 3000).Known(), "so the share of the headphones is not known either")
	assert.Equal(t, []int{2}, hs.THD(3000).Contains)
	// The floors of both add as powers, and so do those of THD.
	o := hs.Orders[1]
	assert.InDelta(t, math.Pow(10, o.Floor[i]/10), math.Pow(10, o.Noise[i]/10)+math.Pow(10, o.Rig[i]/10), 1e-12)
}

func TestNoiseOfTheDirectRecordingCounts(t *testing.T) {
	t.Parallel()
	s := newSweep(t, rigSweep)
	silence := make([]float64, 48000)
	addNoise(silence, 1, -80)
	through := harmonics(t, s, chain{clean, clean, nil}.record(s, false), distortion.Config{Silence: silence})
	direct := harmonics(t, s, chain{clean, clean, nil}.record(s, true), distortion.Config{Silence: silence})
	hs, err := through.Subtract(direct)
	require.NoError(t, err)
	for i, f := range hs.Fundamental {
		if f > 100 && f < 3000 {
			// N² + |R|² N², R at the harmonic's frequency.
			want := through.Orders[0].Noise[i] + 10*math.Log10(1+math.Pow(10, gain(headphonesFilter, 2*f)/10))
			assert.InDelta(t, want, hs.Orders[0].Noise[i], 0.05, "at %g Hz", f)
		}
	}
}

func TestSetsThatDoNotBelongTogether(t *testing.T) {
	t.Parallel()
	config := sweep.Config{Start: 100, Stop: 3000, SampleRate: 16000, Duration: time.Second}
	s := newSweep(t, config)
	through := harmonics(t, s, withHarmonics(s), distortion.Config{})
	other := func(change func(c *sweep.Config), d distortion.Config) *distortion.HarmonicSet {
		c := config
		change(&c)
		s := newSweep(t, c)
		return harmonics(t, s, withHarmonics(s), d)
	}
	subtracted, err := through.Subtract(through)
	require.NoError(t, err)
	for _, row := range []struct {
		name   string
		direct *distortion.HarmonicSet
		says   string
	}{
		{"another level", other(func(c *sweep.Config) { c.Level = -10 }, distortion.Config{}), "direct at -10 dBFS"},
		{"another length", other(func(c *sweep.Config) { c.Duration *= 2 }, distortion.Config{}), "the sweep that the device was measured with"},
		{"another rate", other(func(c *sweep.Config) { c.SampleRate *= 2 }, distortion.Config{}), "the sweep that the device was measured with"},
		{"fewer orders", other(func(*sweep.Config) {}, distortion.Config{Orders: 2}), "one Config"},
		{"another grid", other(func(*sweep.Config) {}, distortion.Config{PerOctave: 12}), "one Config"},
		{"another maximum frequency", other(func(*sweep.Config) {}, distortion.Config{MaxFrequency: 4000}), "one Config"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := through.Subtract(row.direct)
			require.ErrorIs(t, err, distortion.ErrOtherSweep)
			assert.ErrorContains(t, err, row.says)
			_, err = through.WithRig(row.direct)
			require.ErrorIs(t, err, distortion.ErrOtherSweep)
		})
	}
	_, err = subtracted.Subtract(through)
	assert.ErrorContains(t, err, "already")
}
