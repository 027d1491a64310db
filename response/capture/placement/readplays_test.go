package placement

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"example.com/earnest/internal/testing/long"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

func shortStimulus(t testing.TB, unmarked bool) *sweep.Stimulus {
	t.Helper()
	s, err := sweep.New(sweep.Config{Duration: time.Second, SampleRate: 12000, Level: -12})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 400 * time.Millisecond, Unmarked: unmarked})
	require.NoError(t, err)
	return st
}

// eveningOf writes a file of a recorder that was left running: plays at random distances and levels
// in noise, every fourth of them stopped.
func eveningOf(t testing.TB, st *sweep.Stimulus, plays int, random *rand.Rand) (path string) {
	t.Helper()
	r := &capture.Recording{SampleRate: st.Sweep().SampleRate(), Channels: make([][]float64, 2)}
	for n := range plays {
		pause, gain, stop := 1000+random.IntN(30000), 0.1+0.9*random.Float64(), st.Len()
		if n%4 == 2 {
			stop = st.Len()/3 + random.IntN(st.Len()/2)
		}
		for k, x := range st.Channels() {
			r.Channels[k] = append(r.Channels[k], make([]float64, pause)...)
			for _, v := range x[:stop] {
				r.Channels[k] = append(r.Channels[k], gain*v)
			}
		}
	}
	for k, x := range r.Channels {
		for i := range x {
			x[i] += 1e-4 * random.NormFloat64()
		}
		r.Channels[k] = x
	}
	path = filepath.Join(t.TempDir(), "evening.wav")
	require.NoError(t, capture.Write(path, r, capture.WriteConfig{Format: capture.Format{Bits: 24}}))
	return path
}

// A file searched in blocks has the same plays as the whole recording, wherever the blocks meet.
func TestReadPlaysFindsWhatPlaysDoes(t *testing.T) {
	long.Skip(t)
	for _, unmarked := range []bool{false, true} {
		st, random := shortStimulus(t, unmarked), rand.New(rand.NewPCG(3, 4))
		path := eveningOf(t, st, 9, random)
		whole, err := capture.Read(path)
		require.NoError(t, err)
		p, err := Locate(whole, st)
		require.NoError(t, err)
		want, err := p.Plays()
		require.NoError(t, err)
		require.Len(t, want, 9)
		inBlock, err := ReadPlays(path, st) // in one block, since it is short
		require.NoError(t, err)
		require.Len(t, inBlock, len(want))
		for range 2 {
			length := 3*st.Len() + random.IntN(5*st.Len())
			got, err := readPlays(path, st, length, mostKept)
			require.NoError(t, err)
			require.Len(t, got, len(want), "blocks of %d", length)
			for i, w := range want {
				g := got[i]
				require.InDelta(t, w.Start, g.Start, 2.0/12000, "a thinned sample")
				require.Equal(t, w.Number, g.Number)
				require.Equal(t, w.Whole(), g.Whole())
				if !w.Whole() {
					require.InDelta(t, w.CutShort, g.CutShort, 0.02, "half a piece of the sweep")
				}
				require.Equal(t, w.Recording.Name, g.Recording.Name)
				require.Len(t, g.Findings, len(w.Findings))
				from := int(math.Round(g.From * 12000))
				require.Equal(t, whole.Channels[1][from:from+g.Recording.Len()], g.Recording.Channels[1])
				for k := range w.Channels {
					require.Equal(t, w.Channels[k].Side, g.Channels[k].Side)
				}
				if w.Whole() {
					before, err := w.Take(1, sweep.Left)
					require.NoError(t, err)
					after, err := g.Take(1, sweep.Left)
					require.NoError(t, err)
					require.Equal(t, before.Sweeps, after.Sweeps)
				}
			}
		}
	}
}

func TestReadPlaysErrors(t *testing.T) {
	st := shortStimulus(t, false)
	folder := t.TempDir()
	write := func(name string, r *capture.Recording) string {
		path := filepath.Join(folder, name)
		require.NoError(t, capture.Write(path, r, capture.WriteConfig{Format: capture.Format{Bits: 16}}))
		return path
	}
	random := rand.New(rand.NewPCG(5, 6))
	noise := make([]float64, 60000)
	for i := range noise {
		noise[i] = 0.1 * random.NormFloat64()
	}
	_, err := ReadPlays(write("noise.wav", &capture.Recording{SampleRate: 12000, Channels: [][]float64{noise}}), st)
	assert.ErrorIs(t, err, response.ErrNoPeak)
	_, err = ReadPlays(write("rate.wav", &capture.Recording{SampleRate: 48000, Channels: [][]float64{noise}}), st)
	assert.ErrorContains(t, err, "recorded at 48000 Hz, the stimulus was made for 12000 Hz")
	_, err = ReadPlays(folder, st)
	assert.ErrorIs(t, err, capture.ErrNotWAV)

	evening := eveningOf(t, st, 2, random)
	kept := 2 * 2 * (st.Len() + 1000) // of both channels, with the margin for the difference of clocks
	_, err = readPlays(evening, st, 4*st.Len(), kept)
	assert.NoError(t, err)
	_, err = readPlays(evening, st, 4*st.Len(), kept/2)
	require.ErrorIs(t, err, capture.ErrTooLarge)
	assert.ErrorContains(t, err, fmt.Sprintf("have more than %d samples of all channels together; cut the file into pieces", kept/2))
}
