package target

import (
	"math"

	"example.com/earnest/response"
)

// MaxDeviation is the largest deviation of a response from its target.
type MaxDeviation struct {
	// Level is the deviation there, in dB, with its sign. Its uncertainty is that of the deviation
	// at this frequency. The place was chosen for its height, so the reading tends to be too high.
	// Its interval therefore reaches further towards zero: as far as one that holds at all
	// frequencies at once.
	Level response.Figure
	// Frequency is in Hz; NaN if nothing is known.
	Frequency float64
	// Band is the stretch about Frequency over which the deviation stays at half of Level or more,
	// without a break. It ends at the end of the judged band or of the known part.
	Band response.Band
}

// chosenEnds computes the interval of a level at the place where it is largest. Away from zero the
// interval is Student's. Towards zero it is that of a simultaneous band for the whole curve, with
// one independent place for each sixth of an octave. Over ten octaves the quantiles of that band
// are 10.0, 5.2 and 3.6 for 4, 8 and 30 degrees of freedom, as simulated with errors correlated
// over a third of an octave.
type chosenEnds struct {
	response.Figure
	octaves float64
}

func (c chosenEnds) Ends(probability float64) (low, high float64) {
	near := c.Coverage(1-(1-probability)/2/max(1, 6*c.octaves)) * c.Uncertainty
	far := c.Coverage((1+probability)/2) * c.Uncertainty
	near = min(near, math.Abs(c.Value)+far) // with so few seatings it would reach far to the other side of zero
	if c.Value < 0 {
		return c.Value - far, c.Value + near
	}
	return c.Value - near, c.Value + far
}

// furthest returns the index of the point with the largest deviation, or −1 if nothing is known.
// The maximum lies at a point, since the difference is straight between points. Points of zero
// weight do not count.
func (p *plan) furthest(d []float64, w weight) int {
	top := -1
	for i, v := range d {
		if math.IsNaN(v) || top >= 0 && math.Abs(v) <= math.Abs(d[top]) {
			continue
		}
		joined := i > 0 && !math.IsNaN(d[i-1]) || i+1 < len(d) && !math.IsNaN(d[i+1])
		if joined && w(p.points[i].f) > 0 {
			top = i
		}
	}
	return top
}

// maxDeviation describes the deviation about its largest value.
func (p *plan) maxDeviation(d []float64, top int) MaxDeviation {
	if top < 0 {
		return MaxDeviation{Level: figure(math.NaN(), "dB"), Frequency: math.NaN()}
	}
	return MaxDeviation{
		Level:     figure(d[top], "dB"),
		Frequency: p.points[top].f,
		Band:      response.Band{Low: p.halfway(d, top, -1), High: p.halfway(d, top, +1)},
	}
}

// halfway goes from the point top in steps of ±1 until the deviation falls below half of its value
// there, and returns the frequency in Hz of that place.
func (p *plan) halfway(d []float64, top, step int) float64 {
	half := d[top] / 2
	i := top
	for next := i + step; next >= 0 && next < len(d) && !math.IsNaN(d[next]); next += step {
		// Divided by half, the values have the same sign for both signs of the deviation, and 1 is
		// half-way down.
		a, b := d[i]/half-1, d[next]/half-1
		if b < 0 {
			x, y := p.points[i].x, p.points[next].x
			return math.Exp2(x + a/(a-b)*(y-x))
		}
		i = next
	}
	return p.points[i].f
}
