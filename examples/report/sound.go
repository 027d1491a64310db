package report

import (
	"math"
	"time"

	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

// soundJSON is what the recordings mean in sound pressure, at 1 kHz.
type soundJSON struct {
	SweepLevel   figureJSON   `json:"sweep_level"`
	PerVolt      figureJSON   `json:"per_volt"`
	PerMilliwatt figureJSON   `json:"per_milliwatt"`
	Highest      *highestJSON `json:"highest"` // null where no amplifier is named
	Remarks      []string     `json:"remarks"`
}

// highestJSON is the level that an amplifier reaches.
type highestJSON struct {
	Amplifier string     `json:"amplifier"`
	Level     figureJSON `json:"level"`
	LimitedBy string     `json:"limited_by"`
}

func newSound(r *review.Results) *soundJSON {
	if r.Sound == nil {
		return nil
	}
	s := &soundJSON{SweepLevel: newFigure(r.Sound.SweepLevel), PerVolt: newFigure(r.Sound.PerVolt),
		PerMilliwatt: newFigure(r.Sound.PerMilliwatt), Remarks: remarks(r.Sound.Findings)}
	if reach := r.Sound.MaxSPL; reach != nil {
		s.Highest = &highestJSON{r.Drive.AmplifierName, newFigure(reach.Level), reach.By.String()}
	}
	return s
}

// exposureJSON is how loud the material was under the cup, and how long that may be
// heard: guidance, to be read with its caution.
type exposureJSON struct {
	What    string        `json:"what"`
	Level   figureJSON    `json:"level"`
	Allowed []allowedJSON `json:"allowed"`
	Caution string        `json:"caution"`
}

// allowedJSON is a length of time by one rule.
type allowedJSON struct {
	Rule   string `json:"rule"`
	Hours  number `json:"hours"`
	Period string `json:"period"`
	Source string `json:"source"`
}

// newExposure is nil without a calibrator.
func newExposure(p *review.Programme) *exposureJSON {
	if p.Level == nil {
		return nil
	}
	e := &exposureJSON{What: p.Name, Level: newFigure(p.Level.A), Allowed: []allowedJSON{}, Caution: level.Caution}
	for _, a := range p.Allowance {
		e.Allowed = append(e.Allowed, allowedJSON{a.Limit.Name, number(safeHours(a)), period(a), a.Source})
	}
	return e
}

// safeHours is the time to keep to: that of a level higher by its uncertainty, where this is known.
func safeHours(a level.Allowance) float64 {
	if math.IsNaN(a.AtMost) {
		return a.Hours
	}
	return a.AtMost
}

// period is what the hours of an allowance are counted in.
func period(a level.Allowance) string {
	if a.Limit.Period > 24*time.Hour {
		return "a week"
	}
	return "a day"
}
