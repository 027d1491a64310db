package review

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/response"
)

// polarityBand is the band in which a response without its delay has a phase near 0 or π.
var polarityBand = response.Band{Low: 200, High: 2000}

// AbsolutePolarity returns the mean over the seatings of the cosine of the phase from 200 Hz to 2
// kHz. Near 1, a positive sample gives a rise in pressure at the microphone; near −1, a fall. This
// assumes a microphone of positive polarity unless its calibration says otherwise. It is not known
// if the phase is not known.
func (s *Side) AbsolutePolarity() response.Figure {
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

// GroupDelay returns −dφ/dω of the side in ms at the frequencies of its response, averaged over the
// seatings and over a third of an octave. The overall delay is removed. Its uncertainty is that of
// the mean, from the scatter of the seatings; nil for one seating. It has no points if the phase is
// not known.
func (s *Side) GroupDelay() response.Curve {
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

// TimeDifference returns the time in µs by which the left side is later than the right. It is the
// mean over the seatings that have both sides in one recording, and not known if the sides were
// recorded one after the other.
func (r *Results) TimeDifference() response.Figure {
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

// DelayDifference returns the group delay of left minus that of right in ms against frequency. The
// overall delay of each side is removed.
func (r *Results) DelayDifference() response.Curve {
	if r.Left == nil || r.Right == nil {
		return response.Curve{}
	}
	left, right := r.Left.GroupDelay(), r.Right.GroupDelay()
	if len(left.Frequency) == 0 || len(right.Frequency) != len(left.Frequency) {
		return response.Curve{}
	}
	for i := range left.Level {
		left.Level[i] -= right.Level[i]
		if left.Uncertainty != nil && right.Uncertainty != nil {
			left.Uncertainty[i] = math.Hypot(left.Uncertainty[i], right.Uncertainty[i])
		}
	}
	if right.Uncertainty == nil {
		left.Uncertainty = nil
	}
	return left
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

// meanBetween returns the mean of the values at the points from low to high, or NaN if there is
// none.
func meanBetween(at, values []float64, low, high float64) float64 {
	sum, n := 0.0, 0
	for i, f := range at {
		if f >= low && f <= high && i < len(values) {
			sum += values[i]
			n++
		}
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
