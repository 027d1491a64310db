package correction_test

import (
	"testing"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/correction"
)

// For any response and number of filters, Fit returns an error or a correction, or panics where
// documented.
func FuzzFit(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("three filters at most"))
	f.Fuzz(func(t *testing.T, b []byte) {
		s := drawn.From(b)
		var c correction.Config
		s.Fill(&c)
		if c.Filters > 3 {
			c.Filters = 3
		}
		var o target.Config
		s.Fill(&o)
		seatings := make([]response.Curve, s.Int(3))
		for i := range seatings {
			seatings[i] = s.Curve()
		}
		goal := target.Flat()
		drawn.Harmless(t, func() {
			fitted, err := correction.Fit(seatings, goal, o, c)
			if err != nil {
				return
			}
			correction.LevelOf(fitted.Filters, s.Number(), 48000)
		}, "correction", "target", "response", "smoothing")
	})
}
