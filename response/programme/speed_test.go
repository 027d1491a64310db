//go:build unix

package programme_test

import (
	"runtime"
	"runtime/debug"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.com/earnest/response/programme"
)

// stereo is material in two channels.
type stereo struct{ direct, through [2][]float64 }

func newStereo(seconds int) (s stereo) {
	for k := range s.direct {
		s.direct[k], s.through[k] = noisy(seconds, 48000, uint64(k))
	}
	runtime.GC()
	return s
}

// compare does both channels at once.
func (s stereo) compare(b *testing.B) {
	var wait sync.WaitGroup
	for k := range s.direct {
		wait.Go(func() {
			_, err := programme.Compare(channel("a", s.direct[k], 48000), channel("b", s.through[k], 48000), programme.Config{})
			require.NoError(b, err)
		})
	}
	wait.Wait()
}

// BenchmarkStereo compares ten minutes of two channels, and a tenth of that: the cost is linear.
// Beside the time it reports processor seconds, which other work on the machine disturbs less.
func BenchmarkStereo(b *testing.B) {
	for _, c := range []struct {
		name    string
		seconds int
	}{{"1min", 60}, {"10min", 600}} {
		b.Run(c.name, func(b *testing.B) {
			s := newStereo(c.seconds)
			b.ReportAllocs()
			before := processor()
			for b.Loop() {
				s.compare(b)
			}
			b.ReportMetric((processor()-before)/float64(b.N), "cpu-s/op")
		})
	}
}

// processor returns the seconds that all processors together have worked for this process.
func processor() float64 {
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		return 0
	}
	return float64(r.Utime.Nano()+r.Stime.Nano()) / 1e9
}

// BenchmarkMemory reports the largest memory in MB beyond the samples for ten minutes of material,
// with the collector running all the time.
func BenchmarkMemory(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(2))
	s := newStereo(600)
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	before, most := m.HeapAlloc, m.HeapAlloc
	for b.Loop() {
		done := make(chan struct{})
		var wait sync.WaitGroup
		wait.Go(func() {
			for {
				select {
				case <-done:
					return
				case <-time.After(5 * time.Millisecond):
					runtime.ReadMemStats(&m)
					most = max(most, m.HeapAlloc)
				}
			}
		})
		s.compare(b)
		close(done)
		wait.Wait()
	}
	b.ReportMetric(float64(most-before)/1e6, "MB-beyond")
}
