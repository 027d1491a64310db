package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
	"example.com/earnest/target"
	"example.com/earnest/target/change"
)

// Results holds everything measured of a pair and, after Judge, the judgement. Pages, tables and
// data files are written from it alone.
type Results struct {
	// About, Config and Seatings say what was measured, how, and in how many seatings.
	About    About
	Config   Config
	Seatings int
	// Left and Right are the sides; nil for a side that was not recorded.
	Left, Right *Side
	// Mean is the mean response of both sides, or the response of the only side, with its
	// components.
	Mean response.Curve
	// Phase of the mean in radians, one per frequency of Mean.
	Phase []float64
	// Difference is left minus right in dB. Components common to both sides, such as that of a
	// single microphone, have cancelled. It has no points if there is only one side.
	Difference response.Curve
	// Polarity is the correlation of the impulse responses of left and right, averaged over the
	// seatings that have both. Near 1 they have the same polarity, near −1 opposite polarity.
	Polarity response.Figure
	// TimeDifference is the time in µs by which the left side is later than the right. It is the
	// mean over the seatings that have both sides in one recording, and not known if the sides were
	// recorded one after the other.
	TimeDifference response.Figure
	// DelayDifference is the group delay of left minus that of right in ms against frequency. The
	// overall delay of each side is removed. It has no points if either is not known.
	DelayDifference response.Curve
	// Findings are about the recordings, the most severe of each first.
	Findings []response.Finding
	// Notes are sentences about the measurement: clocks corrected, repeats and seatings left out,
	// outlying seatings.
	Notes []string
	// NotIncluded names the usual components of uncertainty that are not stated and so not included
	// in any interval.
	NotIncluded []string
	// Programmes are the results of music and speech.
	Programmes []*Programme
	// Sound holds the results in sound pressure; nil without a calibrator.
	Sound *Sound
	// Drive is how the pair was driven. Impedance, the change of the response by the amplifier's
	// output impedance, isolation, and sound leakage are nil if they were not measured.
	Drive        Drive
	Impedance    *level.Impedance
	OutputLoss   *response.Curve
	Isolation    *level.BandLevels
	SoundLeakage *level.SoundLeakage
	// Changes are the changes between the conditions of measurement, and Specimens the differences
	// between several specimens of the model. The caller sets them with package change; nil if
	// nothing was compared.
	Changes   []change.Change
	Specimens *change.Specimens
	// Judgement is nil before Judge.
	Judgement *Judgement

	sampleRate int // Hz, the lowest sample rate of the recordings behind the response
}

// Measure measures each side in every seating that was accepted, from the recordings of the
// stimulus or, on a bench without one, from music and speech alone. Distortion, impulse response,
// decay and phase need an exponential sweep and are then not known.
//
// A seating in which the stimulus is not found, or a piece that cannot be compared, is left out and
// named. If nothing of a side is left, a finding says so and the other side is measured. If nothing
// of both is left, the error says why.
func (p *Pair) Measure() (*Results, error) {
	r := &Results{About: p.about, Config: p.bench.config, Seatings: len(p.seatings),
		Drive: p.drive, Impedance: p.impedance, Isolation: p.isolation, SoundLeakage: p.leakage}
	p.last = Material{} // its recordings are no longer needed
	p.forgetSamples()
	var err error
	if r.OutputLoss, err = p.outputLoss(); err != nil {
		return nil, err
	}
	measure, add := p.side, "add one with Seat"
	if stimulus := p.bench.config.Stimulus; stimulus != nil {
		r.sampleRate = stimulus.Signal().SampleRate()
	} else {
		measure, add = p.sideOfMaterial, "add music or speech with Play"
		r.sampleRate = p.rateOfMaterial()
	}
	var wrong [2]error
	r.Left, wrong[0] = measure(sweep.Left)
	r.Right, wrong[1] = measure(sweep.Right)
	if len(r.Sides()) == 0 {
		return nil, cmp.Or(wrong[0], wrong[1], fmt.Errorf("review: %s has no seating; %s", p.about.Name, add))
	}
	if err := r.combine(p.onePlacement()); err != nil {
		return nil, err
	}
	p.report(r)
	for k, err := range wrong {
		if err != nil {
			f := doubt(p.about.Name, Unusable, response.Unfit)
			f.What = fmt.Sprintf("the %v side is not known, since none of its recordings is fit to use",
				sweep.Left+sweep.Side(k))
			f.Remedy = "see the findings about them, and record that side again"
			r.Findings = append(r.Findings, f)
		}
	}
	if err := p.loudness(r); err != nil {
		return nil, err
	}
	for _, side := range r.Sides() {
		side.summarise()
	}
	r.TimeDifference = r.timeDifference()
	if err := p.groupDelays(r); err != nil {
		return nil, err
	}
	for _, m := range p.materials {
		one := *m.Programme
		if p.bench.config.Stimulus != nil {
			if err := p.bench.agree(r, &one); err != nil {
				return nil, err
			}
			one.Residuals = p.bench.residuals(&one, r.side(one.Side))
		}
		one.FilterBefore = math.NaN()
		if one.Residuals != nil {
			one.FilterBefore = filterBefore(r.side(one.Side).Seatings[0])
		}
		one.powers = nil
		r.Programmes = append(r.Programmes, &one)
	}
	r.NotIncluded = p.notIncluded(r)
	return r, nil
}

