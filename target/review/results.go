package review

import (
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
	"example.com/earnest/target"
	"example.com/earnest/target/change"
)

// Results is all that was measured of a pair, and after Judge what it is worth. Pages, tables and
// files for other programs are written from it, and from nothing else.
type Results struct {
	// About, Config and Seatings say what was measured, how, and how often it was put on.
	About    About
	Config   Config
	Seatings int
	// Left and Right are the sides; nil for a side that was not recorded.
	Left, Right *Side
	// Mean is the mean response of both sides, or that of the only one, with its components.
	Mean response.Curve
	// Phase of the mean in radians, one per frequency of Mean.
	Phase []float64
	// Difference is left minus right in dB. It has no points if there is one side only.
	Difference response.Curve
	// Polarity is the correlation of the impulse responses of left and right, the mean over the
	// seatings that have both: near 1 they have the same polarity, near −1 the opposite one.
	Polarity response.Figure
	// Findings are about the recordings, the most severe of each first.
	Findings []response.Finding
	// Notes are sentences about how it was measured: clocks corrected, repeats and seatings left
	// out, seatings that stand apart.
	Notes []string
	// NotIncluded names the usual components of uncertainty that are not stated, and so are in no
	// interval.
	NotIncluded []string
	// Programmes are music and speech.
	Programmes []*Programme
	// Sound is what it means in sound pressure; nil without a calibrator.
	Sound *Sound
	// Drive is how the pair was driven. Impedance, what the amplifier's output impedance makes of
	// the response, isolation from outside noise, and what others hear are nil where they were not
	// measured.
	Drive        Drive
	Impedance    *level.Impedance
	OutputLoss   *response.Curve
	Isolation    *level.BandLevels
	SoundLeakage *level.SoundLeakage
	// Changes are between the conditions in which it was measured, and Specimens what several of its model
	// differ by: set by whoever compares them with package change; nil where nothing was compared.
	Changes   []change.Change
	Specimens *change.Specimens
	// Judgement is nil before Judge.
	Judgement *Judgement

	sampleRate int // Hz, the lowest of what the response is from
}

// Measure measures each side in every seating that was accepted, from the recordings of the stimulus or,
// on a bench without one, from music and speech alone. What takes an exponential sweep is then not known:
// distortion, and impulse response, decay and phase.
//
// A seating in which the stimulus is not found, or a piece that cannot be compared, is left out and
// named. Where nothing of a side is left, the error says why.
func (p *Pair) Measure() (*Results, error) {
	r := &Results{About: p.about, Config: p.bench.config, Seatings: len(p.seatings),
		Drive: p.drive, Impedance: p.impedance, Isolation: p.isolation, SoundLeakage: p.leakage}
	p.last = Material{} // no further piece needs its recordings
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
	if r.Left, err = measure(sweep.Left); err != nil {
		return nil, err
	}
	if r.Right, err = measure(sweep.Right); err != nil {
		return nil, err
	}
	if len(r.Sides()) == 0 {
		return nil, fmt.Errorf("review: %s has no seating; %s", p.about.Name, add)
	}
	if err := r.combine(p.onePlacement()); err != nil {
		return nil, err
	}
	p.report(r)
	if err := p.loudness(r); err != nil {
		return nil, err
	}
	for _, m := range p.materials {
		one := *m.Programme
		if p.bench.config.Stimulus != nil {
			if err := r.agree(&one); err != nil {
				return nil, err
			}
			one.Residuals = p.bench.residuals(&one, r.side(one.Side))
		}
		one.powers = nil
		r.Programmes = append(r.Programmes, &one)
	}
	r.NotIncluded = p.notIncluded(r)
	return r, nil
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
		r.Notes = append(r.Notes, "Left and right were recorded at once, and so by two microphones, "+
			"and there is one calibration: "+
			"it is taken off both, and what the other microphone does differently is in left less right; "+
			"give the right side's own.")
	}
	r.Notes = append(r.Notes, p.bench.notes...)
	for _, side := range []sweep.Side{sweep.Left, sweep.Right} {
		if one := p.bench.parts[side]; one != nil && one.further != nil {
			r.Findings = append(r.Findings, one.further.findings...)
		}
	}
	for _, side := range r.Sides() {
		for _, reading := range side.Seatings {
			if reading.Further != nil {
				r.Findings = append(r.Findings, reading.Further.findings...)
			}
		}
		r.Findings = append(r.Findings, side.checkSeatings(p.uses)...)
		r.Notes = append(r.Notes, side.notes()...)
	}
	r.Findings = append(r.Findings, r.checkSides(p.uses)...)
}

// Sides are the sides that were measured, left first.
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
// Sides that were placed one at a time scatter independently, and their scatter is pooled. If both were recorded in one placement, their
// scatter may be correlated. The scatter of mean and difference is then that of the means and
// differences of the single seatings.
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

// perSeating has the pair's response, the mean of its sides, and left less right, once for each
// seating that has both. Of a pair with one side, or without a seating that has both, there is the
// mean alone.
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

// DifferenceConfidence is the half width in dB, per frequency, of the interval that holds the true
// difference of the sides with the given probability, by the components of Difference: those that
// both sides have in common have cancelled, such as the microphone's where there is one. It is nil for
// one side.
func (r *Results) DifferenceConfidence(probability float64) []float64 {
	if r.Left == nil || r.Right == nil {
		return nil
	}
	return r.Difference.HalfWidth(probability)
}

// Pair is the pair as others are ranked with it, or judged against it.
func (r *Results) Pair() target.Pair {
	return target.Pair{Name: r.About.Name, Seatings: []response.Curve{r.Mean}}
}
