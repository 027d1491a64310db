package report

import (
	"math"
	"time"

	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

// Sound is what the recordings mean in sound pressure, at 1 kHz.
type Sound struct {
	SweepLevel   Figure   `json:"sweep_level"`
	PerVolt      Figure   `json:"per_volt"`
	PerMilliwatt Figure   `json:"per_milliwatt"`
	Highest      *Highest `json:"highest"` // null where no amplifier is named
	Remarks      []string `json:"remarks"`
}

// Highest is the level that an amplifier reaches.
type Highest struct {
	Amplifier string `json:"amplifier"`
	Level     Figure `json:"level"`
	LimitedBy string `json:"limited_by"`
}

func compileSound(m *review.Results) *Sound {
	if m.Sound == nil {
		return nil
	}
	s := &Sound{SweepLevel: figure(m.Sound.SweepLevel), PerVolt: figure(m.Sound.PerVolt),
		PerMilliwatt: figure(m.Sound.PerMilliwatt), Remarks: list(m.Sound.Findings)}
	if reach := m.Sound.MaxSPL; reach != nil {
		s.Highest = &Highest{m.Drive.AmplifierName, figure(reach.Level), reach.By.String()}
	}
	return s
}

// Exposure is how loud the material was under the cup, and how long that may be
// heard: guidance, to be read with its caution.
type Exposure struct {
	What    string    `json:"what"`
	Level   Figure    `json:"level"`
	Allowed []Allowed `json:"allowed"`
	Caution string    `json:"caution"`
}

// Allowed is a length of time by one rule.
type Allowed struct {
	Rule   string `json:"rule"`
	Hours  Number `json:"hours"`
	Period string `json:"period"`
	Source string `json:"source"`
}

// compileExposure is nil without a calibrator.
func compileExposure(m *review.Programme) *Exposure {
	if m.Level == nil {
		return nil
	}
	e := &Exposure{What: m.Name, Level: figure(m.Level.A), Allowed: []Allowed{}, Caution: level.Caution}
	for _, a := range m.Allowance {
		period := "a day"
		if a.Limit.Period > 24*time.Hour {
			period = "a week"
		}
		// Where the level may be higher by its uncertainty, the time to keep to.
		hours := a.AtMost
		if math.IsNaN(hours) {
			hours = a.Hours
		}
		e.Allowed = append(e.Allowed, Allowed{a.Limit.Name, Number(hours), period, a.Source})
	}
	return e
}
