package target

import (
	"errors"
	"fmt"
	"strings"

	"example.com/earnest/response"
)

// FromPair makes a target of another pair, measured on the same rig as the pair to be judged: this
// comparison is always valid. It takes a curve for each time the pair was put on the rig, and each
// must state its rig. A single seating keeps its uncertainty, which may be not known. For several,
// the target is the mean, and its uncertainty is that of the mean, with the correlation along
// frequency that the seatings show. The target shares no memory with the curves.
func FromPair(name string, seatings ...response.Curve) (Target, error) {
	if strings.TrimSpace(name) == "" {
		return Target{}, errors.New("target: the pair has no name; give it the name for the report")
	}
	if len(seatings) == 0 {
		return Target{}, fmt.Errorf("target: pair %q: there is no curve; give one for each seating", name)
	}
	for _, c := range seatings {
		if err := check(c); err != nil {
			return Target{}, fmt.Errorf("target: pair %q: %w", name, err)
		}
		if c.Rig == "" {
			return Target{}, fmt.Errorf(
				"target: pair %q: the curve does not state its rig; "+
					"set Rig to the words used for the pair to be judged", name)
		}
	}
	mean, err := meanOf(seatings)
	if err == nil {
		err = check(mean)
	}
	if err != nil {
		return Target{}, fmt.Errorf("target: pair %q: %w", name, err)
	}
	return Target{Name: name, Curve: mean.Offset(0)}, nil
}
