package response

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Scope says which measurements share an error: all within the scope have the same error.
type Scope int

// The scopes, the narrowest first.
const (
	OneSeating    Scope = iota // one time that the pair was put on
	OneSide                    // one side of one pair
	OneMicrophone              // all recordings with one microphone
	OnePair                    // both sides and all seatings of one pair
	OneRig                     // all measurements on one rig
	Everything                 // all measurements
)

// String returns the scope in words.
func (s Scope) String() string {
	names := []string{"one seating", "one side", "one microphone", "one pair", "everything on the rig", "everything"}
	if s < 0 || int(s) >= len(names) {
		return fmt.Sprintf("Scope(%d)", int(s))
	}
	return names[s]
}

// Names of the causes that recordings show by themselves.
const (
	NoiseOfRecording  = "noise of the recording"
	ScatterOfSeatings = "scatter of seatings"
)

// Cause is a cause of uncertainty.
type Cause struct {
	// Name is its name in a report: "microphone".
	Name string
	// CommonTo is the scope of the error, and Key names its instance, such as the microphone's
	// name. Two causes are the same error if Name, CommonTo and Key are equal. The error then
	// cancels in a difference of two figures, as far as its effects on both are equal. A cause
	// without a Key equals no other, unless it is common to Everything.
	CommonTo Scope
	Key      string
	// DegreesOfFreedom are those of the estimate of its size; 0 means infinitely many, as for a
	// certificate.
	DegreesOfFreedom float64
	// Estimate names the estimate of variance from which the size comes, if several causes share
	// it, such as the scatter pooled over two sides. Its degrees of freedom then count once.
	Estimate string
}

// same reports whether both are one error.
func (c Cause) same(other Cause) bool {
	return c.Name == other.Name && c.CommonTo == other.CommonTo && c.Key == other.Key &&
		(c.Key != "" || c.CommonTo == Everything)
}

// Component is the effect of one cause on a figure.
type Component struct {
	Cause
	// Effects are the errors of the figure, with sign and in its unit, for an error of the cause by
	// one standard uncertainty. A cause with several independent parts has one effect for each,
	// such as a microphone whose errors in the bass and in the treble are independent.
	Effects []float64
}

// Variance returns the sum of the squares of the effects.
func (c Component) Variance() float64 { return floats.Dot(c.Effects, c.Effects) }

// Budget lists the components of a figure's uncertainty.
type Budget []Component

// Figure returns a value with its combined standard uncertainty, the root of the sum of the
// variances (JCGM 100:2008, 5.1.2), and its degrees of freedom by Welch and Satterthwaite,
// u⁴/Σ(u_i⁴/ν_i) (G.4.1). The uncertainty of a nil Budget is not known; that of an empty one is 0.
//
// The formula is for many degrees of freedom. With few, and another component beside, a 95 %
// interval is too narrow. It is so most where the estimated component is about three times the
// other: it then holds the truth in 87 % of cases with one degree of freedom, as from two seatings
// of one side, in 92 % with two, and in 94 % with four.
func (b Budget) Figure(value float64, unit string) Figure {
	f := Figure{Value: value, Uncertainty: math.NaN(), Unit: unit, Budget: b}
	if b != nil {
		f.Uncertainty, f.DegreesOfFreedom = b.combined()
	}
	return f
}

