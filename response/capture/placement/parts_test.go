package placement_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// asking returns a stimulus of short sweeps with all additional parts.
func asking(t testing.TB) *sweep.Stimulus {
	t.Helper()
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 500 * time.Millisecond, Asks: sweep.Questions()})
	require.NoError(t, err)
	return st
}

const latency = 612

// recorded returns the left channel of a stimulus after a latency, softer, in noise.
func recorded(st *sweep.Stimulus) []float64 {
	x := append(make([]float64, latency), st.Channels()[0]...)
	random := rand.New(rand.NewPCG(1, 2))
	for i := range x {
		x[i] = x[i]/2 + 1e-4*random.NormFloat64()
	}
	return x
}

// TestPartsAreFoundWhateverWasCutOff takes the place of each part from the way in which the
// recording was made.
func TestPartsAreFoundWhateverWasCutOff(t *testing.T) {
	st := asking(t)
	const drift = 60.0 // ppm
	whole := capture.Clock{Drift: 1e6 * (1/(1+drift*1e-6) - 1)}.Correct(recorded(st), 0, int(float64(st.WholeLen())*(1+drift*1e-6)))
	parts := st.Parts()
	for _, cut := range []struct{ from, to float64 }{{0, 0}, {4, 0}, {20, 0}, {0, 15}, {15, 30}} {
		t.Run(fmt.Sprintf("%v s off the beginning, %v s off the end", cut.from, cut.to), func(t *testing.T) {
			from, to := int(cut.from*48000), len(whole)-int(cut.to*48000)
			rec := &capture.Recording{Name: "cut.wav", SampleRate: 48000, Channels: [][]float64{whole[from:to]}}
			found := placement.FindParts(rec, st)
			require.InDelta(t, drift, found.Clock.Drift, 1) // a stretch of 10 s, to 1/100 of a sample
			for _, p := range parts {
				// The search is accurate to 2 ms.
				at := float64(p.Start+latency)*(1+drift*1e-6)/48000 - cut.from
				require.InDelta(t, at, found.At(p), 2e-3, p)
				x, err := found.Cut(1, p, 0, 0)
				ends := at + float64(p.Len)/48000
				if at < -2e-3 || ends > float64(len(rec.Channels[0]))/48000+2e-3 {
					require.ErrorIs(t, err, placement.ErrPart)
					continue
				}
				require.NoError(t, err)
				require.Len(t, x, p.Len)
			}
			require.LessOrEqual(t, found.Sweeps.Len(), max(0, st.Parts()[0].Start-from+2000))
		})
	}
}

// TestSweepsAreFoundBesideParts checks that the sweeps are found as they would be without
// additional parts.
func TestSweepsAreFoundBesideParts(t *testing.T) {
	long.Skip(t)
	st := asking(t)
	x := recorded(st)
	rec := &capture.Recording{Name: "whole.wav", SampleRate: 48000, Channels: [][]float64{x}}
	p, err := placement.Locate(placement.FindParts(rec, st).Sweeps, st)
	require.NoError(t, err)
	require.Equal(t, sweep.Left, p.Channels[0].Side)
	require.InDelta(t, float64(st.Sweeps(sweep.Left)[0].Start+latency), p.Channels[0].Sweep, 96) // 96 samples are 2 ms

	twice := &capture.Recording{Name: "twice.wav", SampleRate: 48000, Channels: [][]float64{append(append([]float64{}, x...), x...)}}
	p, err = placement.Locate(twice, st)
	require.NoError(t, err)
	plays, err := p.Plays()
	require.NoError(t, err)
	require.Len(t, plays, 2)
	for _, play := range plays {
		require.True(t, play.Whole())
		for _, part := range st.Parts() {
			_, err := placement.FindParts(play.Recording, st).Cut(1, part, 0, 0)
			require.NoError(t, err, part)
		}
	}
}

// TestNothingButMarks checks that a minute of marks is searched quickly, whatever the result.
func TestNothingButMarks(t *testing.T) {
	st := asking(t)
	var x []float64
	for range 200 {
		x = append(append(x, st.Sweep().Mark()...), make([]float64, 4800)...)
	}
	found := placement.FindParts(&capture.Recording{Name: "marks.wav", SampleRate: 48000, Channels: [][]float64{x}}, st)
	for _, p := range st.Parts() {
		if x, err := found.Cut(1, p, 0, 0); err == nil {
			require.Len(t, x, p.Len)
		}
	}
}

// TestPartsOfOtherRecordings checks that nothing is found in recordings without two marks.
func TestPartsOfOtherRecordings(t *testing.T) {
	st := asking(t)
	for name, rec := range map[string]*capture.Recording{
		"no samples":   {SampleRate: 48000, Channels: [][]float64{nil}},
		"silence":      {SampleRate: 48000, Channels: [][]float64{make([]float64, 100000)}},
		"another rate": {SampleRate: 44100, Channels: [][]float64{make([]float64, 100000)}},
		"one mark":     {SampleRate: 48000, Channels: [][]float64{append(make([]float64, 48000), st.Sweep().Mark()...)}},
	} {
		t.Run(name, func(t *testing.T) {
			found := placement.FindParts(rec, st)
			require.Same(t, rec, found.Sweeps)
			_, err := found.Cut(1, st.Parts()[0], 0, 0)
			require.ErrorIs(t, err, placement.ErrPart)
			_, err = found.Cut(2, st.Parts()[0], 0, 0)
			require.ErrorIs(t, err, capture.ErrChannel)
		})
	}
}
