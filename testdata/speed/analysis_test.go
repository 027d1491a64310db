// Package speed times the whole analysis: the Go side of compare.sh, which
// sets it against the same arithmetic in numpy and scipy (yardstick.py).
package speed

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"runtime/debug"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// record is a recording as yardstick.py makes it: half a second of lead, 2 s
// more than the sweep in all, noise 100 dB down, and for the headphones a
// first-order filter.
func record(x []float64, sampleRate int, through bool, seed uint64) []float64 {
	random := rand.New(rand.NewPCG(seed, 1))
	out := make([]float64, len(x)+2*sampleRate)
	var last, y float64
	for i, v := range x {
		if y = v; through {
			y = 0.2*v + 0.1*last + 0.7*out[max(0, sampleRate/2+i-1)]
		}
		last = v
		out[sampleRate/2+i] = y
	}
	for i := range out {
		out[i] += 1e-5 * random.NormFloat64()
	}
	return out
}

// analyse is one analysis: the stimulus spectrum once; then for left, right and direct the
// deconvolution, the linear response windowed and smoothed to 480 points at 1/12 octave, and
// harmonics 2 to 5. Unlike the yardstick, it removes the linear part before it reads the harmonics.
func analyse(s *sweep.Sweep, like *response.Deconvolver, recordings [][]float64, grid []float64) error {
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Orders: 5, Like: like})
	if err != nil {
		return err
	}
	errs := make([]error, len(recordings))
	var wait sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, r := range recordings {
		wait.Go(func() {
			// As many recordings are analysed at once as there are processors; the remaining steps
			// use idle processors.
			free <- struct{}{}
			parts, err := d.Separate(r)
			<-free
			if err == nil {
				err = read(parts, grid)
			}
			errs[i] = err
		})
	}
	wait.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// read takes the curves out of a recording that was taken apart.
func read(parts *response.Deconvolved, grid []float64) error {
	smoothed := make(chan error, 1)
	go func() {
		window, err := parts.Linear.Window(170*time.Millisecond, 512*time.Millisecond)
		if err == nil {
			_, err = window.Transfer().Smoothed(grid, 12)
		}
		smoothed <- err
	}()
	_, err := distortion.Harmonics(parts, distortion.Config{Orders: 5})
	return errors.Join(err, <-smoothed)
}

// work holds the inputs of an analysis, made once.
type work struct {
	sweep      *sweep.Sweep
	like       *response.Deconvolver // scipy too keeps its transforms' plans from one analysis to the next
	recordings [][]float64
	grid       []float64
}

func newWork(t testing.TB, rate, seconds int) work {
	s, err := sweep.New(sweep.Config{Start: 10, Stop: min(40000, 0.42*float64(rate)),
		Duration: time.Duration(seconds) * time.Second, SampleRate: rate})
	require.NoError(t, err)
	x := s.Samples()
	// A sweep of another phase shares the plans of the first, but not its spectra, so these are
	// measured.
	other, err := sweep.New(sweep.Config{Start: s.Start(), Stop: s.Stop(), TimeConstant: s.TimeConstant(), SampleRate: rate, Phase: 1})
	require.NoError(t, err)
	like, err := response.NewDeconvolver(other, response.DeconvolverConfig{Orders: 5})
	require.NoError(t, err)
	return work{s, like,
		[][]float64{record(x, rate, true, 1), record(x, rate, true, 2), record(x, rate, false, 3)},
		response.LogGrid(20, 20000, 48)}
}

func (w work) analyse() error { return analyse(w.sweep, w.like, w.recordings, w.grid) }

// The memory that one analysis keeps: the results (two responses of each of three recordings) and
// the spectra of the sweep and its two inverses take nine circular lengths; readings and Samples
// take the rest.
func TestMemoryOfAnAnalysis(t *testing.T) {
	w := newWork(t, 48000, 6)
	defer debug.SetGCPercent(debug.SetGCPercent(-1)) // a collection would empty the pools
	require.NoError(t, w.analyse())
	require.NoError(t, w.analyse())
	const runs = 4
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for range runs {
		require.NoError(t, w.analyse())
	}
	runtime.ReadMemStats(&after)
	count, size := (after.Mallocs-before.Mallocs)/runs, float64(after.TotalAlloc-before.TotalAlloc)/runs
	length := float64(len(w.recordings[0])) * 8 // bytes
	t.Logf("%d allocations, %.1f times a recording", count, size/length)
	require.Less(t, count, uint64(1100), "840 when this was written; how many run at once decides the rest")
	require.Less(t, size/length, 23.0, "18 to 19 when this was written; the same")
}

// BenchmarkAnalysis reports seconds per analysis at a sample rate and a length, for compare.sh.
func BenchmarkAnalysis(b *testing.B) {
	for _, c := range []struct{ rate, seconds int }{{48000, 6}, {96000, 10}} {
		b.Run(fmt.Sprintf("%dHz/%ds", c.rate, c.seconds), func(b *testing.B) {
			w := newWork(b, c.rate, c.seconds)
			require.NoError(b, w.analyse()) // the yardstick warms up too
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, w.analyse())
			}
		})
	}
}

// BenchmarkLength times one analysis against the length of the sweep, for scaling.sh.
func BenchmarkLength(b *testing.B) {
	for _, seconds := range []int{2, 6, 20, 60} {
		b.Run(fmt.Sprintf("%ds", seconds), func(b *testing.B) {
			w := newWork(b, 48000, seconds)
			for b.Loop() {
				require.NoError(b, w.analyse())
			}
		})
	}
}

// BenchmarkSessions times 32 analyses on all processors, for scaling.sh with -cpu 1,2.
func BenchmarkSessions(b *testing.B) {
	w := newWork(b, 48000, 3)
	for b.Loop() {
		var wait sync.WaitGroup
		free := make(chan struct{}, runtime.GOMAXPROCS(0))
		for range 32 {
			free <- struct{}{}
			wait.Go(func() {
				if err := w.analyse(); err != nil {
					b.Error(err)
				}
				<-free
			})
		}
		wait.Wait()
	}
}
