package review

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
)

// twoSeatings is a side of two readings in dB at 100 Hz and 1 kHz.
func twoSeatings(t *testing.T, name string, first, second float64) *Side {
	t.Helper()
	s := &Side{Name: name}
	for _, v := range []float64{first, second} {
		c, err := response.NewCurve([]float64{100, 1000}, []float64{v, v})
		require.NoError(t, err)
		s.Seatings = append(s.Seatings, &Reading{Response: c})
	}
	var err error
	s.Average, err = response.AverageOf(s.curves())
	require.NoError(t, err)
	return s
}

// Of seatings 6 and 8 dB apart the variances are 18 and 32, pooled 25; that of the difference of
// two means of two is 25 too, and Student's t of two degrees of freedom 4.303 (JCGM 100:2008, table
// G.2).
func TestDifferenceConfidencePoolsBothSides(t *testing.T) {
	r := &Results{Left: twoSeatings(t, "left", 0, 6), Right: twoSeatings(t, "right", 1, 9)}
	require.NoError(t, r.combine(false))
	half := r.Difference.HalfWidth(0.95)
	assert.InDeltaSlice(t, []float64{4.303 * 5, 4.303 * 5}, half, 0.01, "the table's last digit")
	assert.InDelta(t, 4.303*5/math.Sqrt2, r.Left.Response().HalfWidth(0.95)[0], 0.01, "a side's mean; the table's last digit")
	assert.InDelta(t, 4.303*2.5, r.Mean.HalfWidth(0.95)[0], 0.01, "the mean of both; the table's last digit")
}

func TestTHDIsKnownWhereAFundamentalIs(t *testing.T) {
	s := &Side{Seatings: []*Reading{seated(0.1, 0.001)}}
	assert.InDelta(t, 0.1, s.THD(1000).Value, 1e-5, "%; rounding")
	for _, f := range []float64{62.5, 250, 4000, 8000} {
		assert.False(t, s.THD(f).Known(), "no fundamental at %v Hz", f)
	}
}

// The energy of e^(−t/τ) falls by 30 dB in τ ln(1000)/2.
func TestDecayOfAReading(t *testing.T) {
	const rate, tau, f = 48000, 0.02, 1000.0
	h := &response.Impulse{Samples: make([]float64, 1<<15), SampleRate: rate, Zero: 1 << 12, Valid: response.Band{Low: 20, High: 20000}}
	for i := range h.Samples[h.Zero:] {
		at := float64(i) / rate
		h.Samples[h.Zero+i] = math.Exp(-at/tau) * math.Cos(2*math.Pi*f*at)
	}
	decays, err := (&Reading{Transfer: h.Transfer()}).decay()
	require.NoError(t, err)
	found := false
	for _, d := range decays {
		if d.Band.Nominal == 1000 {
			found = true
			require.Empty(t, d.Reason)
			assert.InEpsilon(t, tau*math.Log(1000)/2, d.Time.Value, 0.05, "the decay of the band's filter")
			assert.Equal(t, "s", d.Time.Unit)
		}
	}
	assert.True(t, found)
}

// The mean of 0, 0, 0 and 8 dB is 2 dB, and 0 dB without the last.
func TestASeatingThatStandsApartIsTakenOutToSee(t *testing.T) {
	s := &Side{Name: "left"}
	for i, v := range []float64{0, 0.1, -0.1, 8} {
		frequency := response.LogGrid(20, 20000, 12)
		level := make([]float64, len(frequency))
		for k, f := range frequency {
			if level[k] = 0.1 * math.Sin(float64(i)+float64(k)); f > 200 && f < 2000 {
				level[k] = v
			}
		}
		c, err := response.NewCurve(frequency, level)
		require.NoError(t, err)
		s.Seatings = append(s.Seatings, &Reading{Name: string(rune('a' + i)), Response: c})
	}
	var err error
	s.Average, err = response.AverageOf(s.curves())
	require.NoError(t, err)
	require.NotEmpty(t, s.Average.Outliers, "8 dB from the others")
	found := s.checkSeatings(nil, nil)
	require.Len(t, found, 1)
	assert.Equal(t, Outlying, found[0].Kind)
	assert.Equal(t, response.Warning, found[0].Severity)
	assert.Contains(t, found[0].What, "d, left side, differs from the other seatings")
	assert.Contains(t, found[0].What, "would change most, from 2.00 dB to 0.00 dB")
}

// A leak of first order takes 10 log(1 + (fc/f)²) dB, 10.4 dB of 31.5 Hz where fc is 100 Hz, and
// 17.9 dB where it is 250 Hz (circuit theory). The first is noted, the second is a warning.
func TestALeakUnderOneCushionIsNamed(t *testing.T) {
	for corner, severity := range map[float64]response.Severity{100: response.Note, 250: response.Warning} {
		s := &Side{Name: "right"}
		for i := range 3 {
			frequency := response.LogGrid(20, 20000, 12)
			level := make([]float64, len(frequency))
			for k, f := range frequency {
				if level[k] = 0.2 * float64(i); i == 1 {
					level[k] -= 10 * math.Log10(1+corner*corner/f/f)
				}
			}
			c, err := response.NewCurve(frequency, level)
			require.NoError(t, err)
			s.Seatings = append(s.Seatings, &Reading{Name: string(rune('a' + i)), Response: c})
		}
		var err error
		s.Average, err = response.AverageOf(s.curves())
		require.NoError(t, err)
		found := s.checkSeatings(nil, nil)
		require.Len(t, found, 1, corner)
		assert.Equal(t, severity, found[0].Severity, corner)
		assert.Contains(t, found[0].What, "b, right side", corner)
		assert.Contains(t, found[0].What, "leak under the cushion", corner)
	}
}

// A gain is a difference that is alike at all frequencies, where enough is known of both.
func TestDifferenceThatIsAGain(t *testing.T) {
	curve := func(from, to float64, level func(f float64) float64) response.Curve {
		frequency := response.LogGrid(from, to, PerOctave)
		levels := make([]float64, len(frequency))
		for i, f := range frequency {
			levels[i] = level(f)
		}
		c, err := response.NewCurve(frequency, levels)
		require.NoError(t, err)
		return c
	}
	zero := curve(20, 20000, func(float64) float64 { return 0 })
	gain, alike := gainBetween(curve(20, 20000, func(float64) float64 { return 6 }), zero)
	assert.True(t, alike)
	assert.InDelta(t, 6, gain, 1e-12, "dB; rounding")
	_, alike = gainBetween(curve(20, 20000, func(f float64) float64 { return 6 * math.Log2(f/1000) }), zero)
	assert.False(t, alike, "a tilt")
	_, alike = gainBetween(curve(20, 210, func(float64) float64 { return 6 }), zero)
	assert.False(t, alike, "too little is known")
	elsewhere := zero
	elsewhere.Rig, zero.Rig = "an ear", "a plate"
	_, alike = gainBetween(elsewhere, zero)
	assert.False(t, alike, "another rig")
	assert.Equal(t, "nobody", recordingOf(nil, &Reading{Name: "nobody"}))
	assert.InDelta(t, 1, rippleOf(curve(20, 20000, func(f float64) float64 { return math.Sqrt2 * math.Sin(2*math.Pi*12*math.Log2(f)) }).Level), 0.05,
		"dB; the rms of a sine, whose mean over an octave is 0 except at the ends of the window")
}
