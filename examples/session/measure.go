package session

import (
	"errors"
	"fmt"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// Measurement is what the recordings of a session say, before anybody judges.
type Measurement struct {
	Session  *Session
	Stimulus *sweep.Stimulus
	// Left and Right are the sides; nil for one that was not recorded.
	Left, Right *Side
	// Mean is the mean response of both sides, or that of the only one.
	Mean response.Curve
	// Match is left less right; without points when there is one side only.
	Match response.Curve
}

// Side is one side of the pair.
type Side struct {
	Name     string // "left" or "right"
	Seatings []*Reading
	// Average over the seatings; its mean is the response of the side.
	Average *response.Average
}

// Response is the side's response, mean over the seatings.
func (s *Side) Response() response.Curve { return s.Average.Level }

// Reading is one side in one seating.
type Reading struct {
	Name string
	// Response of the headphones alone, smoothed by Smoothing.
	Response response.Curve
	// Transfer is the same before smoothing, bulk delay taken out.
	Transfer *response.Transfer
	// Harmonics of the headphones and the rig together.
	Harmonics *distortion.HarmonicSet
	// DirectHarmonics are those of the interface alone.
	DirectHarmonics *distortion.HarmonicSet
}

// Grid and Smoothing of the responses in a Measurement: 1/12 octave, at 1/48.
const (
	Smoothing = 12
	perOctave = 48
	orders    = 5
)

// Measure reads the recordings and measures each side of each seating: the
// headphones divided by the interface, and their harmonics. It calls progress,
// if there is one, before each step.
func (s *Session) Measure(progress func(step string)) (*Measurement, error) {
	if progress == nil {
		progress = func(string) {}
	}
	stimulus, err := s.Stimulus.Build()
	if err != nil {
		return nil, err
	}
	b, err := s.newBench(stimulus, progress)
	if err != nil {
		return nil, err
	}
	m := &Measurement{Session: s, Stimulus: stimulus}
	if m.Left, err = b.side(sweep.Left, progress); err != nil {
		return nil, err
	}
	if m.Right, err = b.side(sweep.Right, progress); err != nil {
		return nil, err
	}
	return m, m.combine()
}

// combine forms what both sides give together.
func (m *Measurement) combine() error {
	switch {
	case m.Left == nil:
		m.Mean = m.Right.Response()
		return nil
	case m.Right == nil:
		m.Mean = m.Left.Response()
		return nil
	}
	both, err := response.MeanLevel(m.Left.Response(), m.Right.Response())
	if err != nil {
		return err
	}
	m.Mean = both
	m.Match, err = m.Left.Response().Sub(m.Right.Response())
	return err
}

// bench is the rig, ready to measure: the interface has been.
type bench struct {
	session     *Session
	stimulus    *sweep.Stimulus
	deconvolver *response.Deconvolver
	grid        []float64
	direct      map[sweep.Kind]*direct
}

// direct is the interface patched into itself, on one side.
type direct struct {
	transfer  *response.Transfer
	harmonics *distortion.HarmonicSet
}

func (s *Session) newBench(st *sweep.Stimulus, progress func(string)) (*bench, error) {
	progress("direct recording " + s.Direct.File)
	d, err := response.NewDeconvolver(st.Sweep(), response.DeconvolverConfig{Longest: capture.TakeDuration(st), Orders: orders})
	if err != nil {
		return nil, err
	}
	b := &bench{session: s, stimulus: st, deconvolver: d, direct: map[sweep.Kind]*direct{},
		grid: response.LogGrid(st.Sweep().Start(), st.Sweep().Stop(), perOctave)}
	rec, err := capture.Read(s.path(s.Direct.File))
	if err != nil {
		return nil, err
	}
	channels := map[sweep.Kind]int{sweep.Left: or(s.Direct.Left, 1), sweep.Right: or(s.Direct.Right, min(2, len(rec.Channels)))}
	for side, channel := range channels {
		window, harmonics, _, err := b.separate(rec, channel, side)
		if err != nil {
			return nil, err
		}
		b.direct[side] = &direct{window.Transfer(), harmonics}
	}
	return b, nil
}

// or is v, or what stands for a v of zero.
func or[T int | float64](v, otherwise T) T {
	if v == 0 {
		return otherwise
	}
	return v
}

// separate takes one side of a recording apart.
func (b *bench) separate(rec *capture.Recording, channel int, side sweep.Kind) (*response.Impulse, *distortion.HarmonicSet, *capture.Take, error) {
	where := func(err error) error { return fmt.Errorf("%s, channel %d: %w", rec.Name, channel, err) }
	take, err := rec.Take(b.stimulus, channel, side)
	if err != nil {
		return nil, nil, nil, err
	}
	mean, _ := take.Average()
	parts, err := b.deconvolver.Separate(mean)
	if err != nil {
		return nil, nil, nil, where(err)
	}
	window, err := parts.Linear.Window(0, 0)
	if err != nil {
		return nil, nil, nil, where(err)
	}
	harmonics, err := distortion.Harmonics(parts, distortion.Config{Silence: take.Silence, Ceiling: b.session.Rig.Ceiling})
	if err != nil {
		return nil, nil, nil, where(err)
	}
	return window, harmonics, take, nil
}

// side measures one side in every seating that has it; nil when none has.
func (b *bench) side(side sweep.Kind, progress func(string)) (*Side, error) {
	out := &Side{Name: "left"}
	if side == sweep.Right {
		out.Name = "right"
	}
	var curves []response.Curve
	for i, seating := range b.session.Seatings {
		file := seating.Left
		if side == sweep.Right {
			file = seating.Right
		}
		if file.File == "" {
			continue
		}
		progress(fmt.Sprintf("%s side, %s: %s", out.Name, seating.name(i), file.File))
		reading, err := b.reading(file, side)
		if err != nil {
			return nil, err
		}
		reading.Name = seating.name(i)
		out.Seatings = append(out.Seatings, reading)
		curves = append(curves, reading.Response)
	}
	if len(curves) == 0 {
		return nil, nil
	}
	var err error
	out.Average, err = response.AverageOf(curves)
	return out, err
}

// name is the seating's name, or its number.
func (s Seating) name(i int) string {
	if s.Name != "" {
		return s.Name
	}
	return fmt.Sprintf("seating %d", i+1)
}

// reading measures one side in one seating.
func (b *bench) reading(file File, side sweep.Kind) (*Reading, error) {
	rec, err := capture.Read(b.session.path(file.File))
	if err != nil {
		return nil, err
	}
	window, harmonics, _, err := b.separate(rec, file.channel(rec, side), side)
	if err != nil {
		return nil, err
	}
	h, err := window.Transfer().Over(b.direct[side].transfer)
	if err != nil {
		return nil, err
	}
	h.Rig = b.session.Rig.Name
	if ceiling := b.session.Rig.Ceiling; ceiling > 0 {
		h.Valid = h.Valid.Intersect(response.Band{Low: 0, High: ceiling})
	}
	delay, err := h.Impulse().Delay()
	if err != nil && !errors.Is(err, response.ErrNoPeak) {
		return nil, err
	}
	curve, err := h.Smoothed(b.grid, Smoothing)
	if err != nil {
		return nil, err
	}
	return &Reading{Response: curve, Transfer: h.Delayed(-delay), Harmonics: harmonics, DirectHarmonics: b.direct[side].harmonics}, nil
}

// channel is the one asked for, or the side's own in a two-channel file.
func (f File) channel(rec *capture.Recording, side sweep.Kind) int {
	if f.Channel == 0 && side == sweep.Right && len(rec.Channels) == 2 {
		return 2
	}
	return or(f.Channel, 1)
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
