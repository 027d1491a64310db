package claim

import (
	"math"
	"slices"

	"example.com/earnest/internal/grid"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// narrow is the least width in octaves of a dip or a peak inside a range that counts: those
// narrower than 1/9 octave are neglected (IEC 60268-5, effective frequency range, from memory).
const narrow = 1. / 9

// slack is the part of an octave by which the last point of a grid may miss the end of a range.
const slack = 1. / 20

// stretch is a run of frequencies at which the answer is the same.
type stretch struct {
	answer  target.Answer
	known   bool
	band    response.Band
	worst   FigureAt // the figure with the smallest margin
	spare   float64
	touches bool // it reaches an end of the range
}

// conclude decides a claim about a whole range. A No anywhere decides; then a part that is not
// known; then one that cannot be decided. The arguments what and limit are as for decided.
func (e Evidence) conclude(runs []stretch, what, limit string) Verdict {
	// The known part beside a gap does not decide, but the reason mentions it.
	besides := map[target.Answer]string{target.Yes: "; the known part meets the claim",
		target.CannotTell: "; the known part is too near the limit to tell"}
	gap := slices.IndexFunc(runs, func(s stretch) bool { return !s.known })
	for _, answer := range []target.Answer{target.No, target.CannotTell, target.Yes} {
		there := slices.DeleteFunc(slices.Clone(runs), func(s stretch) bool { return !s.known || s.answer != answer })
		if len(there) == 0 {
			continue
		}
		worst := least(there, func(s stretch) float64 { return s.spare }).worst
		if answer == target.No || gap < 0 {
			return settled(answer, worst, what, limit)
		}
		cause, why := e.ends(runs[gap].band)
		return undecided(cause, worst, "%s, so %v cannot be decided%s", why, runs[gap].band, besides[answer])
	}
	cause, why := e.ends(runs[gap].band)
	return undecided(cause, none("dB"), "%s, so %v cannot be decided", why, runs[gap].band)
}

// ends returns the reason why nothing is known in a band.
func (e Evidence) ends(b response.Band) (Cause, string) {
	half := float64(e.SampleRate) / 2
	switch mic := e.Microphone; {
	case e.SampleRate > 0 && b.High > half && (mic.Empty() || mic.High >= half):
		return SampleRateEnds, "a sample rate of " + response.FormatFrequency(2*half) + " ends at " +
			response.FormatFrequency(half)
	case !mic.Empty() && b.High > mic.High*(1+1e-9):
		return MicrophoneEnds, "the microphone is known up to " + response.FormatFrequency(mic.High)
	case !mic.Empty() && b.Low < mic.Low*(1-1e-9):
		return MicrophoneEnds, "the microphone is known from " + response.FormatFrequency(mic.Low)
	}
	return ResponseEnds, "the response is not known over " + b.String()
}

// survey goes through a range and returns the stretches that count: those that are wide enough, or
// reach an end.
func survey(d target.Deviation, over response.Band, low, high float64) []stretch {
	var runs []stretch
	all := figures(d, over)
	open := notShown(all, low, high)
	for _, m := range all {
		answer := target.Decide(m.Figure, low, high, confidence)
		if answer == target.No && target.Decide(m.Figure, low, high,
			1-(1-confidence)/places(open, m.DegreesOfFreedom)) != target.No {
			answer = target.CannotTell
		}
		if n := len(runs); n == 0 || runs[n-1].answer != answer || runs[n-1].known != m.Known() {
			run := stretch{answer: answer, known: m.Known(), band: response.Band{Low: m.Frequency},
				spare: math.Inf(1), worst: m}
			// A gap extends from the last known point to the next.
			if n > 0 && !run.known {
				run.band.Low = runs[n-1].band.High
			}
			if n > 0 && !runs[n-1].known {
				runs[n-1].band.High = m.Frequency
			}
			runs = append(runs, run)
		}
		run := &runs[len(runs)-1]
		run.band.High = m.Frequency
		if spare := min(m.Value-low, high-m.Value); spare < run.spare {
			run.spare, run.worst = spare, m
		}
	}
	runs[0].touches, runs[len(runs)-1].touches = true, true
	return slices.DeleteFunc(runs, func(s stretch) bool {
		width := math.Log2(s.band.High / s.band.Low)
		if !s.known {
			return width < slack && len(runs) > 1
		}
		return !s.touches && width < narrow && s.answer != target.Yes
	})
}

// notShown returns the width in octaves of the part of a range that is not shown to be within the
// limits.
func notShown(all []FigureAt, low, high float64) float64 {
	var octaves float64
	for i, m := range all[1:] {
		if m.Known() && target.Decide(m.Figure, low, high, confidence) != target.Yes {
			octaves += math.Log2(m.Frequency / all[i].Frequency)
		}
	}
	return octaves
}

// places returns the number of independent places at which a response at its limit, over a number
// of octaves, could exceed it by chance. Only a response beyond the simultaneous bound for all of
// these places is not met. With a bound for a single place, a curve at its limit everywhere would
// be beyond it in a third of all measurements. The number was fitted to draws of seatings that
// scatter with a correlation of a third of an octave. With 2, 4 and 8 degrees of freedom, a claim
// at its limit over eight octaves is then called not met in 1, 3 and 4 % of draws.
func places(octaves, freedom float64) float64 {
	if freedom == 0 {
		freedom = math.Inf(1)
	}
	return max(1, octaves*(3.5+10/freedom))
}

// figures returns a deviation at its points in a range and at its ends, with no gap wider than 1/24
// octave.
func figures(d target.Deviation, over response.Band) []FigureAt {
	var out []FigureAt
	for _, f := range grid.Union(over.Low, over.High, []float64{over.Low, over.High}, d.Curve.Frequency,
		response.LogGrid(over.Low, over.High, 24)) {
		out = append(out, FigureAt{f, d.Curve.Figure(f)})
	}
	return out
}
