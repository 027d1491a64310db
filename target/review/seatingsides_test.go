package review

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
)

// drawnCurve is a sum of a few slow ripples over octaves, of an rms in dB.
func drawnCurve(r *rand.Rand, rms float64) func(f float64) float64 {
	var amplitude, rate, phase [6]float64
	for k := range rate {
		amplitude[k], rate[k], phase[k] = rms*math.Sqrt(2.0/6), 0.3+1.2*r.Float64(), 2*math.Pi*r.Float64()
	}
	return func(f float64) (v float64) {
		for k := range rate {
			v += amplitude[k] * math.Sin(2*math.Pi*rate[k]*math.Log2(f/20)+phase[k])
		}
		return v
	}
}

// drawnSeatings returns seatings of a pair whose sides differ by an rms in dB, with scatter.
func drawnSeatings(t *testing.T, r *rand.Rand, n int, sides, scatter float64) *Results {
	common, half := drawnCurve(r, 4), drawnCurve(r, sides/2)
	out := &Results{Left: &Side{Name: "left"}, Right: &Side{Name: "right"}}
	for i := range n {
		for k, side := range []*Side{out.Left, out.Right} {
			frequency, moved := response.LogGrid(20, 20000, PerOctave), drawnCurve(r, scatter)
			level := make([]float64, len(frequency))
			for j, f := range frequency {
				level[j] = common(f) + float64(1-2*k)*half(f) + moved(f)
			}
			c, err := response.NewCurve(frequency, level)
			require.NoError(t, err)
			side.Seatings = append(side.Seatings, &Reading{Name: string(rune('a' + i)), Response: c, seating: i})
		}
	}
	return out
}

// Left and right of one seating are exchanged in a session drawn for that, with the usual scatter
// of 0.3 dB. Where sides differ by three times as much as seatings, it is named, with the seating;
// the same sessions without the exchange are not questioned.
func TestASeatingThatIsTurnedRound(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	named := 0
	const sessions = 60
	for i := range sessions {
		s := drawnSeatings(t, r, 2+i%3, 2, 0.3)
		assert.Empty(t, s.checkBothSides(s.bothSides(), nil), "sound")
		s.Left.Seatings[1].Response, s.Right.Seatings[1].Response = s.Right.Seatings[1].Response, s.Left.Seatings[1].Response
		for _, f := range s.checkBothSides(s.bothSides(), nil) {
			named++
			assert.Equal(t, fitness.SwappedSides, f.Kind)
			assert.Contains(t, f.What, "left in b is like right in ")
		}
		s.Findings = []response.Finding{{Kind: fitness.SwappedSides}}
		assert.Empty(t, s.checkBothSides(s.bothSides(), nil), "a cause is told once")
	}
	assert.Greater(t, named, sessions*8/10, "sides of 2 dB rms leave 0.3 √2 of 4 dB; some are less")
}

// Two seatings of two pairs differ alike on both sides where no leak reaches; two seatings of one
// pair that scatter twice as much as usual, or leak below 300 Hz, do not.
func TestSeatingsOfTwoPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 2))
	const sessions = 60
	named := 0
	for range sessions {
		s := drawnSeatings(t, r, 2, 1, 0.7)
		for _, side := range []*Side{s.Left, s.Right} {
			level := side.Seatings[1].Response.Level
			for k, f := range side.Seatings[1].Response.Frequency {
				level[k] -= 10 * math.Log10(1+300*300/f/f) // a leak of first order
			}
		}
		assert.Empty(t, found(s, Outlying), "one pair, with leaks")
		other := drawnSeatings(t, r, 2, 1, 0.7)
		s.Left.Seatings[1].Response, s.Right.Seatings[1].Response = other.Left.Seatings[0].Response, other.Right.Seatings[0].Response
		if f := found(s, Outlying); len(f) > 0 {
			named++
			assert.Contains(t, f[0].What, "b differs from a by ")
		}
	}
	assert.Greater(t, named, sessions*8/10, "the pairs differ by 4 √2 dB rms over all octaves; in these three octaves they may differ by less")
	s := drawnSeatings(t, r, 4, 1, 0.3)
	other := drawnSeatings(t, r, 1, 1, 0.3)
	s.Left.Seatings[2].Response, s.Right.Seatings[2].Response = other.Left.Seatings[0].Response, other.Right.Seatings[0].Response
	require.NoError(t, s.Left.average())
	outlying := s.Left.checkSeatings(nil, s.bothSides())
	require.NotEmpty(t, outlying)
	assert.Contains(t, outlying[0].What, "c, left side, differs from the other seatings")
	assert.Contains(t, outlying[0].What, "and the other side alike, as by another pair")
}

// One of three seatings is of a pair of nearly the same shape, 2.3 dB softer. Sound sessions with the
// usual scatter, and with twice that, are seldom questioned.
func TestASeatingOfAnotherPairAtAnotherLevel(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	const sessions = 150
	warnings := func(s *Results) (n int) {
		for _, side := range []*Side{s.Left, s.Right} {
			require.NoError(t, side.average())
			for _, f := range side.checkSeatings(nil, s.bothSides()) {
				if f.Kind == Outlying && f.Severity == response.Warning {
					n++
				}
			}
		}
		return n
	}
	named, alarms := 0, 0
	for i := range sessions {
		s := drawnSeatings(t, r, 3+i%3, 1, []float64{0.3, 0.6}[i%2])
		if warnings(s) > 0 {
			alarms++
		}
		for _, side := range []*Side{s.Left, s.Right} {
			c, other := side.Seatings[2].Response, drawnCurve(r, 0.7)
			for k, f := range c.Frequency {
				c.Level[k] += other(f) - 2.3
			}
		}
		if warnings(s) == 2 {
			named++
		}
	}
	t.Logf("%d alarms and %d named of %d", alarms, named, sessions)
	assert.LessOrEqual(t, alarms, 1, "of 150; the seatings scatter by up to twice the usual")
	assert.Greater(t, named, sessions*9/10, "2.3 dB less what twice the usual scatter and the other shape add")
}

func found(r *Results, kind response.FindingKind) (all []response.Finding) {
	for _, f := range r.checkBothSides(r.bothSides(), nil) {
		if f.Kind == kind {
			all = append(all, f)
		}
	}
	return all
}
