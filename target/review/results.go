package review

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// Results is all that was measured of a pair, and after Judge what it is worth. Pages, tables and
// files for other programs are written from it, and from nothing else.
type Results struct {
	// About, Config and Seatings say what was measured, how, and how often it was put on.
	About    About
	Config   Config
	Seatings int
	// Left and Right are the sides; nil for one that was not recorded.
	Left, Right *Side
	// Mean is the mean response of both sides, or that of the only one.
	Mean response.Curve
	// Phase of the mean in radians, one per frequency of Mean.
	Phase []float64
	// Difference is left less right in dB; without points where there is one side only.
	Difference response.Curve
	// Findings are about the recordings, the gravest of each first.
	Findings []response.Finding
	// Notes are sentences about how it was measured: clocks corrected, repeats and seatings left
	// out, seatings that stand apart.
	Notes []string
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
	// Judgement is nil before Judge.
	Judgement *Judgement
}

// Measure measures each side in every seating that was accepted, and the material.
//
// A seating in which the stimulus is not found is left out and named. Where nothing of a side is
// left, the error says why.
func (p *Pair) Measure() (*Results, error) {
	r := &Results{About: p.about, Config: p.bench.config, Seatings: len(p.seatings),
		Drive: p.drive, Impedance: p.impedance, Isolation: p.isolation, SoundLeakage: p.leakage}
	var err error
	if r.OutputLoss, err = p.outputLoss(); err != nil {
		return nil, err
	}
	if r.Left, err = p.side(sweep.Left); err != nil {
		return nil, err
	}
	if r.Right, err = p.side(sweep.Right); err != nil {
		return nil, err
	}
	if len(r.Sides()) == 0 {
		return nil, fmt.Errorf("review: %s has no seating; add one with Seat", p.about.Name)
	}
	if err := r.combine(); err != nil {
		return nil, err
	}
	p.report(r)
	if err := p.loudness(r); err != nil {
		return nil, err
	}
	for _, m := range p.materials {
		programme, err := p.bench.programme(r, m)
		if err != nil {
			return nil, err
		}
		r.Programmes = append(r.Programmes, programme)
	}
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
	if m := p.bench.microphone; m != nil {
		for _, f := range m.Findings {
			r.Notes = append(r.Notes, "microphone: "+f.String()+".")
		}
	}
	for _, side := range r.Sides() {
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

// combine forms what both sides give together.
func (r *Results) combine() error {
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
	if r.Mean, err = response.MeanLevel(r.Left.Response(), r.Right.Response()); err != nil {
		return err
	}
	// Microphone and interface are the same on both sides, so only what the seatings show separates
	// them.
	r.Difference, err = r.Left.Average.Level.Sub(r.Right.Average.Level)
	return err
}

// PerSeating has the pair's response, the mean of its sides, and left less right, once for each
// seating that has both. Of a pair with one side, or without a seating that has both, there is the
// mean alone.
func (r *Results) PerSeating() (mean, difference []response.Curve, err error) {
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
// difference of the sides with the given probability: those of the sides' means, whose seatings
// scatter independently, added as squares. Microphone and interface are the same on both sides, so
// Config.Uncertainty is not in it. It is nil for one side, or a single seating of one.
func (r *Results) DifferenceConfidence(probability float64) []float64 {
	if r.Left == nil || r.Right == nil {
		return nil
	}
	left, right := r.Left.Average.Confidence(probability), r.Right.Average.Confidence(probability)
	if left == nil || right == nil {
		return nil
	}
	half := make([]float64, len(left))
	for i := range half {
		half[i] = math.Hypot(left[i], right[i])
	}
	return half
}
