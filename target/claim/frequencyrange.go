package claim

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/target"
)

// FrequencyRange claims that the level keeps within some dB of a reference from
// one frequency to another.
type FrequencyRange struct {
	Band response.Band
	// Down is by how many dB the level may have fallen, and Up by how many it may
	// rise; 0 means not stated. Without Up it may rise as it likes.
	Down, Up float64
	// Reference is what Down counts from; the zero Reference is none.
	Reference Reference
}

// Reference is the level at a frequency or, if At is zero, the mean level over a
// band, every octave counting the same.
type Reference struct {
	At   float64 // Hz
	Over response.Band
}

// stated tells whether there is a reference.
func (r Reference) stated() bool { return r.At > 0 || !r.Over.Empty() }

// String says the reference: "the level at 1 kHz".
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

// customary is what a range is held against for the reader's information where
// the claim has no reference: the level at 1 kHz.
var customary = Reference{At: 1000}

// String says the claim: "20 Hz–20 kHz within −3 dB of the level at 1 kHz".
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
	v := c.over(d, e, reference)
	if rig := e.Seatings[0].Rig; rig != "" {
		v.Warnings = append(v.Warnings, fmt.Sprintf("measured on %q; on the maker's rig the response may be another", rig))
	}
	return v, nil
}

// withoutReference is the verdict where the response could not be held against
// its reference.
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

// extent tells a reader what a complete claim could have been: over what band
// about 1 kHz the level keeps within 3 dB and 10 dB down.
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
