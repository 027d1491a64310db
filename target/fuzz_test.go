package target_test

import (
	"testing"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

// For any curves, targets and configurations, a judgement returns an error or a result, or panics
// where documented.
func FuzzJudge(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("two pairs of headphones against a target"))
	f.Fuzz(func(t *testing.T, b []byte) {
		s := drawn.From(b)
		curves := make([]response.Curve, s.Int(4))
		for i := range curves {
			curves[i] = s.Curve()
			if i > 0 && s.Int(2) == 1 { // on the same grid
				level := append(s.Slice(40), curves[0].Level...)[:len(curves[0].Level)]
				if c, err := response.NewCurve(curves[0].Frequency, level); err == nil {
					curves[i] = c
				}
			}
		}
		goal := target.Flat()
		if s.Int(2) == 1 {
			goal.Curve = s.Curve()
		}
		var c target.Config
		s.Fill(&c)
		c.Align = []target.Alignment{{}, target.Alignment{At: s.Number()}, target.Alignment{Over: response.Band{Low: s.Number(), High: s.Number()}}, target.Alignment{None: true}}[s.Int(4)]
		if len(c.Regions) > 3 {
			c.Regions = c.Regions[:3]
		}
		drawn.Harmless(t, func() {
			switch s.Int(6) {
			case 0:
				_, _ = target.Compare(s.Curve(), goal, c)
			case 1:
				_, _ = target.CompareSeatings(curves, goal, c)
			case 2:
				_, _ = target.CompareSides(curves, response.Band{Low: s.Number(), High: s.Number()}, c)
			case 3:
				sessions := make([]target.Pair, s.Int(4))
				for i := range sessions {
					sessions[i] = target.Pair{Name: string(rune('a' + i)), Seatings: curves}
				}
				_, _ = target.Rank(sessions, goal, c)
			case 4:
				_, _ = target.FromPair("pair", curves...)
			case 5:
				var one response.Figure
				s.Fill(&one)
				target.Decide(one, s.Number(), s.Number(), s.Number())
			}
		}, "target", "response", "smoothing")
	})
}
