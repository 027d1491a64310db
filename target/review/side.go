package review

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// Side is one side of the pair.
type Side struct {
	Name     string // "left" or "right"
	Seatings []*Reading
	// FurtherOnly holds the seatings in which this side's sweep is cut off. Only their name and
	// their Further are known. They have no part in the response.
	FurtherOnly []*Reading
	// LeftOut names the seatings that are left out because their recordings are not fit to use.
	LeftOut []string
	// Average over the seatings.
	Average *response.Average
	// Phase is the circular mean over the seatings in radians, at the frequencies of the response;
	// NaN where they disagree.
	Phase []float64
	// Decay of the impulse response of the first seating, by third octave.
	Decay []Decay
	// AbsolutePolarity is the mean over the seatings of the cosine of the phase from 200 Hz to 2
	// kHz. Near 1, a positive sample gives a rise in pressure at the microphone; near −1, a fall.
	// This assumes a microphone of positive polarity unless its calibration says otherwise. It is
	// not known if the phase is not known.
	AbsolutePolarity response.Figure
	// GroupDelay is −dφ/dω in ms at the frequencies of the response, averaged over the seatings and
	// over a third of an octave, relative to the peak of the impulse response. Its uncertainty holds
	// the scatter of the seatings, pooled over both sides like that of the response, the noise of the
	// direct recording, and the errors of the response that all seatings share, with the phase that
	// they have if they are minimum-phase. It is nil if neither side has two seatings. GroupDelay has
	// no points if the phase is not known.
	GroupDelay response.Curve
	// Further holds the further results, each the mean over the seatings that hold it: of
	// distortion by [distortion.Mean], of crosstalk in dB. It is nil if no seating has any. Held
	// lists what any of them holds. Levels and RubBuzz in it are nil: LevelsAt, Compression and
	// MaxLevels have the means over levels, and Side.RubBuzz those of the residue.
	Further *Further
	// MaxLevels are the highest levels at thirds of an octave from 50 Hz to 8 kHz, over the
	// seatings in which levels were played; nil if there is none. A seating in which the distortion
	// is not known is left out, and so is one that lacks the lowest or the highest level of all.
	MaxLevels []MaxLevel
	// RubBuzz is the residue above the tenth harmonic at every frequency at which it was read, over
	// the seatings; nil if it was not measured.
	RubBuzz []RubBuzz
}

// Response returns the mean response over the seatings with the components of its uncertainty. The
// scatter is pooled over both sides if they were put on independently. If each side has only one
// seating, the scatter of seatings is not included. The slices belong to the side; do not change
// them.
func (s *Side) Response() response.Curve { return s.Average.Level }

func (s *Side) curves() []response.Curve {
	var curves []response.Curve
	for _, r := range s.Seatings {
		curves = append(curves, r.Response)
	}
	return curves
}

// average forms the mean over the seatings.
func (s *Side) average() error {
	var err error
	if s.Average, err = response.AverageOf(s.curves()); err != nil {
		return err
	}
	phases := make([][]float64, len(s.Seatings))
	for i, r := range s.Seatings {
		phases[i] = r.Phase
	}
	s.Phase = response.MeanPhase(phases...)
	s.Decay, err = s.Seatings[0].decay()
	return err
}

// summarise computes the results over all seatings, after their uncertainties and their levels in
// sound pressure are known.
func (s *Side) summarise() {
	s.AbsolutePolarity = s.absolutePolarity()
	s.Further, s.MaxLevels, s.RubBuzz = s.meanFurther(), s.maxLevels(), s.rubBuzz()
}

// notes returns the notes about the side, in sentences.
func (s *Side) notes() []string {
	var notes []string
	for _, r := range s.Seatings {
		notes = append(notes, r.Notes...)
	}
	if len(s.LeftOut) > 0 {
		notes = append(notes, fmt.Sprintf("%s side: left out because its recording is not fit to use: %s.",
			s.Name, strings.Join(s.LeftOut, ", ")))
	}
	for _, r := range s.FurtherOnly {
		notes = append(notes, fmt.Sprintf("%s side: %s has no part in the response, since its sweep is cut off.",
			s.Name, r.Name))
	}
	if len(s.Seatings) == 1 {
		notes = append(notes, fmt.Sprintf("%s side: only one seating, so the scatter of seatings is not known.",
			s.Name))
	}
	return notes
}

