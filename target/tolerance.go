package target

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// Tolerance is the allowed deviation of a response from its target, in dB against frequency. Both
// sides are levels of zero or more: Above = 3 and Below = 4 allow a deviation from −4 to +3 dB. A
// side without points has no limit. At a frequency where a side is not known, it is not known
// whether the response is within it. The zero Tolerance states nothing.
type Tolerance struct {
	Above, Below response.Curve
}

// DefaultTolerance is ±3 dB. It is used if neither the target nor the configuration states a
// tolerance. It is a convention and no limit of audibility.
var DefaultTolerance = PlusMinus(3)

// PlusMinus returns a tolerance of ±dB at all frequencies.
func PlusMinus(dB float64) Tolerance { return Tolerance{Above: constant(dB), Below: constant(dB)} }

// stated reports whether there is a limit on any side.
func (t Tolerance) stated() bool { return len(t.Above.Frequency)+len(t.Below.Frequency) > 0 }

func (t Tolerance) check() error {
	for _, side := range []response.Curve{t.Above, t.Below} {
		if len(side.Frequency) == 0 {
			continue
		}
		if _, err := response.NewCurve(side.Frequency, side.Level); err != nil {
			return err
		}
		for i, v := range side.Level {
			if v < 0 {
				return fmt.Errorf("%v dB at %s is below zero; state the allowed deviation to either side as a positive number, such as %v dB",
					v, response.FormatFrequency(side.Frequency[i]), -v)
			}
		}
	}
	return nil
}

// unlimited is the level of a side without a limit. It is finite, so that it can be interpolated.
const unlimited = math.MaxFloat64 / 4

// at returns the limits in dB at f Hz; below is negative.
func (t Tolerance) at(f float64) (above, below float64) {
	above, below = unlimited, -unlimited
	if len(t.Above.Frequency) > 0 {
		above = t.Above.At(f)
	}
	if len(t.Below.Frequency) > 0 {
		below = -t.Below.At(f)
	}
	return above, below
}
