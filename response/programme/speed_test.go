package programme_test

import (
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/response/programme"
)

// noisy is a quick stand-in for material: noise that comes and goes, with a
// first-order filter between the two, as programme.py makes it.
func noisy(seconds, sampleRate int, seed uint64) (direct, through []float64) {
	random := rand.New(rand.NewPCG(seed, 9))
	direct, through = make([]float64, seconds*sampleRate), make([]float64, seconds*sampleRate)
	const late = 700
	var y float64
	for i := range direct {
		direct[i] = 0.1 * random.NormFloat64() * (0.2 + float64(i/12000%4))
		if i >= late {
			y = 0.3*direct[i-late] + 0.6*y
			through[i] = y + 1e-4*random.NormFloat64()
		}
	}
	return direct, through
}

// BenchmarkStereo is two channels of ten minutes and one of them at a tenth,
// to show that the cost is linear.
func BenchmarkStereo(b *testing.B) {
	for _, c := range []struct {
		name    string
		seconds int
	}{{"1min", 60}, {"10min", 600}} {
		b.Run(c.name, func(b *testing.B) {
			var direct, through [2][]float64
			for k := range direct {
				direct[k], through[k] = noisy(c.seconds, 48000, uint64(k))
			}
			runtime.GC()
			b.ReportAllocs()
			for b.Loop() {
				var wait sync.WaitGroup
				for k := range direct {
					wait.Go(func() {
						_, err := programme.Compare(channel("a", direct[k], 48000), channel("b", through[k], 48000), programme.Config{})
						require.NoError(b, err)
					})
				}
				wait.Wait()
			}
		})
	}
}
