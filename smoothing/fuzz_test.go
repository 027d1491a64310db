package smoothing_test

import (
	"testing"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/smoothing"
)

// For any grid and fraction, planning returns an error or a plan that smooths.
func FuzzPlans(f *testing.F) {
	f.Add([]byte{0, 5, 10, 3, 4})
	f.Add([]byte("frequencies and levels"))
	f.Add([]byte("\x1b0101010101\x00\x00\x80\x00\x1801010001001")) // bands from 5e-324 Hz on
	f.Fuzz(func(t *testing.T, b []byte) {
		s := drawn.From(b)
		frequency, centre := s.Slice(60), s.Slice(20)
		if s.Int(2) == 1 {
			frequency, centre = s.Curve().Frequency, s.Curve().Frequency
		}
		make := []func() (*smoothing.Plan, error){
			func() (*smoothing.Plan, error) { return smoothing.NewOctave(frequency, nil, s.Number()) },
			func() (*smoothing.Plan, error) { return smoothing.NewERB(frequency, nil, s.Number()) },
			func() (*smoothing.Plan, error) { return smoothing.NewOctave(frequency, centre, s.Number()) },
			func() (*smoothing.Plan, error) { return smoothing.NewERB(frequency, centre, s.Number()) },
		}[s.Int(4)]
		drawn.Harmless(t, func() {
			plan, err := make()
			if err != nil {
				return
			}
			power := s.Slice(60)
			if s.Int(4) > 0 {
				power = append(power, frequency...)[:len(frequency)]
			}
			plan.Mean(nil, power)
		}, "smoothing")
		drawn.Harmless(t, func() {
			bands, err := smoothing.Bands(s.Int(256)-10, s.Number(), s.Number())
			if err == nil {
				smoothing.BandPower(nil, s.Slice(60), s.Number(), bands)
			}
		}, "smoothing")
	})
}
