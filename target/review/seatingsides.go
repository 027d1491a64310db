package review

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
)

// A seating that has both sides may be of a pair that was turned round, so that each side holds the
// other driver, or of another pair.
//
// Drawn sessions with 1 to 3 times the usual scatter of seatings in 0.5 % at most look like a pair
// turned round, and in none do both sides change alike by as much as mostBothSides. The scatter is
// 0.3 dB to 0.4 dB in these octaves, where a leak does not reach and position changes little. So
// both sides of a seating that stands apart seldom rise or fall by mostBetween by chance.
const (
	turnedRound   = 0.3 // rms that exchanged sides leave, re that of the sides as they are named
	leastTurned   = 1.0 // dB rms, of twice the difference of the sides
	mostBothSides = 2.0 // dB rms, without a gain
	alikeOnBoth   = 0.8 // correlation of the changes of both sides
)

var (
	driverBand = response.Band{Low: 300, High: 6000} // where drivers of a pair differ and fit changes little
	pairBand   = response.Band{Low: 500, High: 4000}
)

// bothSides are the readings of one seating.
type bothSides struct {
	left, right *Reading
	exchanged   bool    // left is like right of the others, and right like left
	change      float64 // dB rms over pairBand against the others, if both sides change alike
	level       float64 // dB over pairBand against the others, if both sides rise or both fall: the smaller
}

// alike reports whether both sides are off as by another pair.
func (s bothSides) alike() bool { return s.change > mostBothSides || s.level > mostBetween }

// bothSides compares the seatings that have both sides.
func (r *Results) bothSides() (all []bothSides) {
	if r.Left == nil || r.Right == nil {
		return nil
	}
	for _, left := range r.Left.Seatings {
		for _, right := range r.Right.Seatings {
			if left.seating == right.seating {
				all = append(all, bothSides{left: left, right: right})
			}
		}
	}
	if len(all) < 2 {
		return nil
	}
	if i := exchangedSides(all); i >= 0 {
		all[i].exchanged = true
	}
	for i := range all {
		all[i].change, all[i].level = changeOfBoth(all, i)
	}
	return all
}

// checkBothSides names a seating in which left and right are exchanged against the others, and two
// seatings of two pairs. Of three seatings and more, one of another pair is an outlier.
func (r *Results) checkBothSides(all []bothSides, uses []use) []response.Finding {
	known := func(f response.Finding) bool { return f.Kind == fitness.SwappedSides }
	if len(all) == 0 || slices.ContainsFunc(r.Findings, known) {
		return nil
	}
	first, last := all[0].left.Name, all[len(all)-1]
	if i := slices.IndexFunc(all, func(s bothSides) bool { return s.exchanged }); i >= 0 {
		others, where := "the other seatings", "it"
		if len(all) == 2 { // either may be the wrong one
			others, where = first, "one of the two"
		}
		f := doubt(recordingOf(uses, all[i].left), fitness.SwappedSides, response.Warning)
		f.What = fmt.Sprintf("left in %s is like right in %s, and right like left: "+
			"the pair or its plugs were turned round in %s, so the mean of each side is of both drivers",
			all[i].left.Name, others, where)
		f.Remedy = "look which cup is left, and exchange the recordings of that seating in the session, or record it again"
		return []response.Finding{f}
	}
	if len(all) != 2 || !(last.change > mostBothSides) {
		return nil
	}
	f := doubt(recordingOf(uses, last.left), Outlying, response.Warning)
	f.What = fmt.Sprintf("%s differs from %s by %.1f dB rms over %v, alike on both sides, as by %s",
		last.left.Name, first, last.change, pairBand, otherPair)
	f.Remedy = "check that both are of this pair, in the same place and without an equaliser, and record a third seating"
	f.Figures = map[string]response.Figure{"difference": {Value: last.change, Unit: "dB"}}
	return []response.Finding{f}
}

// otherPair lists the causes that change both sides alike above the frequencies of a leak.
const otherPair = "another pair, other cushions, another place on the rig, or an equaliser"

// exchangedSides returns the number of the only seating in which left less right is, but for a
// gain, the opposite of its mean over the others; −1 if there is none. Of two it is the second.
func exchangedSides(all []bothSides) int {
	sides := make([][]float64, len(all))
	for i, s := range all {
		if sides[i] = shapeOf(s.left.Response, s.right.Response, driverBand); sides[i] == nil ||
			len(sides[i]) != len(sides[0]) {
			return -1
		}
	}
	found := -1
	for i := range sides {
		others := slices.Delete(slices.Clone(sides), i, i+1)
		if len(others) == 0 || len(others) == 1 && i == 0 {
			continue
		}
		mean := make([]float64, len(sides[i]))
		for _, o := range others {
			floats.AddScaled(mean, 1/float64(len(others)), o)
		}
		as := distance(sides[i], mean)
		floats.Scale(-1, mean)
		if !(as > leastTurned && distance(sides[i], mean) < turnedRound*as) {
			continue
		}
		if found >= 0 {
			return -1
		}
		found = i
	}
	return found
}

// changeOfBoth returns the smaller change over pairBand of both sides of a seating against the mean
// of the others: in dB rms without a gain, or 0 if the sides do not change alike, and of the mean
// level in dB, or 0 if one side rises and the other falls.
func changeOfBoth(all []bothSides, index int) (shape, level float64) {
	others := slices.Delete(slices.Clone(all), index, index+1)
	var changes [2][]float64
	var levels [2]float64
	for k, side := range [2]func(bothSides) response.Curve{
		func(s bothSides) response.Curve { return s.left.Response },
		func(s bothSides) response.Curve { return s.right.Response },
	} {
		var curves []response.Curve
		for _, o := range others {
			curves = append(curves, side(o))
		}
		mean, err := response.MeanLevel(curves...)
		if err != nil {
			return 0, 0
		}
		changes[k] = shapeOf(side(all[index]), mean, pairBand)
		levels[k] = side(all[index]).MeanOver(pairBand) - mean.MeanOver(pairBand)
	}
	if levels[0]*levels[1] > 0 {
		level = min(math.Abs(levels[0]), math.Abs(levels[1]))
	}
	if changes[0] == nil || len(changes[0]) != len(changes[1]) ||
		!(stat.Correlation(changes[0], changes[1], nil) > alikeOnBoth) {
		return 0, level
	}
	return math.Sqrt(min(statistic.MeanSquare(changes[0]), statistic.MeanSquare(changes[1]))), level
}

// shapeOf returns the difference of two curves in a band less its mean, or nil if less than an
// octave is known.
func shapeOf(a, b response.Curve, band response.Band) []float64 {
	difference, err := a.Sub(b)
	if err != nil {
		return nil
	}
	_, level := levelsIn(difference, band)
	if len(level) < PerOctave {
		return nil
	}
	floats.AddConst(-stat.Mean(level, nil), level)
	return level
}

// distance returns the rms of the difference of two slices.
func distance(a, b []float64) float64 { return floats.Distance(a, b, 2) / math.Sqrt(float64(len(a))) }
