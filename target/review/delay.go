package review

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/response"
)

// polarityBand is the band in which a response without its delay has a phase near 0 or π.
var polarityBand = response.Band{Low: 200, High: 2000}

// absolutePolarity computes Side.AbsolutePolarity.
func (s *Side) absolutePolarity() response.Figure {
	var each []float64
	for _, r := range s.Seatings {
		var cosines []float64
		for i, f := range r.Response.Frequency {
			if i < len(r.Phase) && polarityBand.Contains(f) && !math.IsNaN(r.Phase[i]) {
				cosines = append(cosines, math.Cos(r.Phase[i]))
			}
		}
		if len(cosines) > 0 {
			each = append(each, stat.Mean(cosines, nil))
		}
	}
	return meanOf(each, "1")
}

// groupDelay computes Side.GroupDelay.
func (s *Side) groupDelay() response.Curve {
	var curves []response.Curve
	for _, r := range s.Seatings {
		if r.Transfer == nil || len(r.Phase) == 0 {
			continue
		}
		c := response.Curve{Frequency: r.Response.Frequency, Level: make([]float64, len(r.Phase)),
			Valid: r.Response.Valid, Reference: "ms"}
		frequency, delay := r.Transfer.Frequencies(), r.Transfer.GroupDelay()
		for i, f := range c.Frequency {
			c.Level[i] = 1e3 * meanBetween(frequency, delay, f*math.Pow(2, -1./6), f*math.Pow(2, 1./6))
			if math.IsNaN(r.Phase[i]) {
				c.Level[i] = math.NaN()
			}
		}
		curves = append(curves, c)
	}
	return meanCurve(curves)
}

// timeDifference computes Results.TimeDifference.
func (r *Results) timeDifference() response.Figure {
	if r.Left == nil || r.Right == nil {
		return response.NotKnown("µs")
	}
	var each []float64
	for _, left := range r.Left.Seatings {
		for _, right := range r.Right.Seatings {
			if left.seating == right.seating && left.recording != 0 && left.recording == right.recording {
				if v := 1e6 * (left.arrival - right.arrival); !math.IsNaN(v) {
					each = append(each, v)
				}
			}
		}
	}
	return meanOf(each, "µs")
}

// delayDifference computes Results.DelayDifference from the group delay of both sides.
func (r *Results) delayDifference() response.Curve {
	if r.Left == nil || r.Right == nil {
		return response.Curve{}
	}
	left, right := r.Left.GroupDelay, r.Right.GroupDelay
	if len(left.Frequency) == 0 || len(right.Frequency) != len(left.Frequency) {
		return response.Curve{}
	}
	out := left
	out.Level, out.Uncertainty = slices.Clone(left.Level), nil
	for i := range out.Level {
		out.Level[i] -= right.Level[i]
		if left.Uncertainty != nil && right.Uncertainty != nil {
			out.Uncertainty = append(out.Uncertainty, math.Hypot(left.Uncertainty[i], right.Uncertainty[i]))
		}
	}
	return out
}

// meanOf returns the mean over seatings with its standard uncertainty. With one seating the
// uncertainty is not known.
func meanOf(each []float64, unit string) response.Figure {
	if len(each) == 0 {
		return response.NotKnown(unit)
	}
	mean, deviation := stat.MeanStdDev(each, nil)
	f := response.Figure{Value: mean, Uncertainty: math.NaN(), Unit: unit}
	if n := float64(len(each)); n > 1 {
		f.Uncertainty, f.DegreesOfFreedom = deviation/math.Sqrt(n), n-1
	}
	return f
}

// meanBetween returns the mean of the values at the points from low to high, which ascend, or NaN
// if there is none.
func meanBetween(at, values []float64, low, high float64) float64 {
	sum, n := 0.0, 0
	for i := sort.SearchFloat64s(at, low); i < len(at) && at[i] <= high; i++ {
		sum += values[i]
		n++
	}
	return sum / float64(n)
}

// meanCurve returns the mean of curves on one grid, with the standard uncertainty of the mean.
func meanCurve(curves []response.Curve) response.Curve {
	if len(curves) == 0 {
		return response.Curve{}
	}
	out := curves[0]
	out.Level = make([]float64, len(out.Frequency))
	if len(curves) > 1 {
		out.Uncertainty = make([]float64, len(out.Frequency))
	}
	for i := range out.Level {
		var each []float64
		for _, c := range curves {
			if i < len(c.Level) && !math.IsNaN(c.Level[i]) {
				each = append(each, c.Level[i])
			}
		}
		f := meanOf(each, "")
		if out.Level[i] = f.Value; len(curves) > 1 {
			out.Uncertainty[i] = f.Uncertainty
		}
	}
	return out
}
