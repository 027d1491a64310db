package session

import (
	"fmt"

	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme"
)

// Material is music or speech, recorded both ways.
type Material struct {
	Name string
	Kind string
	// Comparison is nil where the recordings could not be compared; Refused
	// then says why.
	Comparison *programme.Comparison
	Refused    error
	// Findings are about the recordings.
	Findings []capture.Finding
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
