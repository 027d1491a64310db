// Package speed times the whole analysis: the Go side of compare.sh, which
// sets it against the same arithmetic in numpy and scipy (yardstick.py).
package speed

import (
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
func analyse(s *sweep.Sweep, recordings [][]float64, grid []float64) error {
	d, err := response.NewDeconvolver(s, response.DeconvolverConfig{Orders: 5})
	if err != nil {
		return err
	}
	errs := make([]error, len(recordings))
	var wait sync.WaitGroup
	free := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i, r := range recordings {
		wait.Go(func() {
			free <- struct{}{}
			defer func() { <-free }()
			errs[i] = one(d, r, grid)
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

func one(d *response.Deconvolver, recording, grid []float64) error {
	parts, err := d.Separate(recording)
	if err != nil {
		return err
	}
	window, err := parts.Linear.Window(170*time.Millisecond, 512*time.Millisecond)
	if err != nil {
		return err
	}
	if _, err = window.Transfer().Smoothed(grid, 12); err != nil {
		return err
	}
	_, err = distortion.Harmonics(parts, distortion.Config{Orders: 5})
	return err
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
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, analyse(s, recordings, grid))
			}
		})
	}
}
