package session

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// Measurement is what the recordings of a session say, before anybody judges.
type Measurement struct {
	// Session that was measured, its seatings one by one where it said every_play.
	Session  *Session
	Stimulus *sweep.Stimulus
	// Left and Right are the sides; nil for one that was not recorded.
	Left, Right *Side
	// Mean is the mean response of both sides, or that of the only one.
	Mean response.Curve
	// Phase of the mean in radians, one per frequency of Mean.
	Phase []float64
	// Match is left less right; without points when there is one side only.
	Match response.Curve
	// Findings are about the recordings, the gravest of each first.
	Findings []capture.Finding
	// Notes are sentences about how it was measured: clocks corrected, repeats
	// and seatings left out, seatings that stand apart.
	Notes []string
	// Programmes are music and speech.
	Programmes []*Material
	// Sound is what it means in sound pressure; nil without a calibrator.
	Sound *Sound

	// Impedance, and what the session's amplifier makes of the response by its
	// output impedance; nil where they were not measured.
	Impedance  *level.Impedance
	OutputLoss *response.Curve
	// Isolation from outside noise, and what spills to others; nil where they
	// were not measured.
	Isolation *level.BandLevels
	Spill     *level.Spill

	directLevel float64 // of the interface at 1 kHz, dB
}

// Side is one side of the pair.
type Side struct {
	Name     string // "left" or "right"
	Seatings []*Reading
	// LeftOut names the seatings whose recordings are not fit to use.
	LeftOut []string
	// Average over the seatings.
	Average *response.Average
	// Phase is the mean direction over the seatings in radians, at the
	// frequencies of the response; NaN where they go apart.
	Phase []float64

	response response.Curve
	common   float64 // standard uncertainty in dB that the seatings do not show
}

// Response is the side's response: the mean over the seatings, its uncertainty
// that of their mean and what the session says of microphone and positioning.
func (s *Side) Response() response.Curve { return s.response }

// Confidence is the half width in dB, per frequency, of the interval that holds
// the true response with the given probability: Student's t over the seatings
// (JCGM 100:2008, G.3), joined with what the session says of microphone and
// positioning, taken as normal. It is nil for a single seating.
func (s *Side) Confidence(probability float64) []float64 {
	half := s.Average.Confidence(probability)
	k := distuv.UnitNormal.Quantile((1 + probability) / 2)
	for i := range half {
		half[i] = math.Hypot(half[i], k*s.common)
	}
	return half
}

func (s *Side) curves() []response.Curve {
	var curves []response.Curve
	for _, r := range s.Seatings {
		curves = append(curves, r.Response)
	}
	return curves
}

// Reading is one side in one seating.
type Reading struct {
	Name string
	// Response of the headphones alone, smoothed by Smoothing.
	Response response.Curve
	// Phase in radians at the frequencies of Response, bulk delay taken out and,
	// where the calibration of the microphone has it, the microphone's phase.
	Phase []float64
	// Transfer is the same before smoothing and the microphone's calibration,
	// bulk delay taken out.
	Transfer *response.Transfer
	// Harmonics of the headphones, with the floor that noise and the interface
	// set.
	Harmonics *distortion.HarmonicSet
	// Notes about the recording.
	Notes []string
}

// Measure looks first whether all that the session names is there and goes
// together, the target and other pairs too. Then it reads the recordings, looks
// whether they are fit to use, and measures each side of each seating: the
// headphones divided by the interface, their harmonics, and music and speech. It
// calls progress, if there is one, before each step.
//
// A seating whose recording is not fit is left out and named; where that leaves
// nothing of a side, or where the direct recording is not fit, the error is
// capture.ErrUnfit and says why. UseUnfit in the session overrules that.
func (s *Session) Measure(progress func(step string)) (*Measurement, error) {
	if progress == nil {
		progress = func(string) {}
	}
	progress("looking at what the session names")
	if err := s.foresee(); err != nil {
		return nil, err
	}
	return s.measure(progress)
}

