package distortion_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/sweep"
)

func ordinary(level float64) []harmonic {
	var h []harmonic
	for n := 2; n <= 10; n++ {
		h = append(h, harmonic{n, level, float64(n)})
	}
	return h
}

func TestClicksAmongOrdinaryHarmonics(t *testing.T) {
	t.Parallel()
	s := newSweep(t, sweep.Config{Duration: 4 * time.Second, Level: -6})
	recording := withHarmonics(s, ordinary(-40)...)
	addClicks(recording[lead(s):], s, 200, 400, 0.01)
	r, err := distortion.RubBuzz(separate(t, s, 5, recording), recording, distortion.Config{Silence: quiet(48000)})
	require.NoError(t, err)
	for i, f := range r.RMS.Fundamental {
		switch {
		case !r.Valid.Contains(f):
			assert.True(t, math.IsNaN(r.RMS.AsRead[i]), "at %g Hz", f)
		case f > 220 && f < 360:
			// A click keeps the share b of its height that lies in the passed band, and the same
			// share of its power: f/fs b a period, relative to 1/2.
			b := (22800*0.975 - 10.65*f) / 24000
			assert.InDelta(t, 20*math.Log10(0.01*b), r.Peak.AsRead[i], 0.5, "peak at %g Hz", f)           // a band-limited click may straddle samples
			assert.InDelta(t, 10*math.Log10(2*1e-4*b*f/48000), r.RMS.AsRead[i], 0.7, "level at %g Hz", f) // a frame holds 10 to 15 of them, one more or less
			assert.InDelta(t, r.Peak.AsRead[i]-r.RMS.AsRead[i]+10*math.Log10(2), r.Crest[i], 1e-9, "peak less rms, %g Hz", f)
			assert.Greater(t, r.Crest[i], 18.0, "clicks, not noise")
		case f > 45 && f < 170 || f > 480:
			// Nine harmonics at −40 dB are removed without a trace.
			assert.Less(t, r.RMS.AsRead[i], -120.0, "at %g Hz", f)
		}
	}
	assert.InEpsilon(t, 0.95*22800./11, r.Valid.High, 1e-9)
	assert.Greater(t, r.Peak.At(300).Value, r.RMS.At(300).Value+15)
}

func TestHighHarmonicsAreCounted(t *testing.T) {
	long.Skip(t)
	t.Parallel()
	s := newSweep(t, sweep.Config{Duration: 4 * time.Second, Level: -6})
	// The eleventh to the fifteenth at −60 dB: a power sum of −53 dB.
	var high []harmonic
	for n := 11; n <= 15; n++ {
		high = append(high, harmonic{n, -60, float64(n * n)})
	}
	both := withHarmonics(s, append(high, ordinary(-40)...)...)
	r, err := distortion.RubBuzz(separate(t, s, 5, both), both, distortion.Config{Silence: quiet(48000)})
	require.NoError(t, err)
	for _, f := range []float64{60, 100, 300, 1000} {
		assert.InDelta(t, -60+10*math.Log10(5), r.RMS.At(f).Value, 0.2, "at %g Hz", f) // a frame is not a whole number of periods
	}
	alone := withHarmonics(s, high...)
	above, err := distortion.RubBuzz(separate(t, s, 5, alone), alone, distortion.Config{Orders: 13, Silence: quiet(48000)})
	require.NoError(t, err)
	assert.InDelta(t, -60+10*math.Log10(2), above.RMS.At(300).Value, 0.2, "two of them are above the thirteenth")
}

func TestResidueOfNoiseIsItsFloor(t *testing.T) {
	long.Skip(t)
	t.Parallel()
	s := newSweep(t, sweep.Config{Duration: 3 * time.Second, Level: -6})
	d := deconvolver(t, s, 5)
	var last *distortion.Residue
	var level, peak []float64
	const draws = 8
	for draw := range uint64(draws) {
		recording := withHarmonics(s)
		addNoise(recording, draw, -80)
		silence := make([]float64, 48000)
		addNoise(silence, 100+draw, -80)
		separated, err := d.Separate(recording)
		require.NoError(t, err)
		r, err := distortion.RubBuzz(separated, recording, distortion.Config{Silence: silence, PerOctave: 6})
		require.NoError(t, err)
		if last == nil {
			level, peak = make([]float64, len(r.RMS.AsRead)), make([]float64, len(r.RMS.AsRead))
		}
		for i := range r.RMS.AsRead {
			level[i] += (r.RMS.AsRead[i] - r.RMS.Floor[i]) / draws
			peak[i] += (r.Peak.AsRead[i] - r.Peak.Floor[i]) / draws
		}
		last = r
	}
	var known int
	for i, f := range last.RMS.Fundamental {
		if last.Valid.Contains(f) && !math.IsNaN(level[i]) {
			known++
			assert.InDelta(t, 0, level[i], 0.3, "at %g Hz", f) // dB; the noise of eight frames, each of 1000 samples or more
			tolerance := 1.0                                   // the mean of eight largest scatters by 0.3 dB
			if f > last.Valid.High/1.5 {
				tolerance = 1.5 // a narrow band has a carrier, at which the peak of the envelope is found
			}
			assert.InDelta(t, 0, peak[i], tolerance, "at %g Hz", f)
		}
	}
	assert.Greater(t, known, 25)
	assert.True(t, last.RMS.At(500).Below)
	assert.True(t, last.Peak.At(500).Below)
}

func TestRubBuzzIsNotKnownUpToAFrequencyBelowTheSweep(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	recording := withHarmonics(s)
	r, err := distortion.RubBuzz(separate(t, s, 2, recording), recording, distortion.Config{MaxFrequency: 1e-5})
	require.NoError(t, err)
	require.NotEmpty(t, r.Crest)
	for i, f := range r.RMS.Fundamental {
		require.True(t, math.IsNaN(r.Crest[i]), "%v Hz", f)
		require.False(t, r.RMS.At(f).Known() || r.Peak.At(f).Known(), "%v Hz", f)
	}
}

func TestRubBuzzBadRequests(t *testing.T) {
	t.Parallel()
	s := newSweep(t, quick)
	recording := withHarmonics(s)
	separated := separate(t, s, 2, recording)
	for name, c := range map[string]distortion.Config{
		"order 1":             {Orders: 1},
		"order 1000":          {Orders: 1000},
		"frames":              {PerOctave: -1},
		"a maximum frequency": {MaxFrequency: -1},
		"another rate":        {Silence: recording, SilenceRate: 44100},
		"hardly anything":     {Silence: recording[:10]},
	} {
		_, err := distortion.RubBuzz(separated, recording, c)
		assert.ErrorContains(t, err, "distortion: ", name)
	}
}
