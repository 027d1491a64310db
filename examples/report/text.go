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
	lines := []string{fmt.Sprintf("response of %s, mean of what was measured", r.About.Name)}
	for _, one := range [][2]string{{"condition", r.About.Condition}, {"specimen", r.About.Specimen}} {
		if one[1] != "" {
			lines = append(lines, one[0]+": "+one[1])
		}
	}
	for i := range r.Changes {
		c := &r.Changes[i]
		lines = append(lines, fmt.Sprintf("compared: %s against %s (%s): %s", c.To, c.From, c.Design, c))
		for _, note := range c.Notes {
			lines = append(lines, "note: "+note)
		}
	}
	if s := r.Specimens; s != nil {
		v := s.At(1000)
		lines = append(lines, fmt.Sprintf("compared: %d specimens, which differ at 1 kHz by %v as a standard deviation, "+
			"and seatings of one by %v", len(s.Names), v.Between, v.Within))
	}
	for _, line := range lines {
		if _, err := fmt.Fprintf(w, "# %s\n", strings.Join(strings.Fields(line), " ")); err != nil {
			return err
		}
	}
	return response.WriteCurve(w, c, r.Phase)
}

// seatedOften reports whether the scatter of seatings is known.
func seatedOften(r *review.Results) bool {
	return slices.ContainsFunc(r.Mean.Components, func(c response.CurveComponent) bool { return c.DegreesOfFreedom > 0 })
}
