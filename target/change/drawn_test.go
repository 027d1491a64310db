package change_test

import (
	"math"
	"math/rand/v2"

	"example.com/earnest/response"
	"example.com/earnest/target/change"
)

// drawnGrid is as fine as package change's own. A response that is smoothed over 1/12 octave has
// nothing finer.
var drawnGrid = response.LogGrid(38, 10500, 24)

// scatter is a way in which seatings differ, in dB at x octaves above 1 kHz.
type scatter struct {
	name string
	draw func(r *rand.Rand) func(x float64) float64
	// after is how many times as much the second condition scatters, about the same mean; 0 is
	// once.
	after float64
	mean  func(x float64) float64 // of all draws; nil is none
}

// seating draws one of the second condition, or of the first.
func (s scatter) seating(r *rand.Rand, second bool) func(x float64) float64 {
	f := s.draw(r)
	if !second || s.after == 0 {
		return f
	}
	return func(x float64) float64 {
		var mean float64
		if s.mean != nil {
			mean = s.mean(x)
		}
		return mean + s.after*(f(x)-mean)
	}
}

// leaks is the expected leak below a frequency that lies anywhere in an octave, for an expected
// loss.
func leaks(loss float64) func(x float64) float64 {
	var all []func(float64) float64
	for i := range 20 {
		all = append(all, shelf(-4+(float64(i)+0.5)/20, loss/20))
	}
	return sum(all...)
}

// shelf falls by loss dB below the frequency at x0.
func shelf(x0, loss float64) func(float64) float64 {
	return func(x float64) float64 { return -loss / (1 + math.Exp2(2*(x-x0))) }
}

func bump(x0, width, height float64) func(float64) float64 {
	return func(x float64) float64 { return height * math.Exp(-(x-x0)*(x-x0)/2/width/width) }
}

func sum(all ...func(float64) float64) func(float64) float64 {
	return func(x float64) float64 {
		var v float64
		for _, f := range all {
			v += f(x)
		}
		return v
	}
}

// wandering draws errors correlated over a distance in octaves, with a standard deviation that
// grows towards the ends of the band.
func wandering(octaves float64, draw func() float64) func(float64) float64 {
	knots := make([]float64, int(12/octaves)+2)
	for i := range knots {
		knots[i] = draw()
	}
	return func(x float64) float64 {
		at := (x + 6) / octaves
		k := int(at)
		turn := math.Pi / 2 * (at - float64(k))
		return (0.25 + 0.04*x*x) * (math.Cos(turn)*knots[k] + math.Sin(turn)*knots[k+1])
	}
}

// notches move above 5 kHz.
func notches(r *rand.Rand) func(float64) float64 {
	var all []func(float64) float64
	for x := 2.3; x < 4.2; x += 0.4 {
		all = append(all, bump(x+0.4*r.Float64(), 0.08+0.08*r.Float64(), 1.5*r.NormFloat64()))
	}
	return sum(all...)
}

func level(v float64) func(float64) float64 { return func(float64) float64 { return v } }

func student(r *rand.Rand) float64 {
	var square float64
	for range 5 {
		z := r.NormFloat64()
		square += z * z
	}
	return r.NormFloat64() / math.Sqrt(square/3)
}

var scatters = []scatter{
	{name: "normal", draw: func(r *rand.Rand) func(float64) float64 {
		return sum(wandering(1, r.NormFloat64), level(0.2*r.NormFloat64()))
	}},
	{name: "bass leak and treble shifts", draw: func(r *rand.Rand) func(float64) float64 {
		return sum(shelf(-4+r.Float64(), 2*math.Abs(r.NormFloat64())), notches(r), wandering(1./3, func() float64 { return 0.3 * r.NormFloat64() }),
			level(0.2*r.NormFloat64()))
	}},
	{name: "exponential leak", draw: func(r *rand.Rand) func(float64) float64 {
		return sum(shelf(-4+r.Float64(), 2*r.ExpFloat64()), notches(r), wandering(1./3, func() float64 { return 0.3 * r.NormFloat64() }))
	}},
	{name: "heavy tails", draw: func(r *rand.Rand) func(float64) float64 {
		return sum(wandering(1./2, func() float64 { return student(r) }), level(0.3*student(r)))
	}},
	{name: "few causes", draw: func(r *rand.Rand) func(float64) float64 {
		return sum(shelf(-3.5, 1.5*r.NormFloat64()), bump(2.8, 0.3, 1.5*r.NormFloat64()), level(0.4*r.NormFloat64()))
	}},
	{name: "fine and rough", draw: func(r *rand.Rand) func(float64) float64 { return wandering(1./6, r.NormFloat64) }},
}

// unequal are the scatters whose second condition scatters more.
var unequal = []scatter{
	{name: "normal, the second condition with twice the scatter", draw: scatters[0].draw, after: 2},
	{name: "normal, after three times", draw: scatters[0].draw, after: 3},
	{name: "bass leak and so on, after 2.5 times", draw: scatters[1].draw, after: 2.5, mean: leaks(2 * math.Sqrt(2/math.Pi))},
	{name: "few causes, after three times", draw: scatters[4].draw, after: 3},
}

// curve returns a response with the deviation of one seating.
func curve(add ...func(float64) float64) response.Curve {
	f := sum(add...)
	c := response.Curve{Rig: "plate", Valid: response.Band{Low: 38, High: 10500}}
	for _, hz := range drawnGrid {
		c.Frequency = append(c.Frequency, hz)
		x := math.Log2(hz / 1000)
		c.Level = append(c.Level, 3*math.Sin(2*x)-0.5*x+f(x))
	}
	return c
}

// seated draws n seatings of each of two conditions that differ by a change, in random order or in
// turn with a drift in dB from seating to seating.
func seated(r *rand.Rand, s scatter, a, b int, by func(float64) float64, together bool, drift float64) []change.Seating {
	var all []change.Seating
	add := func(condition, placement string, parts ...func(float64) float64) {
		parts = append(parts, level(drift*float64(len(all))))
		all = append(all, change.Seating{Condition: condition, Placement: placement, Response: curve(parts...)})
	}
	for i := range max(a, b) {
		common := level(0)
		placement := ""
		if together {
			common, placement = s.draw(r), string(rune('a'+i))
		}
		if i < a {
			add("before", placement, common, s.seating(r, false))
		}
		if i < b {
			add("after", placement, common, s.seating(r, true), by)
		}
	}
	return all
}
