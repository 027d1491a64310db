package session

import (
	"fmt"
	"slices"
	"strings"
)

// Claim is a figure of the maker's. What says which of the kinds below it is,
// and so which of the other fields count.
type Claim struct {
	What string `toml:"what"`

	Low  float64 `toml:"low"`  // Hz, frequency range
	High float64 `toml:"high"` // Hz, frequency range
	Down float64 `toml:"down"` // dB, by how much the level may have fallen at Low and High; 0 means it is not stated

	At      float64 `toml:"at"`      // Hz, distortion
	Level   float64 `toml:"level"`   // dB SPL, distortion and maximum level; 0 means it is not stated
	Percent float64 `toml:"percent"` // distortion

	Value float64 `toml:"value"` // the figure of every other kind
	Unit  string  `toml:"unit"`  // its unit: "ohm", "dB/mW", "dB/V", "dB"
}

// The kinds of claim.
const (
	FrequencyRange = "frequency range"
	Distortion     = "distortion"
	MaximumLevel   = "maximum level"
	Sensitivity    = "sensitivity"
	Impedance      = "impedance"
	Match          = "left-right match"
)

var claimKinds = []string{FrequencyRange, Distortion, MaximumLevel, Sensitivity, Impedance, Match}

// check says what the claim lacks.
func (c Claim) check() error {
	switch {
	case !slices.Contains(claimKinds, c.What):
		return fmt.Errorf("what = %q; the kinds are %s", c.What, strings.Join(claimKinds, ", "))
	case c.What == FrequencyRange && !(c.Low > 0 && c.High > c.Low):
		return fmt.Errorf("a frequency range needs low and high in Hz; they are %g and %g", c.Low, c.High)
	case c.Down < 0:
		return fmt.Errorf("down = %g; say by how many dB the level may have fallen, above zero", c.Down)
	case c.What == Distortion && !(c.At > 0 && c.Percent > 0):
		return fmt.Errorf("a distortion needs at in Hz and percent; they are %g and %g", c.At, c.Percent)
	case c.What != FrequencyRange && c.What != Distortion && c.Value == 0 && c.Level == 0:
		return fmt.Errorf("%s needs a value", c.What)
	}
	return nil
}
