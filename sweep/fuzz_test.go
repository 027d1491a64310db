package sweep_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/drawn"
	"example.com/earnest/sweep"
)

// For any configuration, New and NewStimulus return an error, or finite samples within full scale.
func FuzzNew(f *testing.F) {
	f.Add([]byte{})
	f.Add([]byte("any sweep at all"))
	f.Fuzz(func(t *testing.T, b []byte) {
		s := drawn.From(b)
		var c sweep.Config
		s.Fill(&c)
		drawn.Harmless(t, func() {
			one, err := sweep.New(c)
			if err != nil || one.Duration() > 5 {
				return
			}
			for _, v := range one.Samples() {
				require.True(t, v >= -1 && v <= 1, "%v", v)
			}
			st := sweep.StimulusConfig{Sweep: one, Silence: time.Duration(s.Number() * 1e9), Gap: time.Duration(s.Number() * 1e9), Repeats: s.Int(256) - 5, Unmarked: s.Int(2) == 1}
			made, err := sweep.NewStimulus(st)
			if err != nil || made.Len() > 1<<22 {
				return
			}
			for _, x := range made.Channels() {
				require.Len(t, x, made.Len())
			}
			one.FrequencyAt(s.Number())
			one.TimeAt(s.Number())
			one.PhaseAt(s.Number())
			one.SpectrumLevel(s.Number())
		}, "sweep")
	})
}
