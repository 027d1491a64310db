package review

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
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

// groupDelay returns that of a reading in ms, without its uncertainty.
func (r *Reading) groupDelay() response.Curve {
	c := response.Curve{Frequency: r.Response.Frequency, Level: make([]float64, len(r.Phase)),
		Valid: r.Response.Valid, Reference: "ms"}
	frequency, delay := r.Transfer.Frequencies(), r.Transfer.GroupDelay()
	for i, f := range c.Frequency {
		low, high := delayEdges(f)
		c.Level[i] = 1e3 * meanBetween(frequency, delay, low, high)
		if math.IsNaN(r.Phase[i]) {
			c.Level[i] = math.NaN()
		}
	}
	return c
}

// groupDelay returns the mean of a side's group delay over its seatings, with the scatter and with
// the errors that all seatings share; nil if it is not known.
func (s *Side) groupDelay(direct *parts) (*response.Average, error) {
	var curves []response.Curve
	var known []*Reading
	for _, r := range s.Seatings {
		if r.Transfer != nil && len(r.Phase) > 0 {
			known, curves = append(known, r), append(curves, r.groupDelay())
		}
	}
	if len(curves) == 0 {
		return nil, nil
	}
	mean, err := response.AverageOf(curves)
	if err != nil {
		return nil, err
	}
	mean.Level.Components = append(mean.Level.Components, known[0].delayErrors()...)
	mean.Level = mean.Level.Refreshed()
	if direct != nil {
		mean.Level = direct.withDelayNoise(mean.Level, use{side: known[0].side}.noise())
	}
	return mean, nil
}

// delayErrors returns the effects on the group delay, in ms, of the errors of the response that all
// seatings share. Their phase is taken as that of a minimum-phase response, as is that of
// microphones, couplers and cushions. With α the error in nepers, u the logarithm of frequency and
// φ in radians (H. W. Bode, Network Analysis and Feedback Amplifier Design, 1945, ch. 14, from
// memory),
//
//	φ(u) = (1/π) ∫ dα/dv ln coth(|v − u|/2) dv.
//
// The peak of the impulse response, relative to which the group delay is stated, moves too. With
// |H| and ψ the response at the peak,
//
//	δt = −∫ ω|H| (α sin ψ + φ cos ψ) dω / ∫ ω²|H| cos ψ dω.
func (r *Reading) delayErrors() (all []response.CurveComponent) {
	frequency := r.Response.Frequency
	weight := make([]float64, len(frequency)) // of φ in δt, and that of α over tan ψ
	var whole float64
	for i, f := range frequency {
		if level, psi := r.Response.Level[i], r.Phase[i]; !math.IsNaN(level) && !math.IsNaN(psi) {
			weight[i] = f * f * decibel.Amplitude(level)
			whole += 2 * math.Pi * f * weight[i] * math.Cos(psi)
		}
	}
	for _, one := range r.Response.Components {
		if one.CommonTo == response.OneSeating || one.Name == response.WindowCause || one.Name == noiseOfDirect {
			continue
		}
		effects := make([][]float64, len(one.Effects))
		for k, effect := range one.Effects {
			if effect == nil {
				continue
			}
			phase := response.Curve{Frequency: frequency, Level: minimumPhaseOf(frequency, effect),
				Valid: response.AllFrequencies}
			var moved float64
			for i, w := range weight {
				if w > 0 {
					sin, cos := math.Sincos(r.Phase[i])
					moved -= w * (effect[i]/decibel.PerNeper*sin + phase.Level[i]*cos) / whole
				}
			}
			effects[k] = make([]float64, len(frequency))
			for i, f := range frequency {
				low, high := delayEdges(f)
				low, high = max(low, frequency[0]), min(high, frequency[len(frequency)-1])
				effects[k][i] = 1e3 * (-(phase.At(high)-phase.At(low))/(2*math.Pi*(high-low)) - moved)
			}
		}
		all = append(all, response.CurveComponent{Cause: one.Cause, Effects: effects})
	}
	return all
}

