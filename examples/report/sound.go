package report

import (
	"math"
	"time"

	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

// sensitivityFrequency is the frequency in Hz of sensitivities. Makers use 500 Hz (the
// characteristic sensitivity of IEC 60268-7, from memory) or 1 kHz, so each figure states its
// frequency.
const sensitivityFrequency = 1000

// soundJSON holds the results in sound pressure, at one frequency, on the rig.
type soundJSON struct {
	FrequencyHz  float64      `json:"frequency_hz"`
	Rig          string       `json:"rig"`
	SweepLevel   figureJSON   `json:"sweep_level"`
	PerVolt      figureJSON   `json:"per_volt"`
	PerMilliwatt figureJSON   `json:"per_milliwatt"`
	PerVolt500   figureJSON   `json:"per_volt_500_hz"`
	PerMW500     figureJSON   `json:"per_milliwatt_500_hz"`
	Highest      *highestJSON `json:"highest"` // null where no amplifier is named
	Remarks      []string     `json:"remarks"`
}

func newSound(r *review.Results) *soundJSON {
	if r.Sound == nil {
		return nil
	}
	s := &soundJSON{FrequencyHz: sensitivityFrequency, Rig: r.Config.Rig, SweepLevel: newFigure(r.Sound.SweepLevel),
		PerVolt:      newFigure(r.Sound.PerVolt),
		PerMilliwatt: newFigure(r.Sound.PerMilliwatt), PerVolt500: newFigure(r.Sound.PerVolt500),
		PerMW500: newFigure(r.Sound.PerMilliwatt500), Remarks: remarks(r.Sound.Findings)}
	if reach := r.Sound.MaxSPL; reach != nil {
		s.Highest = &highestJSON{r.Drive.AmplifierName, newFigure(reach.Level), reach.By}
	}
	return s
}

// highestJSON is the level that an amplifier reaches.
type highestJSON struct {
	Amplifier string     `json:"amplifier"`
	Level     figureJSON `json:"level"`
	LimitedBy string     `json:"limited_by"`
}

// exposureJSON holds the level of the material under the cup and the permitted listening time:
// guidance, to be read with its caution.
type exposureJSON struct {
	What    string        `json:"what"`
	Where   string        `json:"where"` // place of the level: at the rig's ear, or in a field
	Level   figureJSON    `json:"level"`
	Allowed []allowedJSON `json:"allowed"`
	Caution string        `json:"caution"`
}

// newExposure returns nil without a calibrator.
func newExposure(r *review.Results, p *review.Programme) *exposureJSON {
	if p.Level == nil {
		return nil
	}
	e := &exposureJSON{What: p.Name, Where: english.where(r), Level: newFigure(p.Level.A), Allowed: []allowedJSON{},
		Caution: level.Caution}
	for _, a := range p.Allowance {
		e.Allowed = append(e.Allowed, allowedJSON{a.Limit.Name, number(a.AtMost), english.period(a), a.Source})
	}
	return e
}

// allowedJSON is a length of time by one rule.
type allowedJSON struct {
	Rule   string `json:"rule"`
	Hours  number `json:"hours"`
	Period string `json:"period"`
	Source string `json:"source"`
}

// where states the place for which a level in dB(A) holds.
func (l language) where(r *review.Results) string {
	if r.Config.Field == nil {
		return l.Text("loud.at-ear")
	}
	return l.Text("loud.in-field")
}

// Allowed returns the permitted time, that of a level higher by twice its uncertainty. If the
// uncertainty is not known, it states no time.
func (l language) Allowed(a level.Allowance) string {
	if math.IsNaN(a.AtMost) {
		return l.Text("loud.not-known")
	}
	return l.hours(a.AtMost) + " " + l.period(a)
}

// period returns the period of an allowance, such as a week.
func (l language) period(a level.Allowance) string {
	if a.Limit.Period > 24*time.Hour {
		return l.Text("loud.week")
	}
	return l.Text("loud.day")
}
