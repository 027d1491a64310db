package coverage

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/sweep"
)

// sides describes the paths between the sides of a pair: a leak of sound, and a distance in time.
type sides struct {
	leak  [2]levels  // of the other side's sound at each side re its own, in dB
	later [2]float64 // s by which the leak arrives after the side's own sound
	own   float64    // amplitude of the interface's crosstalk, of either sign
	apart float64    // s by which the left side is later than the right
}

// newSides draws them: a leak of −75 to −35 dB with a slope, a little different on both sides.
func (s *session) newSides() *sides {
	out := &sides{own: math.Copysign(math.Pow(10, between(s.Rand, -110, -60)/20), s.Float64()-0.5), apart: 30e-6 * s.NormFloat64()}
	base := flat(between(s.Rand, -75, -35)).plus(1, field(4, func() float64 { return 4 * s.NormFloat64() }))
	for side := range out.leak {
		out.leak[side] = base.plus(1, flat(s.NormFloat64()), field(4, s.NormFloat64))
		out.later[side] = between(s.Rand, 0, 0.5e-3)
	}
	return out
}

// delayed returns a filter delayed by a number of seconds.
func (b *bench) delayed(h []complex128, seconds float64) []complex128 {
	out := make([]complex128, len(h))
	for k, v := range h {
		out[k] = v * cmplx.Rect(1, -2*math.Pi*float64(k)*float64(b.rate)/float64(b.samples)*seconds)
	}
	return out
}

// crossed returns the other side's sweeps through a filter.
func (b *bench) crossed(side int, h []complex128, amplitude float64) []float64 {
	spectrum := make([]complex128, len(h))
	for k, v := range b.played[1-side][0] {
		spectrum[k] = complex(amplitude, 0) * v * h[k]
	}
	spectrum[0] = 0
	return b.plan.Inverse(nil, spectrum)
}

// recordSide returns one side of a seating with the given levels, and the crosstalk from the other
// side.
func (s *session) recordSide(side int, l levels) []float64 {
	h := s.filter(l.plus(1, s.chain.levels))
	if s.sides == nil {
		return s.recorded(s.record(s.Rand, side, h, s.amplitudes(), s.through))
	}
	if side == 0 {
		h = s.delayed(h, s.sides.apart+5e-6*s.NormFloat64())
	}
	x := s.record(s.Rand, side, h, s.amplitudes(), s.through)
	floats.Add(x, s.crossed(side, h, s.sides.own))
	leak := s.filter(l.plus(1, s.sides.leak[side], flat(s.NormFloat64()), field(2, s.NormFloat64)))
	return floats.AddTo(x, x, s.crossed(side, s.delayed(leak, s.sides.later[side]), 1))
}

// TestIntervalsOfCrosstalk draws reviews of a stimulus with each side alone. The right answer to
// crosstalk is the ratio of the two sounds at one microphone, in dB, and to the difference in time
// the distance that the seatings scatter about.
func TestIntervalsOfCrosstalk(t *testing.T) {
	if *leveled == few {
		long.Skip(t)
	}
	b, err := newBench(48000, sweep.AskCrosstalk)
	require.NoError(t, err)
	drawLevels(t, b, "crosstalk", [2]float64{-65, -75}, [2]float64{-40, -45}, (*session).runCrosstalk)
}

// runCrosstalk draws, measures and counts a review of crosstalk and of the time between the sides.
func (s *session) runCrosstalk() (draw, error) {
	s.apart, s.sides = false, s.newSides()
	r, err := s.reviewed()
	if err != nil {
		return nil, err
	}
	d := draw{}
	for k, side := range r.Sides() {
		further := side.Further
		if further == nil || further.Crosstalk == nil {
			return nil, fmt.Errorf("no crosstalk of the %s", side.Name)
		}
		for _, f := range []float64{63, 125, 250, 500, 1000, 2000, 4000, 8000, 12500} {
			d.reading("crosstalk", further.Crosstalk.At(f), s.sides.leak[k].at(f))
		}
	}
	d.figure("left later than right", r.TimeDifference, 1e6*s.sides.apart)
	return d, nil
}
