package report

import (
	"fmt"
	"io"
	"strings"

	"example.com/earnest/examples/session"
	"example.com/earnest/response"
)

// writeText writes the mean of both sides, of the only one where there is one, as
// text that response.ReadCurve and target.Read read back: with its rig, where it
// is known, and its standard uncertainty.
func writeText(w io.Writer, m *session.Measurement) error {
	c := m.Mean
	c.Rig = strings.Join(strings.Fields(c.Rig), " ") // on one line
	if _, err := fmt.Fprintf(w, "# response of %s, mean of what was measured\n", strings.Join(strings.Fields(m.Session.Headphones.Name), " ")); err != nil {
		return err
	}
	return response.WriteCurve(w, c)
}
