package claim

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// FrequencyRange claims that the level stays within some dB of a reference from one frequency to
// another.
type FrequencyRange struct {
	Band response.Band
	// Down is the number of dB by which the level may fall, and Up that by which it may rise; 0
	// means not stated. Without Up there is no upper limit.
	Down, Up float64
	// Reference is the level from which Down counts; the zero Reference means not stated.
	Reference Reference
}

// customary is the reference that is used for the reader's information if the claim has none: the
// level at 1 kHz.
var customary = Reference{At: 1000}

// String returns the claim: "20 Hz–20 kHz within −3 dB of the level at 1 kHz".
func (c FrequencyRange) String() string {
	s := c.Band.String()
	switch {
	case c.Down > 0 && c.Up > 0 && c.Down == c.Up:
		s += fmt.Sprintf(" within ±%g dB", c.Down)
	case c.Down > 0 && c.Up > 0:
		s += fmt.Sprintf(" within +%g −%g dB", c.Up, c.Down)
	case c.Down > 0:
		s += fmt.Sprintf(" within −%g dB", c.Down)
	}
	if c.Reference.stated() {
		s += " of " + c.Reference.String()
	}
	return s
}

func (c FrequencyRange) check() error {
	if !(c.Down >= 0 && c.Up >= 0) {
		return fmt.Errorf("−%v dB and +%v dB; say by how many dB the level may fall or rise, above zero", c.Down, c.Up)
	}
	return checkBand("range", c.Band)
}

func (c FrequencyRange) judge(e Evidence) (Verdict, error) {
	if len(e.Seatings) == 0 {
		return undecided(NotMeasured, none("dB"), "the response was not measured"), nil
	}
	reference := c.Reference
	if !reference.stated() {
		reference = customary
	}
	d, err := target.CompareSeatings(e.Seatings, target.Flat(), target.Config{
		Band: response.AllFrequencies, Align: reference.alignment(),
	})
	if err != nil {
		return c.withoutReference(e, reference, err)
	}
	return c.over(d, e, reference), nil
}

// withoutReference returns the verdict for a response whose level at the reference is not known.
func (c FrequencyRange) withoutReference(e Evidence, reference Reference, err error) (Verdict, error) {
	for _, s := range e.Seatings {
		if _, broken := response.NewCurve(s.Frequency, s.Level); broken != nil || errors.Is(err, response.ErrOtherRig) {
			return Verdict{}, err
		}
		if known := s.Valid; reference.At > 0 && !known.Contains(reference.At) || reference.At == 0 &&
			known.Intersect(reference.Over).Empty() {
			return undecided(ResponseEnds, none("dB"), "%v is not known: the response is known over %v", reference, known), nil
		}
	}
	return Verdict{}, err
}

// over decides over the whole range.
func (c FrequencyRange) over(d target.Deviation, e Evidence, reference Reference) Verdict {
	low, high := -c.Down, math.Inf(1)
	limit := fmt.Sprintf("%+.3g dB", low)
	if c.Up > 0 {
		high = c.Up
		limit = fmt.Sprintf("%+.3g to %+.3g dB", low, high)
	}
	lowest := least(figures(d, c.Band), func(m FigureAt) float64 { return m.Value })
	switch {
	case c.Down == 0:
		return undecided(NoLimitStated, lowest,
			"the claim does not say by how many dB the level may have fallen at its ends%s", extent(d, reference))
	case !c.Reference.stated():
		return undecided(NoReferenceStated, lowest, "the claim does not say what its level is relative to%s",
			extent(d, reference))
	}
	return e.conclude(survey(d, c.Band, low, high), fmt.Sprintf("the level at %%s re %v", reference), limit)
}

// Reference is the level at a frequency or, if At is zero, the mean level over a band, with equal
// weight for every octave.
type Reference struct {
	At   float64 // Hz
	Over response.Band
}

// stated reports whether there is a reference.
func (r Reference) stated() bool { return r.At > 0 || !r.Over.Empty() }

// String returns the reference: "the level at 1 kHz".
func (r Reference) String() string {
	switch {
	case r.At > 0:
		return "the level at " + response.FormatFrequency(r.At)
	case !r.Over.Empty():
		return fmt.Sprintf("the mean level over %v", r.Over)
	}
	return "nothing stated"
}

func (r Reference) alignment() target.Alignment { return target.Alignment{At: r.At, Over: r.Over} }

// extent tells a reader what a complete claim could have stated: the bands about 1 kHz over which
// the level stays within 3 dB and 10 dB.
func extent(d target.Deviation, reference Reference) string {
	words := ""
	for _, down := range []float64{3, 10} {
		b := response.Band{Low: math.Inf(1)}
		for i, f := range d.Curve.Frequency {
			if d.Curve.Level[i] >= -down {
				b.Low, b.High = min(b.Low, f), max(b.High, f)
			}
		}
		if !b.Empty() {
			words += fmt.Sprintf("; the lowest and highest frequencies no more than %g dB below %v are %s and %s",
				down, reference,
				response.FormatFrequency(b.Low), response.FormatFrequency(b.High))
		}
	}
	return words
}
