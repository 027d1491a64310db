package response

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Scope says what an error is common to: whatever is measured within it is off by the same amount.
type Scope int

// The scopes, the narrowest first.
const (
	OneSeating    Scope = iota // one time that the pair was put on
	OneSide                    // one side of one pair
	OneMicrophone              // all that is recorded with one microphone
	OnePair                    // both sides and all seatings of one pair
	OneRig                     // all that is measured on one rig
	Everything                 // all that is measured
)

// String is the scope in words.
func (s Scope) String() string {
	names := []string{"one seating", "one side", "one microphone", "one pair", "everything on the rig", "everything"}
	if s < 0 || int(s) >= len(names) {
		return fmt.Sprintf("Scope(%d)", int(s))
	}
	return names[s]
}

// Cause is something that makes a figure unsure.
type Cause struct {
	// Name is how a report calls it: "microphone".
	Name string
	// CommonTo says what it is common to, and Key which of these: the microphone's name, say. Two
	// causes are the same error where Name, CommonTo and Key are equal; it cancels in a difference
	// of two figures as far as it does the same to both. A cause without a Key is one of its own,
	// unless it is common to Everything.
	CommonTo Scope
	Key      string
	// DegreesOfFreedom are those of the estimate of its size; 0 stands for so many that it does not
	// matter, as for a certificate.
	DegreesOfFreedom float64
	// Estimate names the estimate of variance that the size rests on, where several causes share
	// one: the scatter that is pooled over two sides. Its degrees of freedom then count once.
	Estimate string
}

// same reports whether both are one error.
func (c Cause) same(other Cause) bool {
	return c.Name == other.Name && c.CommonTo == other.CommonTo && c.Key == other.Key &&
		(c.Key != "" || c.CommonTo == Everything)
}

// Component is what one cause does to a figure.
type Component struct {
	Cause
	// Effects are by how much the figure would be off, with its sign and in its unit, were the
	// cause off by one standard uncertainty. A cause that has several independent parts, as a
	// microphone that errs differently in the bass and in the treble, has one effect for each.
	Effects []float64
}

// Variance is the sum of the squares of the effects.
func (c Component) Variance() float64 { return floats.Dot(c.Effects, c.Effects) }

// Budget is what a figure's uncertainty is made of.
type Budget []Component

// Figure returns a value with the standard uncertainty that the components come to together, the
// root of the sum of their variances (JCGM 100:2008, 5.1.2), and its degrees of freedom by Welch and
// Satterthwaite, u⁴/Σ(u_i⁴/ν_i) (G.4.1). The uncertainty of a nil Budget is not known; that of an
// empty one is 0.
func (b Budget) Figure(value float64, unit string) Figure {
	f := Figure{Value: value, Uncertainty: math.NaN(), Unit: unit, Budget: b}
	if b != nil {
		f.Uncertainty, f.DegreesOfFreedom = b.combined()
	}
	return f
}

func (b Budget) combined() (uncertainty, degreesOfFreedom float64) {
	var square, fourth float64
	counted := map[string]bool{}
	for i, c := range b {
		v := c.Variance()
		square += v
		if c.Estimate != "" {
			if counted[c.Estimate] {
				continue
			}
			counted[c.Estimate] = true
			for _, other := range b[i+1:] {
				if other.Estimate == c.Estimate {
					v += other.Variance()
				}
			}
		}
		if c.DegreesOfFreedom > 0 {
			fourth += v * v / c.DegreesOfFreedom
		}
	}
	if fourth > 0 {
		degreesOfFreedom = square * square / fourth
	}
	return math.Sqrt(square), degreesOfFreedom
}

// Plus returns the budget of a figure plus factor times another one. What both have in common adds
// up before it is squared, so that with −1 it cancels. It is nil where one of them is.
func (b Budget) Plus(factor float64, other Budget) Budget {
	if b == nil || other == nil {
		return nil
	}
	out := make(Budget, 0, len(b)+len(other))
	for _, c := range b {
		c.Effects = slices.Clone(c.Effects)
		out = append(out, c)
	}
	for _, c := range other {
		i := slices.IndexFunc(out, func(have Component) bool { return have.same(c.Cause) })
		if i < 0 {
			out, i = append(out, Component{Cause: c.Cause}), len(out)
		}
		for len(out[i].Effects) < len(c.Effects) {
			out[i].Effects = append(out[i].Effects, 0)
		}
		floats.AddScaled(out[i].Effects[:len(c.Effects)], factor, c.Effects)
	}
	return out
}

// CurveComponent is what one cause does to a curve.
type CurveComponent struct {
	Cause
	// Effects are by how many dB the curve would be off at each of its frequencies, were one of the
	// independent parts of the cause off by one standard uncertainty. Their squares add up to the
	// variance at one frequency, their products to the covariance of two. One that is nil has no
	// effect on the curve. The slices are shared between curves and never written to.
	Effects [][]float64
}

