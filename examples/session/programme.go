package session

import (
	"fmt"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/response/programme"
)

// Material is music or speech, recorded both ways.
type Material struct {
	Name string
	Kind string // "music", "speech" or "effects"
	// Comparison is nil where the recordings could not be compared; Refused
	// then says why.
	Comparison *programme.Comparison
	Refused    error
	// Sweep is what the sweep says of the same side in the first seating, with
	// the microphone left in as it is in the material; no points where that side
	// was not measured.
	Sweep response.Curve
	// Agreement of the two; nil where either is missing.
	Agreement *programme.Agreement
	// Findings are about the recordings.
	Findings []capture.Finding
	// Level of the sound under the cup as it was recorded, and how long that may
	// be heard by each rule; nil without a calibrator.
	Level     *level.SoundLevel
	Allowance []level.Allowance
}

// programmes compares every piece of material. One that cannot be compared is
// kept with the reason, and the rest goes on.
func (m *Measurement) programmes(progress func(string)) error {
	for _, p := range m.Session.Programmes {
		progress("programme material: " + p.Name)
		direct, err := capture.Read(m.Session.path(p.Direct.File))
		if err != nil {
			return err
		}
		through, err := capture.Read(m.Session.path(p.Through.File))
		if err != nil {
			return err
		}
		material := &Material{Name: p.Name, Kind: p.Kind}
		material.Findings = capture.InspectSet([]capture.Inspection{{Recording: direct}, {Recording: through}}).Findings
		material.Comparison, material.Refused = m.compare(p, direct, through)
		if err := m.agree(material, p); err != nil {
			return err
		}
		if m.Sound != nil {
			if err := m.loudness(material, p, through); err != nil {
				return fmt.Errorf("%s: %w", p.Through.File, err)
			}
		}
		m.Programmes = append(m.Programmes, material)
	}
	return nil
}

func (m *Measurement) compare(p Programme, direct, through *capture.Recording) (*programme.Comparison, error) {
	a, err := programme.ChannelOf(direct, or(p.Direct.Channel, 1))
	if err != nil {
		return nil, err
	}
	b, err := programme.ChannelOf(through, or(p.Through.Channel, 1))
	if err != nil {
		return nil, err
	}
	c, err := programme.Compare(a, b, programme.Config{Rig: m.Session.Rig.Name, High: m.Session.Rig.Ceiling})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", p.Name, err)
	}
	return c, nil
}

// agree sets the material beside the sweep.
func (m *Measurement) agree(material *Material, p Programme) error {
	i := slices.IndexFunc(m.Sides(), func(s *Side) bool { return p.Side == "" || s.Name == p.Side })
	if i < 0 || material.Comparison == nil {
		return nil
	}
	transfer := m.Sides()[i].Seatings[0].Transfer
	var err error
	if material.Sweep, err = transfer.Smoothed(grid(m.Stimulus.Sweep()), Smoothing); err != nil {
		return err
	}
	material.Agreement, err = material.Comparison.Agreement(material.Sweep)
	return err
}

// loudness says how loud the material was under the cup, and how long that may
// be heard.
func (m *Measurement) loudness(material *Material, p Programme, through *capture.Recording) error {
	x, err := through.Channel(or(p.Through.Channel, 1))
	if err != nil {
		return err
	}
	meter, err := level.NewMeter(level.MeterConfig{SampleRate: through.SampleRate, Sensitivity: m.Sound.Sensitivity})
	if err != nil {
		return err
	}
	sound, err := meter.Measure(x)
	if err != nil {
		return err
	}
	material.Level = &sound
	for _, limit := range []level.Limit{level.Occupational, level.Recreational, level.RecreationalSensitive} {
		a, err := limit.Allow(sound.A)
		if err != nil {
			return err
		}
		material.Allowance = append(material.Allowance, a)
	}
	return nil
}
