package level_test

import (
	"testing"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// For any recording and configuration, the package returns an error or a figure, or panics where
// documented.
func FuzzLevels(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("volts, ohms and a calibrator"))
	f.Fuzz(func(t *testing.T, b []byte) {
		s := drawn.From(b)
		for range 3 {
			drawn.Harmless(t, func() {
				samples := func() []float64 { return s.Samples(s.Int(256) * s.Int(40)) }
				switch s.Int(7) {
				case 0:
					var m level.Meter
					s.Fill(&m)
					_, _ = m.Measure(samples())
				case 1:
					var c level.Calibrator
					var tone response.Figure
					s.Fill(&c)
					s.Fill(&tone)
					_, _ = c.Sensitivity(tone)
				case 2:
					r, err := level.RatioFromNoise(samples(), samples(), []int{0, 8000, 48000}[s.Int(3)])
					if err == nil {
						d := level.Divider{Reference: r}
						s.Fill(&d.Series)
						s.Fill(&d.Known)
						_, _ = d.Impedance(r)
					}
				case 3:
					var n level.NoiseRecordings
					s.Fill(&n)
					n.Open, n.Covered, n.Background = samples(), samples(), samples()
					_, _ = level.InsertionLoss(n)
				case 4:
					var n level.SoundLeakageRecordings
					s.Fill(&n)
					_, _ = level.MeasureSoundLeakage(n)
				case 5:
					var sensitivity, impedance response.Figure
					var a level.Amplifier
					s.Fill(&sensitivity)
					s.Fill(&impedance)
					s.Fill(&a)
					_, _ = a.MaxSPL(sensitivity, impedance)
				case 6:
					var l level.Limit
					var d response.Figure
					s.Fill(&l)
					s.Fill(&d)
					_, _ = l.Allow(d)
				}
			}, "level", "response", "smoothing")
		}
	})
}