// withDelayNoise adds the noise of the direct recording to a group delay in ms. A mean of the slope
// of the phase is the difference of the phases at the ends, each of which noise of a power N
// relative to the signal turns by √(N/2).
func (p *parts) withDelayNoise(c response.Curve, cause response.Cause) response.Curve {
	if len(p.floor.Frequency) == 0 {
		return c
	}
	return c.With(cause, func(f float64) float64 {
		low, high := delayEdges(f)
		var square float64
		for _, end := range []float64{max(low, c.Frequency[0]), min(high, c.Frequency[len(c.Frequency)-1])} {
			square += decibel.Power(p.floor.At(end)-p.level.At(end)) / 2
		}
		return 1e3 * math.Sqrt(square) / (2 * math.Pi * (high - low))
	}, 1./3)
}

// groupDelays sets the group delay of each side and that of left less right. The scatter of the
// sides is pooled as that of their levels is.
func (p *Pair) groupDelays(r *Results) error {
	averages := map[*Side]*response.Average{}
	for _, s := range r.Sides() {
		var err error
		if averages[s], err = s.groupDelay(p.bench.parts[s.Seatings[0].side]); err != nil {
			return err
		}
	}
	left, right := averages[r.Left], averages[r.Right]
	if left != nil && right != nil && slices.Equal(left.Level.Frequency, right.Level.Frequency) {
		_, difference, err := response.PoolSides(left, right)
		if err != nil {
			return err
		}
		if p.onePlacement() {
			difference = r.scatterTogether(difference)
		}
		r.DelayDifference = scattered(difference)
	}
	for s, a := range averages {
		if a != nil {
			s.GroupDelay = scattered(a.Level)
		}
	}
	return nil
}

// scatterTogether replaces the scatter of the sides in the difference of their group delays by that
// of the differences of single seatings, since the sides may scatter together.
func (r *Results) scatterTogether(difference response.Curve) response.Curve {
	var each []response.Curve
	for _, left := range r.Left.Seatings {
		for _, right := range r.Right.Seatings {
			if left.seating == right.seating {
				if c, err := left.groupDelay().Sub(right.groupDelay()); err == nil { // of one rig
					each = append(each, c)
				}
			}
		}
	}
	if len(each) < 2 || len(each) != max(len(r.Left.Seatings), len(r.Right.Seatings)) {
		return difference
	}
	a, err := response.AverageOf(each)
	if err != nil {
		return difference
	}
	difference.Components = append(slices.DeleteFunc(slices.Clone(difference.Components), isScatter),
		a.Level.Components...)
	return difference.Refreshed()
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

// delayEdges returns the ends of the third of an octave about f Hz over which group delay is
// averaged.
func delayEdges(f float64) (low, high float64) { return f * math.Pow(2, -1./6), f * math.Pow(2, 1./6) }

// minimumPhaseOf returns the phase in radians of a minimum-phase response with levels in dB on a
// logarithmic axis. Beyond its ends the levels stay as they are there.
func minimumPhaseOf(frequency, level []float64) []float64 {
	phase := make([]float64, len(frequency))
	for k := 1; k < len(level); k++ {
		step := (level[k] - level[k-1]) / decibel.PerNeper
		if step == 0 || math.IsNaN(step) {
			continue
		}
		middle, width := math.Sqrt(frequency[k]*frequency[k-1]), math.Log(frequency[k]/frequency[k-1])
		for i, f := range frequency {
			away := math.Abs(math.Log(middle / f))
			// The mean of ln coth over the step is ln 4e/width where the step holds f.
			if coth := math.Log(4/width) + 1; away < width/2 {
				phase[i] += step / math.Pi * coth
			} else {
				phase[i] -= step / math.Pi * math.Log(math.Tanh(away/2))
			}
		}
	}
	return phase
}

func isScatter(c response.CurveComponent) bool { return c.Name == response.ScatterOfSeatings }

// scattered returns a group delay without its uncertainty if that lacks the scatter of seatings.
func scattered(c response.Curve) response.Curve {
	if !slices.ContainsFunc(c.Components, isScatter) {
		c.Uncertainty, c.Components = nil, nil
	}
	return c
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
