package target

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"example.com/earnest/response"
)

// Target is a reference against which a response is judged.
type Target struct {
	// Name is its name in reports.
	Name string
	// Curve is the desired level in dB. Its uncertainty becomes part of every difference, less the
	// components that the response shares. It is zero for a target that is a definition, and the
	// measurement's own for a pair that was measured.
	Curve response.Curve
	// Tolerance is the allowed deviation of a response; the zero Tolerance leaves that to Config.
	Tolerance Tolerance
	// AnyRig reports that the target has the same meaning on every rig, as a flat one has.
	// Otherwise Curve.Rig should state its rig.
	AnyRig bool
}

// Flat returns the target with the same level at every frequency, from 1 Hz to 1 MHz. It belongs to
// no rig, and as a definition it is exact.
func Flat() Target {
	return Target{Name: "flat", Curve: constant(0), AnyRig: true}
}

// ReadFile reads a target from a file of frequencies and levels, and names it after the file
// without its extension. [response.ReadCurve] describes the lines.
//
// A comment such as "# rig: ear simulator" states the rig of the target; without one, set
// Curve.Rig. A target from a file is a definition: its uncertainty is zero unless the file states
// one. For another pair's measurement use [response.ReadCurveFile] and [FromPair].
func ReadFile(path string) (Target, error) {
	base := filepath.Base(path)
	name := strings.TrimSuffix(base, filepath.Ext(base))
	c, err := response.ReadCurveFile(path)
	if err == nil {
		err = check(c)
	}
	if err != nil {
		return Target{}, fmt.Errorf("target: %q: %w", name, err)
	}
	if c.Uncertainty == nil {
		c.Uncertainty = make([]float64, len(c.Level))
	}
	return Target{Name: name, Curve: c}, nil
}

// constant returns a curve of one level at all audio frequencies, without uncertainty.
func constant(level float64) response.Curve {
	return response.Curve{
		Frequency:   []float64{1, 1e6},
		Level:       []float64{level, level},
		Uncertainty: []float64{0, 0},
		Valid:       response.Band{Low: 1, High: 1e6},
	}
}

// check returns an error for a curve that cannot be judged, or be a target.
func check(c response.Curve) error {
	if _, err := response.NewCurve(c.Frequency, c.Level); err != nil {
		return err
	}
	if c.Uncertainty != nil && len(c.Uncertainty) != len(c.Level) {
		return fmt.Errorf("there are %d uncertainties for %d levels; give one for each, or none",
			len(c.Uncertainty), len(c.Level))
	}
	for _, one := range c.Components {
		for _, effect := range one.Effects {
			if effect != nil && len(effect) != len(c.Level) {
				return fmt.Errorf("the component %q has %d effects for %d levels; give one for each",
					one.Name, len(effect), len(c.Level))
			}
		}
	}
	for i, f := range c.Frequency {
		if c.Valid.Contains(f) && !math.IsNaN(c.Level[i]) {
			return nil
		}
	}
	// Two points outside a narrow valid band can still give the level inside it.
	if middle := math.Sqrt(c.Valid.Low * c.Valid.High); !math.IsNaN(c.At(middle)) {
		return nil
	}
	return fmt.Errorf("the level is known nowhere; the valid band is %v", c.Valid)
}
