package response_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	fuzzed "example.com/earnest/internal/testing/drawn"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// For any curves, each operation returns an error or a curve that NewCurve accepts, or panics where
// documented.
func FuzzCurves(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("a curve, and another one on the same plate"))
	f.Fuzz(func(t *testing.T, b []byte) {
		s := fuzzed.From(b)
		c, d := s.Curve(), s.Curve()
		check := func(c response.Curve, err error) {
			if err != nil || len(c.Frequency) < 2 {
				return
			}
			require.Len(t, c.Level, len(c.Frequency))
			if c.Uncertainty != nil {
				require.Len(t, c.Uncertainty, len(c.Frequency))
			}
			for i, f := range c.Frequency {
				require.True(t, f > 0 && (i == 0 || f > c.Frequency[i-1]), "%v", c.Frequency)
			}
		}
		for range 4 {
			fuzzed.Harmless(t, func() {
				switch s.Int(12) {
				case 0:
					check(c.Sub(d))
				case 1:
					check(c.NormaliseAt(s.Number()))
				case 2:
					check(response.NewCurve(s.Slice(20), s.Slice(20)))
				case 3:
					check(response.MeanLevel(c, d))
				case 4:
					a, err := response.AverageOf([]response.Curve{c, d, c})
					if err == nil {
						a.Level.HalfWidth(s.Number())
						check(a.Level, nil)
					}
				case 5:
					check(c.Resample(s.Curve().Frequency), nil)
				case 6:
					check(c.Within(response.Band{Low: s.Number(), High: s.Number()}), nil)
				case 7:
					check(c.MaskBelow(d, s.Number()), nil)
				case 8:
					c.At(s.Number())
					c.UncertaintyAt(s.Number())
				case 9:
					response.LogGrid(s.Number(), s.Number(), s.Int(256)-3)
				case 10:
					var f response.Figure
					s.Fill(&f)
					f.Interval(s.Number())
					_ = f.String()
				case 11:
					check(c.Offset(s.Number()), nil)
				}
			}, "response", "smoothing")
		}
	})
}

// For any recording and stretches, a deconvolution and the steps after it return an error or a
// result, or panic where documented.
func FuzzDeconvolve(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10})
	f.Add([]byte("noise in a short recording"))
	f.Fuzz(func(t *testing.T, b []byte) {
		s := fuzzed.From(b)
		fuzzed.Harmless(t, func() {
			one, err := sweep.New(sweep.Config{Duration: 2e8, SampleRate: []int{8000, 16000, 48000}[s.Int(3)], Start: s.Number(), Stop: s.Number()})
			if err != nil {
				return
			}
			var c response.DeconvolverConfig
			s.Fill(&c)
			c.Like = nil
			if c.Longest > 2e9 {
				c.Longest = 0
			}
			d, err := response.NewDeconvolver(one, c)
			if err != nil {
				return
			}
			x := s.Samples(s.Int(256) * 40)
			if s.Int(2) == 1 {
				for i, v := range one.Samples() {
					if i < len(x) {
						x[i] += v
					}
				}
			}
			separated, err := d.Separate(x)
			if err != nil {
				return
			}
			_, _ = separated.Linear.Delay()
			w := separated.Linear.WindowAt(s.Number(), 1e6, 1e7)
			if s.Int(2) == 1 {
				if w, err = separated.Linear.Window(0, 0); err != nil {
					return
				}
			}
			h := w.Transfer()
			_, _ = h.Smoothed(s.Slice(20), s.Number())
			_, _ = h.SmoothedERB(response.LogGrid(20, 20000, 3), s.Number())
			h.Magnitude()
			_, _ = separated.Linear.Decays(response.DecayConfig{})
			noise, err := response.NewNoise(x, one.SampleRate())
			if err == nil {
				noise.Power(response.Band{Low: s.Number(), High: s.Number()})
				_, _ = w.Floor(noise, s.Curve().Frequency)
			}
		}, "response", "smoothing")
	})
}
