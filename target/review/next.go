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

// Progress is what a review has of what it needs: how many recordings that are fit to use.
type Progress struct {
	// Has counts them by what they are, a recording of both sides once; Left and Right are the seatings of
	// each side.
	Has         map[Role]int
	Left, Right int
	// Asked are the questions that the stimulus asks beyond the response, and Driven says that the voltage
	// at the headphones is known.
	Asked  []sweep.Question
	Driven bool
	// Claims of the maker's that are to be judged.
	Claims []claim.Claim
}

// Step is something that a review needs.
type Step struct {
	// Role of the recording that it takes; empty for what takes none.
	Role Role
	// Side that comes next where it is one of the headphones: left, or right.
	Side      sweep.Side
	What, Why string
	// Done says that it is there. An Optional one makes the review better and may be left out; Loud is
	// played through the headphones, so that the cautions come before it.
	Done, Optional, Loud bool
}

// enoughSeatings is how many a review should have: three halve what two leave open, and how much the next
// differs is then known (package response, PoolSides).
const enoughSeatings = 3

// Steps are what a review needs, in the order in which it is best recorded. The first that is not done is
// what comes next.
func (p Progress) Steps() []Step {
	has := func(r Role) bool { return p.Has[r] > 0 }
	steps := []Step{{Role: DirectSweep, Done: has(DirectSweep), What: "the direct recording: outputs patched into inputs",
		Why: "It takes interface and recorder out of everything that follows."}}
	steps = append(steps, p.beside()...)
	for n := 1; n <= max(enoughSeatings, p.Left, p.Right); n++ {
		for _, one := range []struct {
			side sweep.Side
			have int
		}{{sweep.Left, p.Left}, {sweep.Right, p.Right}} {
			steps = append(steps, Step{Role: ThroughSweep, Side: one.side, Done: one.have >= n, Loud: true, Optional: n > 1,
				What: fmt.Sprintf("seating %d, the %v cup on the microphone", n, one.side), Why: p.whySeating(n)})
		}
	}
	pieces := has(ThroughPiece)
	return append(steps,
		Step{Role: DirectPiece, Done: pieces || has(DirectPiece), Optional: true, What: "a piece of music or speech, direct",
			Why: "It tells whether what a sweep says holds for what people listen to."},
		Step{Role: ThroughPiece, Done: pieces, Optional: true, Loud: true, What: "the same piece through the headphones",
			Why: "As above; either side will do."},
		Step{Role: DirectSweep, Done: p.Has[DirectSweep] > 1, Optional: true,
			What: "the direct recording once more, at the end",
			Why:  "By how much it differs from the first, the rig drifted."})
}

func (p Progress) whySeating(n int) string {
	switch n {
	case 1:
		return "The response comes from it."
	case 2:
		return "Take the pair off and put it on again: of one seating nobody knows how much the next would differ."
	}
	return "Take the pair off and put it on again: each seating narrows the interval."
}

// beside are the steps beside the sweep that claims ask for, before the pair is put on.
func (p Progress) beside() (steps []Step) {
	add := func(s Step, because claim.Claim) {
		if !slices.ContainsFunc(steps, func(t Step) bool { return t.What == s.What }) {
			s.Why = "The claim asks for it: " + because.String() + "."
			steps = append(steps, s)
		}
	}
	calibrator := Step{Role: CalibratorTone, Done: p.Has[CalibratorTone] > 0,
		What: "the calibrator on the microphone, at the gain of the recordings through the headphones"}
	question := func(q sweep.Question, because claim.Claim) {
		add(Step{Done: slices.Contains(p.Asked, q), What: fmt.Sprintf("a stimulus that asks for %s (-with %s)", q, q)},
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

// SeatingGain is what one more seating of each side would do to the interval of a figure.
type SeatingGain struct {
	Figure string // in words
	// Now and Then are half of the 95 % interval in dB, the median from 100 Hz to 10 kHz; NaN where it is
	// not known, as of one seating.
	Now, Then float64
}

// OneMoreSeating says what one more seating of each side would do to the intervals of the response and of
// left less right. It takes the seatings to scatter as much as they have: then
//
//	U = t_ν s √(1/n)  becomes  t_ν′ s √(1/(n+1)),
//
// with everything that seatings have in common left as it is. The next one may of course turn out
// otherwise. In the mean over drawn sessions the prediction is right to 5 % from three seatings on; from two
// it promises 12 % too much, since few degrees of freedom estimate s low.
func (r *Results) OneMoreSeating() []SeatingGain {
	all := []SeatingGain{{Figure: "response", Now: typicalHalf(r.Mean), Then: typicalHalf(oneMore(r.Mean))}}
	if r.Left != nil && r.Right != nil {
		all = append(all, SeatingGain{Figure: "left less right", Now: typicalHalf(r.Difference),
			Then: typicalHalf(oneMore(r.Difference))})
	}
	return all
}

// oneMore is a curve as it would be with one seating more in each group that its scatter is from: m
// residuals with ν degrees of freedom are of m − ν groups.
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

// typicalHalf is the median of half of the 95 % interval from 100 Hz to 10 kHz; NaN where the scatter of
// seatings is not in it.
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