// outlying returns the finding about a seating that differs from the others, perhaps alike on both
// sides.
func (s *Side) outlying(o response.Outlier, severity response.Severity, recording string, alike bool) response.Finding {
	const belowLeaks = 200 // Hz
	f := doubt(recording, Outlying, severity)
	f.What = fmt.Sprintf("%s, %s side, differs from the other seatings, most over %v (%+.1f dB)",
		s.Seatings[o.Index].Name, s.Name, o.Band, o.Deviation)
	switch {
	case alike:
		f.What += ", and the other side alike, as by " + otherPair
	case o.Deviation < 0 && o.Band.High < belowLeaks:
		f.What += ", as by a leak under the cushion"
	}
	f.What += "; it is still in the average" + s.without(o.Index)
	f.Remedy = "look at how the cushion sits, and record this seating again; leave it out only if you know what was wrong with it"
	f.Figures = map[string]response.Figure{"deviation": {Value: o.Deviation, Unit: "dB"}}
	return f
}

// without states the largest change of the mean, and its frequency, if a seating were left out.
func (s *Side) without(index int) string {
	rest, err := response.AverageOf(slices.Delete(s.curves(), index, index+1))
	if err != nil {
		return ""
	}
	change, err := rest.Level.Sub(s.Average.Level)
	if err != nil {
		return ""
	}
	frequency, level := levelsIn(change, response.AllFrequencies)
	if len(level) == 0 {
		return ""
	}
	most := 0
	for i, v := range level {
		if math.Abs(v) > math.Abs(level[most]) {
			most = i
		}
	}
	return fmt.Sprintf(", and without it the mean at %s would change most, from %.2f dB to %.2f dB",
		response.FormatFrequency(frequency[most]), s.Average.Level.At(frequency[most]), rest.Level.At(frequency[most]))
}

// side returns one side in every seating that has it; nil if no seating has it. A seating that Seat
// could not measure is left out; if none is left, the error says why. Of a seating in which the
// side's sweep is cut off, only the further parts are measured, and only beside others.
func (p *Pair) side(side sweep.Side) (*Side, error) {
	out := &Side{Name: side.String()}
	uses := slices.DeleteFunc(slices.Clone(p.uses), func(u use) bool { return u.side != side })
	refused := slices.DeleteFunc(slices.Clone(p.refused), func(r refusal) bool { return r.side != side })
	var cut []use
	for _, u := range uses {
		switch {
		case u.cut != nil:
			cut = append(cut, u)
			continue
		case u.readErr != nil:
			refused = append(refused, refusal{u, u.readErr})
			p.leaveOut(u, u.readErr)
			continue
		}
		reading := u.copyOfReading()
		p.components(reading)
		out.Seatings = append(out.Seatings, reading)
	}
	if len(out.Seatings) == 0 { // nothing to compare the further parts by
		for _, u := range cut {
			refused = append(refused, refusal{u, u.cutShort()})
		}
	}
	for _, r := range refused {
		out.LeftOut = append(out.LeftOut, r.name)
	}
	switch {
	case len(out.Seatings) > 0:
		if err := out.average(); err != nil {
			return nil, err
		}
		for _, u := range cut {
			out.compare(p.bench, u)
		}
		return out, nil
	case len(refused) > 0:
		return nil, fmt.Errorf("the %s side: %w", out.Name, joined(refused))
	}
	return nil, nil
}

// joined joins the reasons for refusals, each once.
func joined(refused []refusal) error {
	var errs []error
	for _, r := range refused {
		if !slices.ContainsFunc(errs, func(err error) bool { return err.Error() == r.err.Error() }) {
			errs = append(errs, r.err)
		}
	}
	return errors.Join(errs...)
}
