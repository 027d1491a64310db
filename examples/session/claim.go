package session

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/target/claim"
)

// Claim is a figure stated by the maker. What is one of the kinds below and decides which of the
// other fields are used. A field that is left out is not stated.
type Claim struct {
	What string `toml:"what"`

	Low       float64 `toml:"low"`       // Hz, frequency range and match
	High      float64 `toml:"high"`      // Hz
	Down      float64 `toml:"down"`      // dB, largest fall of the level in the range
	Up        float64 `toml:"up"`        // dB, largest rise of the level in the range
	Reference float64 `toml:"reference"` // Hz, frequency of the level from which Down counts

	At      float64 `toml:"at"`       // Hz, for every kind except a range, modulation and a figure
	Level   float64 `toml:"level"`    // dB SPL, of a distortion
	Percent float64 `toml:"percent"`  // for a distortion, modulation or a maximum level
	OfTotal bool    `toml:"of_total"` // the distortion is relative to the total

	Value     float64 `toml:"value"`     // the figure, for every other kind
	Unit      string  `toml:"unit"`      // of a sensitivity: "dB/mW" or "dB/V"; of a figure, any
	Tolerance float64 `toml:"tolerance"` // ±, of a sensitivity in dB, of an impedance in per cent, of a figure in its unit

	// For a figure measured by other means: its name ("mass"), the measured value and its standard
	// uncertainty, both in Unit.
	Name        string  `toml:"name"`
	Measured    float64 `toml:"measured"`
	Uncertainty float64 `toml:"uncertainty"`
}

// The kinds of claim.
const (
	FrequencyRange = "frequency range"
	Distortion     = "distortion"
	MaximumLevel   = "maximum level"
	Sensitivity    = "sensitivity"
	Impedance      = "impedance"
	Match          = "left-right match"
	Polarity       = "positive polarity"
	Figure         = "figure" // mass, headband force, lead length, price: measured by other means
)

var claimKinds = []string{FrequencyRange, Distortion, MaximumLevel, Sensitivity, Impedance, Match,
	string(claim.Modulation), string(claim.Difference), string(claim.Crosstalk), Polarity, Figure}

// units maps the units of sensitivity in data sheets to those of package claim.
var units = map[string]string{"": "", "dB/mW": claim.PerMilliwatt, "dB/V": claim.PerVolt,
	claim.PerMilliwatt: claim.PerMilliwatt, claim.PerVolt: claim.PerVolt}

// check returns an error if the claim is incomplete or contradictory.
func (c Claim) check() error {
	_, unit := units[c.Unit]
	switch {
	case !slices.Contains(claimKinds, c.What):
		return fmt.Errorf("what = %q; the kinds are %s", c.What, strings.Join(claimKinds, ", "))
	case c.What == FrequencyRange && !(c.Low > 0 && c.High > c.Low):
		return fmt.Errorf("a frequency range needs low and high in Hz; they are %g and %g", c.Low, c.High)
	case c.Down < 0 || c.Up < 0:
		return errors.New("down and up are in dB and above zero: the largest fall and rise of the level")
	case c.inPercent() && !(c.Percent > 0):
		return errors.New("a distortion needs percent, above zero")
	case c.What == string(claim.Crosstalk) && !(c.Value < 0):
		return fmt.Errorf("crosstalk needs a value in dB, below zero")
	case c.What == Figure && (c.Name == "" || c.Unit == ""):
		return errors.New(`a figure needs its name and its unit: name = "mass", unit = "g"`)
	case c.Uncertainty < 0 || c.Tolerance < 0:
		return errors.New("uncertainty and tolerance are above zero")
	case c.What != FrequencyRange && !c.inPercent() && c.What != string(claim.Crosstalk) &&
		c.What != Polarity && !(c.Value > 0):
		return fmt.Errorf("%s needs a value, above zero", c.What)
	case c.What == Sensitivity && !unit:
		return fmt.Errorf("unit = %q; a sensitivity is in dB/mW or dB/V", c.Unit)
	}
	return nil
}

// inPercent reports whether the claim is a distortion.
func (c Claim) inPercent() bool {
	return c.What == Distortion || c.What == string(claim.Modulation) || c.What == string(claim.Difference)
}

// claim returns the claim in the form of package claim.
func (c Claim) claim() claim.Claim {
	switch c.What {
	case FrequencyRange:
		return claim.FrequencyRange{Band: response.Band{Low: c.Low, High: c.High}, Down: c.Down, Up: c.Up,
			Reference: claim.Reference{At: c.Reference}}
	case Distortion:
		relative := distortion.THDF
		if c.OfTotal {
			relative = distortion.THDR
		}
		return claim.Distortion{At: c.At, Level: c.Level, Percent: c.Percent, Relative: relative}
	case MaximumLevel:
		return claim.MaximumLevel{Level: c.Value, At: c.At, Percent: c.Percent}
	case Sensitivity:
		return claim.Sensitivity{Value: c.Value, Unit: units[c.Unit], At: c.At, Tolerance: c.Tolerance}
	case Impedance:
		return claim.Impedance{Ohms: c.Value, At: c.At, Tolerance: c.Tolerance}
	}
	switch c.What {
	case string(claim.Modulation), string(claim.Difference):
		return claim.AtMost{What: claim.Quantity(c.What), Limit: c.Percent}
	case string(claim.Crosstalk):
		return claim.AtMost{What: claim.Crosstalk, Limit: c.Value, At: c.At}
	case Polarity:
		return claim.PositivePolarity{}
	case Figure:
		measured := response.NotKnown(c.Unit)
		if c.Measured > 0 {
			measured = response.Figure{Value: c.Measured, Uncertainty: c.Uncertainty, Unit: c.Unit}
		}
		return claim.Stated{Name: c.Name, Value: c.Value, Unit: c.Unit, Tolerance: c.Tolerance, Measured: measured}
	}
	return claim.Match{Within: c.Value, At: c.At, Over: response.Band{Low: c.Low, High: c.High}}
}