// Sides returns the sides that were measured, left first.
func (r *Results) Sides() []*Side {
	var sides []*Side
	for _, s := range []*Side{r.Left, r.Right} {
		if s != nil {
			sides = append(sides, s)
		}
	}
	return sides
}

// combine calculates the results of both sides together.
//
// Sides that were placed one at a time scatter independently, and their scatter is pooled. If both
// were recorded in one placement, their scatter may be correlated. The scatter of mean and
// difference is then that of the means and differences of the single seatings.
func (r *Results) combine(onePlacement bool) error {
	switch {
	case r.Left == nil:
		r.Mean, r.Phase = r.Right.Response(), r.Right.Phase
		return nil
	case r.Right == nil:
		r.Mean, r.Phase = r.Left.Response(), r.Left.Phase
		return nil
	}
	r.Phase = response.MeanPhase(r.Left.Phase, r.Right.Phase)
	var err error
	if r.Mean, r.Difference, err = response.PoolSides(r.Left.Average, r.Right.Average); err != nil || !onePlacement {
		return err
	}
	mean, difference, err := r.perSeating()
	if err != nil || len(mean) < 2 || len(mean) != max(len(r.Left.Seatings), len(r.Right.Seatings)) {
		return err
	}
	for _, one := range []struct {
		seatings []response.Curve
		into     *response.Curve
	}{{mean, &r.Mean}, {difference, &r.Difference}} {
		a, err := response.AverageOf(one.seatings)
		if err != nil {
			return err
		}
		*one.into = a.Level
	}
	return nil
}

// perSeating returns the mean of the sides and left less right for each seating that has both
// sides. If no seating has both, it returns the mean only.
func (r *Results) perSeating() (mean, difference []response.Curve, err error) {
	if r.Left == nil || r.Right == nil {
		return r.Sides()[0].curves(), nil, nil
	}
	right := map[int]response.Curve{}
	for _, reading := range r.Right.Seatings {
		right[reading.seating] = reading.Response
	}
	for _, left := range r.Left.Seatings {
		other, both := right[left.seating]
		if !both {
			continue
		}
		middle, err := response.MeanLevel(left.Response, other)
		if err != nil {
			return nil, nil, err
		}
		apart, err := left.Response.Sub(other)
		if err != nil {
			return nil, nil, err
		}
		mean, difference = append(mean, middle), append(difference, apart)
	}
	if len(mean) == 0 {
		return []response.Curve{r.Mean}, []response.Curve{r.Difference}, nil
	}
	if len(r.Difference.Level) == 0 { // not known
		difference = nil
	}
	return mean, difference, nil
}

// Pair returns the pair in the form that ranking and judging take.
func (r *Results) Pair() target.Pair {
	return target.Pair{Name: r.About.Name, Seatings: []response.Curve{r.Mean}}
}

// report gathers findings and notes.
func (p *Pair) report(r *Results) {
	for _, from := range []*recordings{p.bench.direct, p.recordings} {
		for _, rec := range from.order {
			r.Findings = append(r.Findings, from.findings[rec]...)
		}
		r.Findings = append(r.Findings, from.doubts...)
		r.Notes = append(r.Notes, from.notes...)
	}
	for _, m := range []*level.Calibration{p.bench.microphone, p.bench.microphoneRight} {
		if m == nil {
			continue
		}
		for _, f := range m.Findings {
			r.Notes = append(r.Notes, "microphone: "+f.String()+".")
		}
	}
	if p.twoMicrophones() && p.bench.microphone != nil && p.bench.microphoneRight == nil {
		r.Notes = append(r.Notes, "Left and right were recorded at once, and so by two microphones, but "+
			"there is only one calibration. It is used for both, so the difference of the two microphones "+
			"is part of the channel balance (L−R); give the right side's microphone its own calibration.")
	}
	r.Notes = append(append(r.Notes, p.bench.notes...), p.inScatter(r)...)
	for _, side := range []sweep.Side{sweep.Left, sweep.Right} {
		if one := p.bench.parts[side]; one != nil && one.further != nil {
			r.Findings = append(r.Findings, one.further.findings...)
		}
	}
	both := r.bothSides()
	for _, side := range r.Sides() {
		for _, reading := range side.withFurther() {
			r.Findings = append(r.Findings, reading.Further.findings...)
		}
		r.Findings = append(r.Findings, side.checkSeatings(p.uses, both)...)
		r.Notes = append(r.Notes, side.notes()...)
	}
	r.Findings = append(r.Findings, slices.Concat(r.checkSides(p.uses), r.checkBothSides(both, p.uses))...)
}