func (s *Session) measure(progress func(step string)) (*Measurement, error) {
	stimulus, err := s.Stimulus.Build()
	if err != nil {
		return nil, err
	}
	m := &Measurement{Session: s, Stimulus: stimulus}
	// What takes a moment comes before what takes minutes.
	if err := m.sound(progress); err != nil {
		return nil, err
	}
	if err := m.electrical(progress); err != nil {
		return nil, err
	}
	b, err := s.newBench(stimulus, progress)
	if err != nil {
		return nil, err
	}
	m.Session, m.Findings, m.Notes = b.session, b.recordings.findings, b.recordings.notes
	if m.Left, err = b.side(sweep.Left, progress); err != nil {
		return nil, err
	}
	if m.Right, err = b.side(sweep.Right, progress); err != nil {
		return nil, err
	}
	if err := m.combine(); err != nil {
		return nil, err
	}
	m.note()
	m.directLevel = b.directLevel()
	if err := m.drive(); err != nil {
		return nil, err
	}
	return m, m.programmes(progress)
}

// MeasureResponse is Measure without music, speech, sound pressure, impedance,
// isolation and what is judged against: what it takes to compare pairs.
func (s *Session) MeasureResponse(progress func(step string)) (*Measurement, error) {
	if progress == nil {
		progress = func(string) {}
	}
	alone := s.responseAlone()
	if err := alone.foreseeResponse(); err != nil {
		return nil, err
	}
	return alone.measure(progress)
}

// responseAlone is the session without what MeasureResponse leaves out.
func (s *Session) responseAlone() *Session {
	alone := *s
	alone.Programmes, alone.Calibrator, alone.ImpedanceFile, alone.Isolation, alone.Spill = nil, Calibrator{}, ImpedanceFile{}, Isolation{}, Spill{}
	return &alone
}

// Sides are the sides that were measured, left first.
func (m *Measurement) Sides() []*Side {
	var sides []*Side
	for _, s := range []*Side{m.Left, m.Right} {
		if s != nil {
			sides = append(sides, s)
		}
	}
	return sides
}

// combine forms what both sides give together.
func (m *Measurement) combine() error {
	switch {
	case m.Left == nil:
		m.Mean, m.Phase = m.Right.Response(), m.Right.Phase
		return nil
	case m.Right == nil:
		m.Mean, m.Phase = m.Left.Response(), m.Left.Phase
		return nil
	}
	m.Phase = response.MeanPhase(m.Left.Phase, m.Right.Phase)
	var err error
	if m.Mean, err = response.MeanLevel(m.Left.Response(), m.Right.Response()); err != nil {
		return err
	}
	// Microphone and interface are the same on both sides, so only what the
	// seatings show separates them.
	m.Match, err = m.Left.Average.Level.Sub(m.Right.Average.Level)
	return err
}

// note puts what the sides have to say into sentences.
func (m *Measurement) note() {
	for _, side := range m.Sides() {
		for _, r := range side.Seatings {
			m.Notes = append(m.Notes, r.Notes...)
		}
		if len(side.LeftOut) > 0 {
			m.Notes = append(m.Notes, fmt.Sprintf("%s side: left out, for its recording is not fit to use: %s.", side.Name, strings.Join(side.LeftOut, ", ")))
		}
		if len(side.Seatings) == 1 {
			m.Notes = append(m.Notes, fmt.Sprintf("%s side: one seating only, so how much the next would differ is not known.", side.Name))
		}
		for _, odd := range side.Average.Odd {
			m.Notes = append(m.Notes, fmt.Sprintf("%s side: %s stands apart from the other seatings, most over %v (%+.1f dB); it is in the average all the same.",
				side.Name, side.Seatings[odd.Index].Name, odd.Band, odd.Deviation))
		}
	}
}

// name is the seating's name, or its number.
func (s Seating) name(i int) string {
	if s.Name != "" {
		return s.Name
	}
	return fmt.Sprintf("seating %d", i+1)
}
