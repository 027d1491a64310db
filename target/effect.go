package target

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/internal/grid"
	"example.com/earnest/response"
)

// meanOf returns the mean level of curves at the points of all, where all are known. Its components
// are their scatter and the components that they share.
func meanOf(curves []response.Curve) (response.Curve, error) {
	if len(curves) == 1 {
		return curves[0], nil
	}
	var grids [][]float64
	for i, c := range curves {
		if c.Rig != curves[0].Rig {
			return response.Curve{}, fmt.Errorf("seatings 1 and %d: %w: %q and %q; average curves of one rig",
				i+1, response.ErrOtherRig, curves[0].Rig, c.Rig)
		}
		grids = append(grids, c.Frequency)
	}
	on := slices.Clone(curves)
	on[0] = curves[0].Resample(distinct(grid.Union(0, math.Inf(1), grids...)))
	a, err := response.AverageOf(on)
	if err != nil {
		return response.Curve{}, err
	}
	return a.Level, nil
}

// withComponents returns a difference with components. If it states an uncertainty without them,
// the uncertainty becomes one component that is correlated over a number of octaves.
func withComponents(difference response.Curve, octaves float64) response.Curve {
	if difference.Uncertainty == nil || difference.Components != nil {
		return difference
	}
	bare := difference
	if isZero(difference.Uncertainty) {
		octaves = math.Inf(1)
	} else if points := grid.Union(difference.Frequency[0], difference.Frequency[len(difference.Frequency)-1],
		difference.Frequency,
		response.LogGrid(difference.Valid.Low, difference.Valid.High, int(math.Ceil(16/octaves)))); !math.IsInf(octaves, 1) &&
		len(points) > len(bare.Frequency) {
		bare = bare.Resample(distinct(points)) // so that linear interpolation follows the correlation
	}
	bare.Uncertainty = nil
	return bare.With(response.Cause{
		Name:     fmt.Sprintf("the stated uncertainty (errors taken as correlated over %v octaves)", octaves),
		CommonTo: response.OnePair},
		difference.UncertaintyAt, octaves)
}

func isZero(u []float64) bool { return !slices.ContainsFunc(u, func(v float64) bool { return v != 0 }) }

// sources says in words what the uncertainty of the figures includes, or why it is not known.
func sources(c response.Curve, t Target, difference response.Curve) string {
	var missing []string
	if c.Uncertainty == nil {
		missing = append(missing, "one seating does not show how much seatings differ")
	}
	if t.Curve.Uncertainty == nil {
		missing = append(missing, fmt.Sprintf("the target %q does not state its uncertainty", t.Name))
	}
	if len(missing) > 0 {
		return "not known: " + strings.Join(missing, "; ")
	}
	var names []string
	for _, one := range difference.Components {
		if isEffective(one) && !slices.Contains(names, one.Name) {
			names = append(names, one.Name)
		}
	}
	if len(names) == 0 {
		return "none: the compared curves are taken as exact"
	}
	return "from " + strings.Join(names, ", ")
}

// isEffective reports whether a component remains, beyond rounding, after cancellation.
func isEffective(c response.CurveComponent) bool {
	return slices.ContainsFunc(c.Effects, func(effect []float64) bool {
		return slices.ContainsFunc(effect, func(v float64) bool { return !(math.Abs(v) < rounding) })
	})
}
