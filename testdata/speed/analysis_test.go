// Package speed times the whole analysis: the Go side of compare.sh, which
// sets it against the same arithmetic in numpy and scipy (yardstick.py).
package speed

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
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

// analyse is one analysis: the stimulus spectrum once; then for left, right and
// direct the deconvolution, the linear response windowed and smoothed to 480
// points at 1/12 octave, and harmonics 2 to 5. Beyond what the yardstick does, the
// linear part is taken out before the harmonics are sought.
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
			// As many recordings are taken apart at once as there are processors;
			// what comes after fills whichever is idle.
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
func read(parts *response.Separated, grid []float64) error {
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

// BenchmarkAnalysis is what compare.sh reads: seconds per analysis at a sample
// rate and a length.
func BenchmarkAnalysis(b *testing.B) {
	for _, c := range []struct{ rate, seconds int }{{48000, 6}, {96000, 10}} {
		b.Run(fmt.Sprintf("%dHz/%ds", c.rate, c.seconds), func(b *testing.B) {
			s, err := sweep.New(sweep.Config{Start: 10, Stop: min(40000, 0.42*float64(c.rate)),
				Duration: time.Duration(c.seconds) * time.Second, SampleRate: c.rate})
			require.NoError(b, err)
			x := s.Samples()
			recordings := [][]float64{record(x, c.rate, true, 1), record(x, c.rate, true, 2), record(x, c.rate, false, 3)}
			grid := response.LogGrid(20, 20000, 48)
			// scipy keeps its transforms' plans from one analysis to the next.
			like, err := response.NewDeconvolver(s, response.DeconvolverConfig{Orders: 5})
			require.NoError(b, err)
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, analyse(s, like, recordings, grid))
			}
		})
	}
}
