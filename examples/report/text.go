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

// writeText writes the mean of both sides, of the only one where there is one, as text that
// response.ReadCurveWithPhase and target.Read read back: with its phase, its rig, where it is
// known, and its standard uncertainty, which is written as unknown of a single seating, since it does
// not take in how much the next would differ.
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

// seatedOften tells whether it is known how much seatings differ.
func seatedOften(r *review.Results) bool {
	return slices.ContainsFunc(r.Mean.Components, func(c response.CurveComponent) bool { return c.DegreesOfFreedom > 0 })
}
