package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// writeText writes the mean of both sides, or the only side, as text for
// response.ReadCurveWithPhase and target.Read, with phase, rig, valid band and standard
// uncertainty. The uncertainty of a single seating is written as unknown, since it does not include
// the scatter of seatings.
func writeText(w io.Writer, r *review.Results) error {
	c := r.Mean
	c.Rig = strings.Join(strings.Fields(c.Rig), " ") // on one line
	if !seatedOften(r) {
		c.Uncertainty = slices.Repeat([]float64{math.NaN()}, len(c.Level))
	}
	if _, err := fmt.Fprintf(w, "# response of %s, mean of what was measured\n",
		strings.Join(strings.Fields(r.About.Name), " ")); err != nil {
		return err
	}
	return response.WriteCurve(w, c, r.Phase)
}

// seatedOften reports whether the scatter of seatings is known.
func seatedOften(r *review.Results) bool {
	return slices.ContainsFunc(r.Mean.Components, func(c response.CurveComponent) bool { return c.DegreesOfFreedom > 0 })
}
