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
	"example.com/earnest/target/review"
)

// sides describes the paths between the sides of a pair: a leak of sound, and a distance in time.
type sides struct {
	leak  [2]levels  // of the other side's sound at each side re its own, in dB
	later [2]float64 // s by which the leak arrives after the side's own sound
	own   float64    // amplitude of the interface's crosstalk, of either sign
	apart float64    // s by which the left side is later than the right
	lead  float64    // Ω of the return lead that both sides share
	sound            // of which only the impedance is measured
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
	if s.sides.lead > 0 {
		floats.Add(x, s.crossed(side, s.common(h), 1))
	}
	leak := s.filter(l.plus(1, s.sides.leak[side], flat(s.NormFloat64()), field(2, s.NormFloat64)))
	return floats.AddTo(x, x, s.crossed(side, s.delayed(leak, s.sides.later[side]), 1))
}

// common returns the other side's sound by a shared return lead, behind a filter.
func (s *session) common(h []complex128) []complex128 {
	out := make([]complex128, len(h))
	for k, v := range h {
		f := float64(k) * float64(s.rate) / float64(s.samples)
		out[k] = -v * complex(s.sides.lead, 0) / (impedance(f, s.sides.ohms) + complex(s.sides.lead, 0))
	}
	return out
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

// TestIntervalsOfLeads draws reviews of crosstalk by a return lead that both sides share, with the
// impedance measured, beside leaks of sound.
func TestIntervalsOfLeads(t *testing.T) {
	if *leveled == few {
		long.Skip(t)
	}
	b, err := newBench(25600, sweep.AskCrosstalk)
	require.NoError(t, err)
	drawLevels(t, b, "leads", [2]float64{-65, -75}, [2]float64{-40, -45}, (*session).runLeads)
}

// runLeads draws, measures and counts a review of a shared lead.
func (s *session) runLeads() (draw, error) {
	s.apart, s.sides = false, s.newSides()
	s.sides.ohms = between(s.Rand, 20, 200)
	s.sides.lead = math.Exp(between(s.Rand, math.Log(0.1), math.Log(3)))
	b, _, err := s.begin()
	if err != nil {
		return nil, err
	}
	r, _, _, err := s.measure(b, "pair", s.device, s.seatings, func(p *review.Pair, _ [2][]levels, _ [2]levels) error {
		return s.resistors(p, &s.sides.sound)
	})
	if err != nil {
		return nil, err
	}
	d := draw{}
	for _, side := range r.Sides() {
		g := r.CommonGround(side)
		if g == nil {
			continue
		}
		name := "resistance of the return"
		if fourth := 20 * math.Log10(s.sides.lead/s.sides.ohms); s.sides.leak[0].at(300) > fourth-10 {
			name += ", a leak within 10 dB"
		}
		d.figure(name, g.Resistance, s.sides.lead)
		for _, f := range []float64{90, 300, 1000, 3000} {
			if !math.IsNaN(g.Common.UncertaintyAt(f)) { // the resistance is told from zero
				common := complex(s.sides.lead, 0)
				d.figure("crosstalk by the return", g.Common.Figure(f), 20*math.Log10(cmplx.Abs(common/(impedance(f, s.sides.ohms)+common))))
			}
		}
	}
	return d, nil
}
