package bench

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"
)

// Each change of a control asks for one answer. New recordings are the slow part, so the benchmark
// changes the noise or the seatings every time; a change of the analysis alone finds its recordings
// made.
func BenchmarkMeasure(b *testing.B) {
	for _, run := range []struct {
		name   string
		change func(s *Settings, i int)
	}{
		{"smoothing changed", func(s *Settings, i int) { s.Smoothing = float64(1 + i%48) }},
		{"noise changed", func(s *Settings, i int) { s.Noise = -80 + float64(i)/1000 }},
		{"drift changed", func(s *Settings, i int) { s.Drift = 100 + float64(i)/100 }},
		{"two seatings", func(s *Settings, i int) { s.Seatings, s.Spread = 2, 1+float64(i)/1000 }},
		{"four seatings", func(s *Settings, i int) { s.Seatings, s.Spread = 4, 1+float64(i)/1000 }},
		{"two seconds", func(s *Settings, i int) { s.Duration, s.Noise = 2, -80+float64(i)/1000 }},
		{"level changed", func(s *Settings, i int) { s.Level = -20 + float64(i)/1000 }},
	} {
		b.Run(run.name, func(b *testing.B) {
			bench := New()
			b.ReportAllocs()
			for i := 0; b.Loop(); i++ {
				s := Default()
				run.change(&s, i)
				_, err := bench.Measure(context.Background(), s)
				require.NoError(b, err)
			}
		})
	}
}
