package sweep_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"
	"pgregory.net/rapid"

	"example.com/earnest/sweep"
)

// Properties that hold for any configuration; more cases with -rapid.checks=N.

func drawConfig(t *rapid.T) sweep.Config {
	rate := rapid.SampledFrom([]int{8000, 11025, 12000}).Draw(t, "rate")
	start := rapid.Float64Range(100, 500).Draw(t, "start")
	return sweep.Config{
		Start: start, Stop: rapid.Float64Range(1500, 0.45*float64(rate)).Draw(t, "stop"),
		Duration:   time.Duration(rapid.IntRange(100, 150).Draw(t, "ms")) * time.Millisecond,
		SampleRate: rate,
		Level:      rapid.Float64Range(-60, 0).Draw(t, "level"),
	}
}

func drawSweep(t *rapid.T) *sweep.Sweep {
	s, err := sweep.New(drawConfig(t))
	require.NoError(t, err)
	return s
}

func TestPropertyTimeAndFrequencyThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSweep(t)
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		at := share * s.Duration()
		f := s.FrequencyAt(at)
		require.InDelta(t, at, s.TimeAt(min(max(f, s.Start()), s.Stop())), 1e-9, "rounding, and of the ends")
		n, m := rapid.IntRange(1, 20).Draw(t, "n"), rapid.IntRange(1, 20).Draw(t, "m")
		require.InDelta(t, s.HarmonicAdvance(n)+s.HarmonicAdvance(m), s.HarmonicAdvance(n*m), 1e-12*(1+s.HarmonicAdvance(n*m)), "ln nm = ln n + ln m")
		turns := s.Start() * s.TimeConstant()
		require.InDelta(t, math.Round(turns), turns, 1e-9*turns, "f1 L is whole")
		require.InDelta(t, s.TimeConstant()*math.Log(s.Stop()/s.Start()), s.Duration(), 1e-9, "T = L ln(f2/f1)")
		for _, outside := range []float64{-rapid.Float64Range(1e-6, 1e9).Draw(t, "before"), s.Duration() + rapid.Float64Range(1e-6, 1e9).Draw(t, "after"), math.NaN()} {
			require.True(t, math.IsNaN(s.FrequencyAt(outside)) && math.IsNaN(s.PhaseAt(outside)))
		}
		for _, outside := range []float64{s.Start() * 0.999, s.Stop() * 1.001, math.NaN()} {
			require.True(t, math.IsNaN(s.TimeAt(outside)))
		}
	})
}

// A sweep at another level is the same sweep times a gain, and its inverse is divided by it.
func TestPropertyLevelIsAGain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawConfig(t)
		s, err := sweep.New(c)
		require.NoError(t, err)
		c.Level = 0
		full, err := sweep.New(c)
		require.NoError(t, err)
		gain := math.Pow(10, s.Level()/20)
		require.InEpsilon(t, gain, s.Amplitude(), 1e-12, "rounding")
		x, whole := s.Samples(), full.Samples()
		require.Len(t, x, s.Len())
		floats.Scale(gain, whole)
		require.Less(t, floats.Distance(whole, x, math.Inf(1)), 1e-12, "rounding")
		require.LessOrEqual(t, floats.Norm(x, math.Inf(1)), s.Amplitude()+1e-15)
		const n = 256
		inverse, of := s.InverseSpectrum(nil, n), full.InverseSpectrum(nil, n)
		for k := range inverse {
			require.InDelta(t, 0, math.Hypot(real(inverse[k])*gain-real(of[k]), imag(inverse[k])*gain-imag(of[k])), 1e-9*(1e-12+math.Hypot(real(of[k]), imag(of[k]))), "rounding")
		}
		f := rapid.Float64Range(s.Start(), s.Stop()).Draw(t, "f")
		require.InEpsilon(t, gain*full.SpectrumLevel(f), s.SpectrumLevel(f), 1e-12, "rounding")
		y, other := s.InverseFilter(), full.InverseFilter()
		floats.Scale(gain, y)
		require.Less(t, floats.Distance(other, y, math.Inf(1)), 1e-12*floats.Norm(other, math.Inf(1)), "rounding")
	})
}

// Every sample of the stimulus belongs to one segment, and a segment of one side leaves the other
// silent.
func TestPropertyStimulusFollowsItsSegments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSweep(t)
		st, err := sweep.NewStimulus(sweep.StimulusConfig{
			Sweep: s, Repeats: rapid.IntRange(1, 2).Draw(t, "repeats"), Unmarked: rapid.Bool().Draw(t, "unmarked"),
			Silence: time.Duration(rapid.IntRange(100, 200).Draw(t, "silence")) * time.Millisecond,
			Gap:     time.Duration(rapid.IntRange(100, 200).Draw(t, "gap")) * time.Millisecond,
		})
		require.NoError(t, err)
		channels := st.Channels()
		rebuilt := [][]float64{make([]float64, st.Len()), make([]float64, st.Len())}
		at := 0
		for _, segment := range st.Segments() {
			require.Equal(t, at, segment.Start, "they follow each other")
			at += segment.Len
			var left, right []float64
			switch segment.Kind {
			case sweep.LeftSweep:
				left = s.Samples()
			case sweep.RightSweep:
				right = s.Samples()
			case sweep.Mark:
				left, right = s.Mark(), s.Mark()
			}
			copy(rebuilt[0][segment.Start:], left)
			copy(rebuilt[1][segment.Start:], right)
		}
		require.Equal(t, st.Len(), at)
		require.InDelta(t, float64(at)/float64(s.SampleRate()), st.Duration(), 1e-12, "rounding")
		require.True(t, slices.Equal(rebuilt[0], channels[0]) && slices.Equal(rebuilt[1], channels[1]))
	})
}