func (b Budget) combined() (uncertainty, degreesOfFreedom float64) {
	var square, fourth float64
	for i, c := range b {
		v := c.Variance()
		square += v
		if c.Estimate != "" {
			if slices.ContainsFunc(b[:i], func(before Component) bool { return before.Estimate == c.Estimate }) {
				continue // counted with the first
			}
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

// Plus returns the budget of a figure plus factor times another one. The effects of common causes
// are added before they are squared, so that with −1 they cancel. It is nil if either budget is.
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

// CurveComponent is the effect of one cause on a curve.
type CurveComponent struct {
	Cause
	// Effects are the errors of the curve in dB at each of its frequencies, each for an error of
	// one independent part of the cause by one standard uncertainty. The sum of their squares is
	// the variance at one frequency, that of their products the covariance of two. A nil effect is
	// zero. The slices are shared between curves and never written to.
	Effects [][]float64
}

// With returns the curve with one more cause of uncertainty, of u(f) dB standard uncertainty at f
// Hz, NaN where that is not known. Its errors are correlated over a number of octaves: at
// frequencies that far apart they are independent. With math.Inf(1) there is one error for all
// frequencies, and with 0 an independent one for each point of the curve.
//
// Knots stand that many octaves L apart, counted from 1 kHz. Each has its own error, which reaches
// to its neighbours as cos(π/2·|x − x_j|/L), x = log2 f. Since cos² + sin² = 1, the variance is u²
// at every frequency. Curves over different bands have the same knots, so that a cause which they
// share cancels. With panics for octaves below 0, or between 0 and 1/24.
func (c Curve) With(cause Cause, u func(f float64) float64, octaves float64) Curve {
	const least = 1. / 24
	if !(octaves == 0 || octaves >= least*(1-edge)) {
		panic(fmt.Sprintf("response: errors correlated over %v octaves; give 0, or at least 1/24", octaves))
	}
	added := CurveComponent{Cause: cause}
	put := func(k, i int, v float64) { // of part k at point i
		if added.Effects[k] == nil {
			added.Effects[k] = make([]float64, len(c.Frequency))
		}
		added.Effects[k][i] = v
	}
	switch {
	case math.IsInf(octaves, 1):
		added.Effects = make([][]float64, 1)
		for i, f := range c.Frequency {
			put(0, i, u(f))
		}
	case octaves == 0:
		added.Effects = make([][]float64, len(c.Frequency))
		for i, f := range c.Frequency {
			put(i, i, u(f))
		}
	default:
		const reach = 10 // octaves to either side of 1 kHz
		knots := math.Ceil(reach / octaves)
		added.Effects = make([][]float64, 2*int(knots)+1)
		for i, f := range c.Frequency {
			size, place := u(f), math.Log2(f/1000)/octaves
			below := math.Floor(place + knots)
			for k := max(0, below-1); k <= min(2*knots, below+2); k++ {
				if away := math.Abs(place - (k - knots)); away < 1 {
					put(int(k), i, math.Cos(math.Pi/2*away)*size)
				}
			}
		}
	}
	return c.withComponents(append(c.components(), added))
}

// withComponents returns the curve with other components, and the uncertainty from them.
func (c Curve) withComponents(all []CurveComponent) Curve {
	out := c.clone()
	variance := make([]float64, len(c.Frequency))
	for _, one := range all {
		for _, effect := range one.Effects {
			for i, v := range effect {
				variance[i] += v * v
			}
		}
	}
	for i, v := range variance {
		variance[i] = math.Sqrt(v)
	}
	out.Components, out.Uncertainty = all, variance
	return out
}

// Refreshed returns the curve with the uncertainty of its components, after they were changed by
// hand. A curve without components is returned unchanged.
func (c Curve) Refreshed() Curve {
	if c.Components == nil {
		return c
	}
	return c.withComponents(c.Components)
}

// statedCorrelation is the number of octaves over which the errors of a curve are taken as
// correlated if it states an uncertainty without components. It is an assumption.
const statedCorrelation = 1

// components returns the components of the curve in a new slice. If the curve states an uncertainty
// without components, the result is one component.
func (c Curve) components() []CurveComponent {
	stated := slices.ContainsFunc(c.Uncertainty, func(u float64) bool { return u != 0 })
	if c.Components != nil || !stated {
		return slices.Clone(c.Components)
	}
	own := c
	own.Uncertainty = nil
	return own.With(Cause{Name: "stated uncertainty", CommonTo: OnePair}, c.UncertaintyAt, statedCorrelation).Components
}

// propagate returns the effects of the curve's components on a quantity that is linear in its
// levels, such as the level at one frequency, a mean over a band, or a tilt. It is nil if the
// curve's uncertainty is not known.
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

// HalfWidth returns half of the interval, in dB per frequency, that holds the true level with a
// probability such as 0.95: the quantile of Student's t, with the degrees of freedom at that
// frequency, times the standard uncertainty. It is nil if the uncertainty is not known. HalfWidth
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
		if half[i] = f.Uncertainty; half[i] != 0 {
			half[i] *= f.Coverage((1 + probability) / 2)
		}
	}
	return half
}

// addComponents returns components of a plus factor times those of b, on one grid. Effects of
// common causes are added one by one.
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
