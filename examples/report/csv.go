package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"

	"example.com/earnest/target/review"
)

// The CSV files are tidy: one observation a row, one variable a column, a header line with units,
// an empty field for what is not known. A text that a spreadsheet would run as a formula gets an
// apostrophe in front. So does a text that begins with an apostrophe: removing the first one always
// gives the text back.

// writeResponse writes frequency_hz, side, seating, level_db, uncertainty_db,
// phase_deg: every seating of each side, and their mean with the standard
// uncertainty of its level.
func writeResponse(w io.Writer, r *review.Results) error {
	out := csv.NewWriter(w)
	out.Write([]string{"frequency_hz", "side", "seating", "level_db", "uncertainty_db", "phase_deg"})
	for _, side := range r.Sides() {
		for _, s := range side.Seatings {
			for i, f := range s.Response.Frequency {
				out.Write([]string{number(f).String(), side.Name, cell(s.Name), number(s.Response.Level[i]).String(), "",
					degrees(s.Phase[i])})
			}
		}
		mean := side.Response()
		for i, f := range mean.Frequency {
			out.Write([]string{number(f).String(), side.Name, "mean",
				number(mean.Level[i]).String(), number(mean.UncertaintyAt(f)).String(), degrees(side.Phase[i])})
		}
	}
	out.Flush()
	return out.Error()
}

// cell returns a text as a field that no spreadsheet runs.
func cell(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r\n'", rune(text[0])) {
		return "'" + text
	}
	return text
}

func degrees(radians float64) string { return number(radians * 180 / math.Pi).String() }

// writeDistortion writes fundamental_hz, side, seating, order, level_db, floor_db, bound_db: each
// harmonic relative to the fundamental where it is clear of its floor, the floor, and its upper
// bound.
func writeDistortion(w io.Writer, r *review.Results) error {
	out := csv.NewWriter(w)
	out.Write([]string{"fundamental_hz", "side", "seating", "order", "level_db", "floor_db", "bound_db"})
	for _, side := range r.Sides() {
		for _, s := range side.Seatings {
			for _, o := range s.Harmonics.Orders {
				level, bound := o.Level(), bounds(o)
				for i, f := range s.Harmonics.Fundamental {
					out.Write([]string{number(f).String(), side.Name, cell(s.Name), strconv.Itoa(o.N), at(level, i),
						at(o.Floor, i), at(bound, i)})
				}
			}
		}
	}
	out.Flush()
	return out.Error()
}

// at returns a value of a column that may be missing.
func at(column []float64, i int) string {
	if column == nil {
		return ""
	}
	return number(column[i]).String()
}
