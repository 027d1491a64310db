package fitness

import (
	"math"
	"math/cmplx"
)

// leastTurn is the least change of the phase of the sweep in radians that counts.
const leastTurn = 0.3

// phaseTurn returns the change of the phase of the sweep at a sample in radians, or 0 if it is less
// than leastTurn or not known. It is above zero where samples are missing. A click does not change
// it; missing samples do, unless they are whole periods. It compares four stretches of four
// periods, and at least 3 ms, with the sweep that was played, two before and two after. It
// subtracts the steady turn of the phase from the device's delay.
func (c *channel) phaseTurn(at int) float64 {
	if c.placed == nil {
		return 0
	}
	s := c.Stimulus.Sweep()
	for _, repeat := range c.Stimulus.Sweeps(c.side) {
		first := c.recordedAt(repeat.Start)
		f := s.FrequencyAt((float64(at) - first) / c.fs)
		if math.IsNaN(f) {
			continue
		}
		length := math.Max(4/f, 0.003) * c.fs
		var z [4]complex128
		for k := range z {
			z[k] = c.demodulated(first, float64(at)+(float64(k)-2)*length+8*math.Copysign(1, float64(k)-1.5), length)
			if z[k] == 0 {
				return 0
			}
		}
		before, across, after := cmplx.Phase(z[1]/z[0]), cmplx.Phase(z[2]/z[1]), cmplx.Phase(z[3]/z[2])
		if turn := math.Remainder(across-(before+after)/2, 2*math.Pi); math.Abs(turn) > leastTurn {
			return turn
		}
		return 0
	}
	return 0
}

// demodulated returns the mean product of the recording and the conjugate of the sweep that began
// at first, over a stretch under a Hann window. It is 0 if the stretch does not lie within the
// sweep.
func (c *channel) demodulated(first, from, length float64) complex128 {
	s := c.Stimulus.Sweep()
	var sum complex128
	for i := int(from); i < int(from+length); i++ {
		phase := s.PhaseAt((float64(i) - first) / c.fs)
		if i < 0 || i >= len(c.x) || math.IsNaN(phase) {
			return 0
		}
		w := 1 - math.Cos(2*math.Pi*(float64(i)-from)/length)
		sum += cmplx.Rect(w*(c.x[i]-c.offset), -phase)
	}
	return sum
}