// With returns the curve with one more cause of uncertainty, of u(f) dB standard uncertainty at f
// Hz, NaN where that is not known. Its errors keep together over so many octaves: at one frequency
// and at another that many octaves away they have nothing to do with each other. With math.Inf(1)
// there is one error for all frequencies, and with 0 one for each point of the curve.
//
// Knots stand that many octaves L apart, counted from 1 kHz, each with an error of its own that
// reaches to its neighbours as cos(π/2·|x − x_j|/L), x = log2 f. Since cos² + sin² = 1, the variance
// is u² at every frequency; and curves over different bands have the same knots, so that a cause
// which they share cancels. It panics for octaves below 0, or between 0 and 1/24.
func (c Curve) With(cause Cause, u func(f float64) float64, octaves float64) Curve {
	const least = 1. / 24
	if !(octaves == 0 || octaves >= least*(1-edge)) {
		panic(fmt.Sprintf("response: errors that keep together over %v octaves; say 0, or at least 1/24", octaves))
	}
	added := CurveComponent{Cause: cause}
	parts, at := len(c.Frequency), func(k, i int) bool { return i == k }
	weight := func(int, float64) float64 { return 1 }
	switch {
	case math.IsInf(octaves, 1):
		parts, at = 1, func(int, int) bool { return true }
	case octaves > 0:
		const reach = 10 // octaves to either side of 1 kHz
		knots := math.Ceil(reach / octaves)
		parts = 2*int(knots) + 1
		away := func(k int, f float64) float64 { return math.Abs(math.Log2(f/1000)/octaves - (float64(k) - knots)) }
		at = func(k, i int) bool { return away(k, c.Frequency[i]) < 1 }
		weight = func(k int, f float64) float64 { return math.Cos(math.Pi / 2 * away(k, f)) }
	}
	size := make([]float64, len(c.Frequency))
	for i, f := range c.Frequency {
		size[i] = u(f)
	}
	added.Effects = make([][]float64, parts)
	for k := range added.Effects {
		for i, f := range c.Frequency {
			if !at(k, i) {
				continue
			}
			if added.Effects[k] == nil {
				added.Effects[k] = make([]float64, len(c.Frequency))
			}
			added.Effects[k][i] = weight(k, f) * size[i]
		}
	}
	return c.withComponents(append(c.components(), added))
}

// withComponents returns the curve with other components, and the uncertainty that they come to.
func (c Curve) withComponents(all []CurveComponent) Curve {
	out := c.clone()
	out.Components, out.Uncertainty = all, make([]float64, len(c.Frequency))
	for _, one := range all {
		for _, effect := range one.Effects {
			for i, v := range effect {
				out.Uncertainty[i] = math.Hypot(out.Uncertainty[i], v)
			}
		}
	}
	return out
}

// Refreshed returns the curve with the uncertainty that its components come to, after they were
// changed by hand. A curve without components is returned as it is.
func (c Curve) Refreshed() Curve {
	if c.Components == nil {
		return c
	}
	return c.withComponents(c.Components)
}

// statedCorrelation is over how many octaves the errors are taken to keep together of a curve that
// states an uncertainty and no components. It is an assumption.
const statedCorrelation = 1

// components are those of the curve, on a slice of their own. What uncertainty is stated without
// any is one of them.
func (c Curve) components() []CurveComponent {
	stated := slices.ContainsFunc(c.Uncertainty, func(u float64) bool { return u != 0 })
	if c.Components != nil || !stated {
		return slices.Clone(c.Components)
	}
	own := c
	own.Uncertainty = nil
	return own.With(Cause{Name: "stated uncertainty", CommonTo: OnePair}, c.UncertaintyAt, statedCorrelation).Components
}

// propagate returns what the curve's components do to a quantity that is linear in its levels, such
// as the level at one frequency, a mean over a band, or a tilt. It is nil where the curve does not
// know its uncertainty.
func (c Curve) propagate(linear func(Curve) float64) Budget {
	if c.Uncertainty == nil {
		return nil
	}
	budget := Budget{}
	for _, one := range c.components() {
		component := Component{Cause: one.Cause, Effects: make([]float64, len(one.Effects))}
		for k, effect := range one.Effects {
			if effect != nil {
				component.Effects[k] = linear(Curve{Frequency: c.Frequency, Level: effect, Valid: c.Valid})
			}
		}
		budget = append(budget, component)
	}
	return budget
}

// HalfWidth is half of the interval, in dB per frequency, that holds the true level with a
// probability such as 0.95: the quantile of Student's t, with the degrees of freedom at that
// frequency, times the standard uncertainty. It is nil where the uncertainty is not known, and
// panics unless 0 < probability < 1.
func (c Curve) HalfWidth(probability float64) []float64 {
	checkProbability(probability)
	if c.Uncertainty == nil {
		return nil
	}
	half, all := make([]float64, len(c.Frequency)), c.components()
	at := make(Budget, len(all))
	for i := range half {
		for k, one := range all {
			at[k] = Component{Cause: one.Cause, Effects: at[k].Effects[:0]}
			for _, effect := range one.Effects {
				if effect != nil {
					at[k].Effects = append(at[k].Effects, effect[i])
				}
			}
		}
		f := at.Figure(0, "dB")
		half[i] = f.Coverage((1+probability)/2) * f.Uncertainty
	}
	return half
}

// addComponents returns components of a plus factor times those of b, on one grid. What both have in common
// adds up effect by effect.
func addComponents(a []CurveComponent, factor float64, b []CurveComponent) []CurveComponent {
	out := slices.Clone(a)
	for _, c := range b {
		i := slices.IndexFunc(out, func(have CurveComponent) bool { return have.same(c.Cause) })
		if i < 0 {
			out, i = append(out, CurveComponent{Cause: c.Cause}), len(out)
		}
		effects := make([][]float64, max(len(out[i].Effects), len(c.Effects)))
		copy(effects, out[i].Effects)
		for k, effect := range c.Effects {
			switch {
			case effect == nil:
			case effects[k] == nil:
				effects[k] = floats.ScaleTo(make([]float64, len(effect)), factor, effect)
			default:
				effects[k] = floats.AddScaledTo(make([]float64, len(effect)), effects[k], factor, effect)
			}
		}
		out[i].Effects = effects
	}
	return out
}
