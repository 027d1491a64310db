package response

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
)

// ErrOtherRig means that curves from different rigs are combined. To combine them anyway, clear one
// Rig.
var ErrOtherRig = errors.New("curves were measured on different rigs")

// Curve is a level against frequency, with its reference, its rig, its uncertainty and the band in
// which it is valid. It is a value: its methods return new curves and do not change the receiver. A
// returned curve has its own slices.
type Curve struct {
	// Frequency is in Hz, above zero and strictly ascending.
	Frequency []float64
	// Level is in dB re Reference, one per frequency; NaN where it is not known.
	Level []float64
	// Uncertainty is the standard uncertainty (k = 1) of each level in dB. It is nil if it is not
	// known at any frequency, and NaN where it is not known.
	Uncertainty []float64
	// Components are the components of Uncertainty, each with its correlation along frequency; nil
	// if they are not known. With and the methods of Curve keep both consistent.
	Components []CurveComponent
	// Reference says what 0 dB is: "the direct recording", "20 µPa".
	Reference string
	// Rig says in words on which rig the curve was measured. It is empty for a curve that belongs
	// to no rig, such as a flat target.
	Rig string
	// Valid is the band in which the levels are known.
	Valid Band
}

// NewCurve checks a curve from outside and returns it with its valid band set to the range of its
// frequencies. The slices are kept, not copied.
func NewCurve(frequency, level []float64) (Curve, error) {
	if len(frequency) != len(level) {
		return Curve{}, fmt.Errorf("response: a curve needs one level per frequency; there are %d frequencies and %d levels",
			len(frequency), len(level))
	}
	if len(frequency) < 2 {
		return Curve{}, fmt.Errorf("response: a curve needs at least two points; there are %d", len(frequency))
	}
	for i, f := range frequency {
		if !(f > 0) || math.IsInf(f, 0) {
			return Curve{}, fmt.Errorf("response: frequency %v Hz at point %d; frequencies are above zero", f, i+1)
		}
		if i > 0 && f <= frequency[i-1] {
			return Curve{}, fmt.Errorf(
				"response: %v Hz at point %d comes after %v Hz; sort the points by ascending frequency and keep one of each",
				f, i+1, frequency[i-1])
		}
		if math.IsInf(level[i], 0) {
			return Curve{}, fmt.Errorf("response: infinite level at %v Hz; leave out what is not known", f)
		}
	}
	return Curve{Frequency: frequency, Level: level, Valid: Band{frequency[0], frequency[len(frequency)-1]}}, nil
}

// clone returns a copy that shares no memory with c.
func (c Curve) clone() Curve {
	c.Frequency, c.Level, c.Uncertainty = slices.Clone(c.Frequency), slices.Clone(c.Level), slices.Clone(c.Uncertainty)
	c.Components = slices.Clone(c.Components)
	return c
}

// At returns the level in dB at f Hz, interpolated linearly in dB against the logarithm of
// frequency. Outside the valid band, beyond the points, or beside a level that is not known, it is
// NaN.
func (c Curve) At(f float64) float64 { return c.interpolate(c.Level, f) }

// UncertaintyAt returns the standard uncertainty in dB at f Hz, interpolated like the level; NaN
// where it is not known.
func (c Curve) UncertaintyAt(f float64) float64 {
	if c.Uncertainty == nil {
		return math.NaN()
	}
	return c.interpolate(c.Uncertainty, f)
}

// edge is the relative tolerance within which a frequency equals an end of the curve: the rounding
// of a grid computed by exponentials.
const edge = 1e-9

// Figure returns the level at f Hz in dB with its standard uncertainty and the components of that,
// interpolated as At is.
func (c Curve) Figure(f float64) Figure {
	if c.Components != nil {
		return c.propagate(func(effect Curve) float64 { return effect.At(f) }).Figure(c.At(f), "dB")
	}
	return Figure{Value: c.At(f), Uncertainty: c.UncertaintyAt(f), Unit: "dB"}
}

func (c Curve) interpolate(values []float64, f float64) float64 {
	n := len(c.Frequency)
	if n == 0 || !c.Valid.holds(f) {
		return math.NaN()
	}
	if f < c.Frequency[0] && f >= c.Frequency[0]*(1-edge) {
		f = c.Frequency[0]
	}
	if last := c.Frequency[n-1]; f > last && f <= last*(1+edge) {
		f = last
	}
	i := sort.SearchFloat64s(c.Frequency, f)
	switch {
	case i == n:
		return math.NaN()
	case c.Frequency[i] == f:
		return values[i]
	case i == 0:
		return math.NaN()
	}
	x := math.Log(f/c.Frequency[i-1]) / math.Log(c.Frequency[i]/c.Frequency[i-1])
	return values[i-1] + x*(values[i]-values[i-1])
}

// Resample returns the curve at other frequencies (Hz, ascending), by At.
func (c Curve) Resample(frequency []float64) Curve {
	out := c
	out.Frequency, out.Level, out.Uncertainty = slices.Clone(frequency), make([]float64, len(frequency)), nil
	if c.Uncertainty != nil {
		out.Uncertainty = make([]float64, len(frequency))
	}
	for i, f := range frequency {
		out.Level[i] = c.At(f)
		if c.Uncertainty != nil {
			out.Uncertainty[i] = c.UncertaintyAt(f)
		}
	}
	if c.Components != nil && !slices.Equal(frequency, c.Frequency) {
		out.Components = slices.Clone(c.Components)
		for n, one := range c.Components {
			out.Components[n].Effects = make([][]float64, len(one.Effects))
			for k, effect := range one.Effects {
				if effect == nil {
					continue
				}
				at := make([]float64, len(frequency))
				for i, f := range frequency {
					at[i] = c.interpolate(effect, f)
				}
				out.Components[n].Effects[k] = at
			}
		}
	}
	return out
}

