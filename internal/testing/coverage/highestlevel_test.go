package coverage

import (
	"flag"
	"fmt"
	"math"
	"os"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/sweep"
)

var leveled = flag.Int("levels", few, "invented reviews in the test of levels; 200 take about ten minutes")

// TestIntervalsOfLevels draws reviews of a stimulus that asks levels. A device's second harmonic
// rises by 1 dB with each dB of its level, its third by 2 dB. The truth of the highest level at a
// distortion is the mean of those of a hundred seatings.
func TestIntervalsOfLevels(t *testing.T) {
	if *leveled == few {
		long.Skip(t)
	}
	b, err := newBench(25600, sweep.AskLevels)
	require.NoError(t, err)
	drawLevels(t, b, "levels", [2]float64{-42, -60}, [2]float64{-20, -25}, (*session).runLevels)
}

// drawLevels draws, runs and tallies reviews of pairs whose second and third harmonics lie between
// limits in dB.
func drawLevels(t *testing.T, b *bench, of string, least, most [2]float64, run func(*session) (draw, error)) {
	var drawn []family
	for _, f := range families {
		if f.named {
			drawn = append(drawn, f)
		}
	}
	draws, failed := make([]draw, *leveled), make([]error, *leveled)
	var wait sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				s := newSession(*seed, i, b, drawn[i%len(drawn)])
				s.ratio = between(s.Rand, 25, 60)
				s.through = b.noiseFor(s.ratio, s.device[0].at(1000), s.IntN(2) == 0)
				s.harmonic = [2]float64{between(s.Rand, least[0], most[0]), between(s.Rand, least[1], most[1])}
				draws[i], failed[i] = run(s)
			}
		})
	}
	for i := range draws {
		next <- i
	}
	close(next)
	wait.Wait()
	all := tally{}
	for i, d := range draws {
		if failed[i] != nil {
			t.Logf("review %d: %v", i, failed[i])
			continue
		}
		all.draws = append(all.draws, d)
	}
	if testing.Verbose() {
		fmt.Printf("%d reviews of %s, seed %d\n", len(all.draws), of, *seed)
		all.print(os.Stdout)
	}
	all.check(t, *leveled <= few)
}

// runLevels draws, measures and counts a review of levels.
func (s *session) runLevels() (draw, error) {
	r, err := s.reviewed()
	if err != nil {
		return nil, err
	}
	d := draw{}
	for k, side := range r.Sides() {
		all := s.unplaced(k)
		for _, m := range side.MaxLevels {
			if m.Err != nil || m.Frequency < 80 || m.Frequency > 3000 {
				continue
			}
			d.figure(fmt.Sprintf("highest level, %d seatings", min(s.seatings, 4)), m.Played, s.highest(all, m.Frequency, m.Percent))
		}
		for _, f := range []float64{100, 1000} {
			for _, p := range side.LevelsAt(f) {
				d.reading("distortion against level, mean of seatings", p.THD.Reading, s.totalAt(all, f, p.Played))
			}
		}
		for _, tone := range side.Further.Tones {
			d.reading("distortion of a tone, mean of seatings", tone.THD.Reading, s.totalAt(all, tone.Frequency, tone.Played))
		}
	}
	return d, nil
}

// totalAt returns the mean over seatings of the distortion in % at a level in dBFS.
func (s *session) totalAt(seatings []levels, f, played float64) float64 {
	var sum float64
	for _, l := range seatings {
		second := s.harmonicRatio(l, 2, f) * math.Pow(10, (played-sweepLevel)/20)
		third := s.harmonicRatio(l, 3, f) * math.Pow(10, (played-sweepLevel)/10)
		sum += 100 * math.Hypot(second, third) / float64(len(seatings))
	}
	return sum
}

// highest returns the mean over seatings of the level in dBFS at which distortion reaches a limit.
// With q, the power at that level re the power of the sweep, it solves second² q + third² q² =
// limit².
func (s *session) highest(seatings []levels, f, percent float64) float64 {
	var sum float64
	for _, l := range seatings {
		second, third := math.Pow(s.harmonicRatio(l, 2, f), 2), math.Pow(s.harmonicRatio(l, 3, f), 2)
		q := 2 * percent * percent / 1e4 / (second + math.Sqrt(second*second+4*third*percent*percent/1e4))
		sum += (sweepLevel + 10*math.Log10(q)) / float64(len(seatings))
	}
	return sum
}
