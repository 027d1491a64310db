package target

import (
	"math"

	"example.com/earnest/response"
)

// MaxDeviation is where the response strays furthest from its target.
type MaxDeviation struct {
	// Level is the deviation there, in dB, with its sign. Its uncertainty is that of
	// the deviation at this frequency. Since the place was chosen for its height, the
	// reading is too high rather than too low, and its interval reaches further
	// towards zero: as far as one that holds at all frequencies at once.
	Level response.Figure
	// Frequency in Hz; NaN when nothing is known.
	Frequency float64
	// Band is the stretch about Frequency over which the deviation keeps at
	// least half of Level, without a break. It ends where the judged band or
	// what is known ends.
	Band response.Band
}

// furthest returns the place among the points of the largest deviation, which
// lies at a point since the difference is straight between them; −1 when nothing
// is known. Where the weight is zero it is not judged.
func (p *plan) furthest(d []float64, w Weight) int {
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

// maxDeviation describes the deviation about the place of its largest.
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

// halfway walks from the point top in steps of ±1 until the deviation falls
// below half, and returns the frequency in Hz of that place.
func (p *plan) halfway(d []float64, top, step int) float64 {
	half := d[top] / 2
	i := top
	for next := i + step; next >= 0 && next < len(d) && !math.IsNaN(d[next]); next += step {
		// Divided by half, both signs are alike and 1 is half-way down.
		a, b := d[i]/half-1, d[next]/half-1
		if b < 0 {
			x, y := p.points[i].x, p.points[next].x
			return math.Exp2(x + a/(a-b)*(y-x))
		}
		i = next
	}
	return p.points[i].f
}

// chosenEnds are the ends of the interval of a level at the place where it is largest: away from zero
// Student's, and towards zero that of a band that holds the whole curve. Such a band is that of as many
// independent places as there are sixths of an octave: over ten octaves its quantiles are 10.0, 5.2 and
// 3.6 for 4, 8 and 30 degrees of freedom, as simulated with errors that keep together over a third of
// an octave.
type chosenEnds struct {
	response.Figure
	octaves float64
}

func (c chosenEnds) Ends(probability float64) (low, high float64) {
	near := c.Coverage(1-(1-probability)/2/max(1, 6*c.octaves)) * c.Uncertainty
	far := c.Coverage((1+probability)/2) * c.Uncertainty
	near = min(near, math.Abs(c.Value)+far) // of so few seatings it would reach far to the other side of zero
	if c.Value < 0 {
		return c.Value - far, c.Value + near
	}
	return c.Value - near, c.Value + far
}
