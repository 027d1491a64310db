package level

import (
	"fmt"
	"math"
	"time"

	"example.com/earnest/response"
)

// Caution is the safety notice that goes with every figure that says how loud or how long. It is
// named after the signal word of safety notices; no standard of acoustics has a name for it.
const Caution = "guidance, not medical advice: " +
	"sound this loud can hurt hearing for good, some ears are hurt by less, and a level measured on a " +
	"plate or an ear simulator is not that of a field or of your ears; " +
	"follow the rules where you are, and ask a hearing professional"

// Limit is a rule for how long a sound may be heard in each Period: Duration at Level, and half of
// that for each Exchange dB more,
//
//	T = Duration / 2^((L − Level)/Exchange)
type Limit struct {
	Name     string
	Level    float64       // dB(A)
	Duration time.Duration // at Level
	Exchange float64       // the exchange rate, dB
	Period   time.Duration // a day or a week
	Ceiling  float64       // the ceiling limit, dB(A), never to be exceeded; 0 if the rule has none
	Source   string
}

// Allow returns the time for which a level in dB(A) may be heard. It returns an error for a level
// that is not known.
func (l Limit) Allow(level response.Figure) (Allowance, error) {
	if err := check(level, "A-weighted level", AWeighted); err != nil {
		return Allowance{}, err
	}
	return Allowance{
		Limit: l, Level: level, Hours: l.hours(level.Value), AtMost: l.hours(level.Value + 2*level.Uncertainty),
		Source: l.Source, Caution: Caution,
	}, nil
}

func (l Limit) hours(level float64) float64 {
	if l.Ceiling > 0 && level > l.Ceiling {
		return 0
	}
	return min(l.Period.Hours(), l.Duration.Hours()*math.Exp2((l.Level-level)/l.Exchange))
}

// The limits. The names of the modes of H.870 are from memory. An exchange rate of 3 dB means equal
// energy, to 0.3 % for each halving.
var (
	// Occupational is for noise at work: 85 dB(A) for 8 h of a day.
	Occupational = Limit{"at work", 85, 8 * time.Hour, 3, 24 * time.Hour, 140,
		"NIOSH 98-126, Criteria for a Recommended Standard: Occupational Noise Exposure, 1998"}
	// Recreational is for adults who listen for pleasure: 80 dB(A) for 40 h of a week.
	Recreational = Limit{"listening, adults", 80, 40 * time.Hour, 3, 7 * 24 * time.Hour, 0,
		"ITU-T H.870 (03/2022), mode 1"}
	// RecreationalSensitive is for children and others at risk: 75 dB(A) for 40 h of a week.
	RecreationalSensitive = Limit{"listening, children and sensitive persons",
		75, 40 * time.Hour, 3, 7 * 24 * time.Hour, 0,
		"ITU-T H.870 (03/2022), mode 2"}
)

// Allowance is the time for which a level may be heard by a limit. Show its Caution beside it
// wherever it is shown.
type Allowance struct {
	Limit Limit
	Level response.Figure // dB(A)
	// Hours is the time in each period at the level as measured. AtMost is the time at a level that
	// is higher by twice its standard uncertainty, and so the time to keep to; it is NaN if the
	// uncertainty is not known. Neither is longer than the period.
	Hours, AtMost float64
	Source        string
	Caution       string
}

// String returns the time to keep to, its source, and the caution.
func (a Allowance) String() string {
	period := "day"
	if a.Limit.Period > 24*time.Hour {
		period = "week"
	}
	text := fmt.Sprintf("%s: %v: %s of each %s", a.Limit.Name, a.Level, hoursText(a.Hours), period)
	switch {
	case math.IsNaN(a.AtMost):
		text += "; the uncertainty of the level is not known"
	case a.AtMost < a.Hours:
		text += fmt.Sprintf("; %s to allow for the uncertainty of the level (k = 2)", hoursText(a.AtMost))
	}
	return fmt.Sprintf("%s (%s). %s", text, a.Source, a.Caution)
}

func hoursText(hours float64) string {
	switch {
	case hours == 0:
		return "no time at all"
	case hours >= 1:
		return fmt.Sprintf("%.3g h", hours)
	case hours >= 1.0/60:
		return fmt.Sprintf("%.3g min", 60*hours)
	}
	return fmt.Sprintf("%.2g s", 3600*hours)
}
