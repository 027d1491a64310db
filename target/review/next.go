package review

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
	"example.com/earnest/target/claim"
)

// Progress says what a review already has: the number of recordings that are fit to use.
type Progress struct {
	// Has counts the recordings by role; a recording of both sides counts once. Left and Right are
	// the numbers of seatings of each side.
	Has         map[Role]int
	Left, Right int
	// Asked are the questions of the stimulus beyond the response. Driven says that the voltage at
	// the headphones is known.
	Asked  []sweep.Question
	Driven bool
	// Claims of the maker to judge.
	Claims []claim.Claim
}

// enoughSeatings is the recommended number of seatings of each side. Three give half the interval
// of two, and their scatter shows how much the next would differ (package response, PoolSides).
const enoughSeatings = 3

// Steps returns the steps of a review in the best order of recording. The first that is not done is
// next.
func (p Progress) Steps() []Step {
	has := func(r Role) bool { return p.Has[r] > 0 }
	steps := []Step{{Role: DirectSweep, Done: has(DirectSweep), What: "the direct recording: outputs patched into inputs",
		Why: "It removes the interface and the recorder from all other results."}}
	steps = append(steps, p.beside()...)
	for n := 1; n <= max(enoughSeatings, p.Left, p.Right); n++ {
		for _, one := range []struct {
			side sweep.Side
			have int
		}{{sweep.Left, p.Left}, {sweep.Right, p.Right}} {
			steps = append(steps, Step{Role: ThroughSweep, Side: one.side, Done: one.have >= n, Loud: true,
				Optional: n > 1,
				What:     fmt.Sprintf("seating %d, the %v cup on the microphone", n, one.side), Why: p.whySeating(n)})
		}
	}
	pieces := has(ThroughPiece)
	return append(steps,
		Step{Role: DirectPiece, Done: pieces || has(DirectPiece), Optional: true,
			What: "a piece of music or speech, direct",
			Why:  "It shows whether the sweep's result holds for music and speech."},
		Step{Role: ThroughPiece, Done: pieces, Optional: true, Loud: true, What: "the same piece through the headphones",
			Why: "As above; one side is enough."},
		Step{Role: DirectSweep, Done: p.Has[DirectSweep] > 1, Optional: true,
			What: "the direct recording once more, at the end",
			Why:  "Its difference from the first shows how far the rig drifted."})
}

func (p Progress) whySeating(n int) string {
	switch n {
	case 1:
		return "It gives the response."
	case 2:
		return "Take the pair off and put it on again: one seating does not show how much the next would differ."
	}
	return "Take the pair off and put it on again: each seating narrows the interval."
}

// beside returns the steps that claims need beyond the sweep, before the pair is put on.
func (p Progress) beside() (steps []Step) {
	add := func(s Step, because claim.Claim) {
		if !slices.ContainsFunc(steps, func(t Step) bool { return t.What == s.What }) {
			s.Why = "The claim needs it: " + because.String() + "."
			steps = append(steps, s)
		}
	}
	calibrator := Step{Role: CalibratorTone, Done: p.Has[CalibratorTone] > 0,
		What: "the calibrator on the microphone, recorded at the gain of the recordings through the headphones"}
	question := func(q sweep.Question, because claim.Claim) {
		add(Step{Done: slices.Contains(p.Asked, q), What: fmt.Sprintf("a stimulus with a part for %s (-with "+
			"%s)", q, q)},
			because)
	}
	for _, c := range p.Claims {
		switch one := c.(type) {
		case claim.Sensitivity:
			add(calibrator, c)
			add(Step{Done: p.Driven, What: "the voltage of a sine at the headphones, in [drive]"}, c)
		case claim.MaximumLevel:
			add(calibrator, c)
			question(sweep.AskLevels, c)
		case claim.Distortion:
			if one.Level > 0 {
				add(calibrator, c)
			}
		case claim.Impedance:
			add(Step{Role: ImpedanceNoise, Done: p.Has[ImpedanceNoise] > 0,
				What: "noise across a known resistor and the headphones, one channel across both, one across the headphones"}, c)
		case claim.AtMost:
			if one.What == claim.Crosstalk {
				question(sweep.AskCrosstalk, c)
			} else {
				question(sweep.AskModulation, c)
			}
		}
	}
	return steps
}

// Step is one step of a review.
type Step struct {
	// Role of the recording that the step needs; empty if it needs none.
	Role Role
	// Side to record next, for a recording through the headphones.
	Side      sweep.Side
	What, Why string
	// Done says that the step is done. An Optional step improves the review and may be left out. A
	// Loud one plays through the headphones, so the cautions come before it.
	Done, Optional, Loud bool
}

// SeatingGain is the effect of one more seating of each side on the interval of a figure.
type SeatingGain struct {
	Figure string // in words
	// Now and Then are half of the 95 % interval in dB now and with one more seating, as the median
	// from 100 Hz to 10 kHz; NaN if not known, as with one seating.
	Now, Then float64
}

// OneMoreSeating predicts the intervals of the response and of left less right after one more
// seating of each side. It assumes that the next seatings scatter like those so far:
//
//	U = t_ν s √(1/n)  becomes  t_ν′ s √(1/(n+1)),
//
// with the components that seatings share unchanged. In the mean over drawn sessions the prediction
// is right to 5 % from three seatings on. From two seatings it is 12 % too narrow, since s from few
// degrees of freedom is too low.
func (r *Results) OneMoreSeating() []SeatingGain {
	all := []SeatingGain{{Figure: "response", Now: typicalHalf(r.Mean), Then: typicalHalf(oneMore(r.Mean))}}
	if r.Left != nil && r.Right != nil {
		all = append(all, SeatingGain{Figure: "channel balance (L−R)", Now: typicalHalf(r.Difference),
			Then: typicalHalf(oneMore(r.Difference))})
	}
	return all
}

// oneMore returns a curve as with one more seating in each group from which its scatter comes: m
// residuals with ν degrees of freedom come from m − ν groups.
func oneMore(c response.Curve) response.Curve {
	c.Components = slices.Clone(c.Components)
	for i, one := range c.Components {
		m := float64(len(one.Effects))
		groups := m - one.DegreesOfFreedom
		if one.Estimate == "" || !(groups >= 1) {
			continue
		}
		one.Effects = slices.Clone(one.Effects)
		for k, effect := range one.Effects {
			one.Effects[k] = floats.ScaleTo(make([]float64, len(effect)), math.Sqrt(m/(m+groups)), effect)
		}
		one.DegreesOfFreedom += groups
		c.Components[i] = one
	}
	return c.Refreshed()
}

// typicalHalf returns the median of half of the 95 % interval from 100 Hz to 10 kHz in dB; NaN if
// the interval does not include the scatter of seatings.
func typicalHalf(c response.Curve) float64 {
	if !slices.ContainsFunc(c.Components, func(one response.CurveComponent) bool { return one.Estimate != "" }) {
		return math.NaN()
	}
	var known []float64
	for i, h := range c.HalfWidth(0.95) {
		if f := c.Frequency[i]; f >= 100 && f <= 10000 && !math.IsNaN(h) {
			known = append(known, h)
		}
	}
	return statistic.Median(known)
}
