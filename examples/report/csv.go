package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"

	"example.com/earnest/target/review"
)

// The CSV files are tidy: one observation a row, one variable a column, a
// header line with units, an empty field for what is not known.

// writeResponse writes frequency_hz, side, seating, level_db, uncertainty_db,
// phase_deg: every seating of each side, and their mean with the standard
// uncertainty of its level.
func writeResponse(w io.Writer, m *review.Results) error {
	out := csv.NewWriter(w)
	out.Write([]string{"frequency_hz", "side", "seating", "level_db", "uncertainty_db", "phase_deg"})
	for _, side := range m.Sides() {
		for _, r := range side.Seatings {
			for i, f := range r.Response.Frequency {
				out.Write([]string{Number(f).String(), side.Name, r.Name, Number(r.Response.Level[i]).String(), "", degrees(r.Phase[i])})
			}
		}
		mean := side.Response()
		for i, f := range mean.Frequency {
			out.Write([]string{Number(f).String(), side.Name, "mean", Number(mean.Level[i]).String(), Number(mean.UncertaintyAt(f)).String(), degrees(side.Phase[i])})
		}
	}
	out.Flush()
	return out.Error()
}

func degrees(radians float64) string { return Number(radians * 180 / math.Pi).String() }

// writeDistortion writes fundamental_hz, side, seating, order, level_db,
// floor_db, bound_db: each harmonic relative to the fundamental where it stands
// clear of its floor, the floor, and the level it does not exceed.
func writeDistortion(w io.Writer, m *review.Results) error {
	out := csv.NewWriter(w)
	out.Write([]string{"fundamental_hz", "side", "seating", "order", "level_db", "floor_db", "bound_db"})
	for _, side := range m.Sides() {
		for _, r := range side.Seatings {
			for _, o := range r.Harmonics.Orders {
				level, floor, bound := numbers(above(o)), numbers(o.Floor), bounds(r.Harmonics, o)
				for i, f := range r.Harmonics.Fundamental {
					out.Write([]string{Number(f).String(), side.Name, r.Name, strconv.Itoa(o.N), level[i].String(), at(floor, i), at(bound, i)})
				}
			}
		}
	}
	out.Flush()
	return out.Error()
}

// at is a number of a column that may be missing.
func at(column []Number, i int) string {
	if column == nil {
		return ""
	}
	return column[i].String()
}