// Within returns the curve with its valid band narrowed to b. Levels outside b become not known.
func (c Curve) Within(b Band) Curve {
	out := c.clone()
	out.Valid = c.Valid.Intersect(b)
	for i, f := range c.Frequency {
		if !out.Valid.holds(f) {
			out.Level[i] = math.NaN()
		}
	}
	return out
}

// Offset returns the curve raised by gain dB.
func (c Curve) Offset(gain float64) Curve {
	out := c.clone()
	for i := range out.Level {
		out.Level[i] += gain
	}
	return out
}

// NormaliseAt returns the curve shifted so that its level at f Hz is 0 dB. It returns an error if
// the curve is not known at f.
func (c Curve) NormaliseAt(f float64) (Curve, error) {
	level := c.At(f)
	if math.IsNaN(level) {
		return Curve{}, fmt.Errorf(
			"response: cannot normalise at %s: the curve is known over %v; choose a frequency inside it",
			FormatFrequency(f), c.Valid)
	}
	out := c.Offset(-level)
	out.Reference = "level at " + FormatFrequency(f)
	return out, nil
}

// MeanOver returns the mean level in dB over a band, with the same weight for every octave. Levels
// that are not known are left out; the mean is NaN if no level in the band is known.
func (c Curve) MeanOver(b Band) float64 {
	var sum, weight float64
	for i, w := range c.octaveWeights() {
		if v := c.Level[i]; b.Contains(c.Frequency[i]) && c.Valid.Contains(c.Frequency[i]) && !math.IsNaN(v) {
			sum += w * v
			weight += w
		}
	}
	return sum / weight
}

// octaveWeights returns for each point the width in octaves of its cell: from half-way to the point
// below to half-way to the point above, on a logarithmic axis.
func (c Curve) octaveWeights() []float64 {
	n := len(c.Frequency)
	weights := make([]float64, n)
	for i := 1; i < n; i++ {
		half := math.Log2(c.Frequency[i]/c.Frequency[i-1]) / 2
		weights[i-1] += half
		weights[i] += half
	}
	return weights
}

// Add returns c + other in dB at the frequencies of c, where both are known. Uncertainties combine
// by root sum of squares (JCGM 100:2008, 5.1.2), after common components were added or, in Sub,
// have cancelled. Curves of two different rigs give ErrOtherRig; to combine them all the same,
// clear one Rig.
func (c Curve) Add(other Curve) (Curve, error) { return c.combine(other, 1) }

// Sub returns c − other in dB, otherwise like Add. If both have the same reference it drops out,
// and 0 dB is then the other curve.
func (c Curve) Sub(other Curve) (Curve, error) {
	out, err := c.combine(other, -1)
	if err == nil && c.Reference == other.Reference {
		out.Reference = "the other curve"
	}
	return out, err
}

func (c Curve) combine(other Curve, sign float64) (Curve, error) {
	if c.Rig != "" && other.Rig != "" && c.Rig != other.Rig {
		return Curve{}, fmt.Errorf("response: %w: %q and %q; measure both on one rig", ErrOtherRig, c.Rig, other.Rig)
	}
	o := other.Resample(c.Frequency)
	out := c.clone()
	if out.Rig == "" {
		out.Rig = other.Rig
	}
	out.Valid = c.Valid.Intersect(other.Valid)
	for i, f := range c.Frequency {
		out.Level[i] = c.At(f) + sign*o.Level[i]
	}
	switch {
	case c.Uncertainty == nil || o.Uncertainty == nil: // a missing uncertainty is not a small one
		out.Uncertainty, out.Components = nil, nil
	case c.Components != nil || o.Components != nil:
		return out.withComponents(addComponents(c.components(), sign, o.components())), nil
	default:
		for i, u := range o.Uncertainty {
			out.Uncertainty[i] = math.Hypot(out.Uncertainty[i], u)
		}
	}
	return out, nil
}

// LogGrid returns the frequencies 1000 · 2^(k/perOctave) Hz, for whole numbers k, from low to high
// Hz. The grid is anchored at 1 kHz, so grids over different bands share their points. It contains
// low and high only if they are such frequencies themselves, as 125 and 8000 Hz are and 20 Hz is
// not. It is nil if there are none, or if the limits are not above zero and finite, or so
// small that a thousandth of them is zero in double precision. LogGrid panics for more than a
// million frequencies.
func LogGrid(low, high float64, perOctave int) []float64 {
	if !(low/1000 > 0 && high >= low) || perOctave < 1 || math.IsInf(high, 0) {
		return nil
	}
	n := float64(perOctave)
	// A small tolerance keeps an end that lies on the grid from being lost to rounding.
	first, last := math.Ceil(n*math.Log2(low/1000)-1e-9), math.Floor(n*math.Log2(high/1000)+1e-9)
	if last-first > 1e6 {
		panic("response: a grid of more than a million frequencies")
	}
	var grid []float64
	for k := first; k <= last; k++ {
		grid = append(grid, 1000*math.Exp2(k/n))
	}
	return grid
}
