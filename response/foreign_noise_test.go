package response_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"example.com/earnest/internal/testing/long"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
)

var (
	pinkDraws   = flag.Int("pink", 6, "draws of pink noise for TestIntervalsByPinkNoise")
	pinkSeconds = flag.Int("seconds", 4, "length of each of them")
)

// pinkNoise returns noise whose power falls by 3 dB per octave from 10 Hz on, with an rms of 0.1.
func pinkNoise(n int, random *rand.Rand) []float64 {
	plan := fft.NewPlan(fft.FastLen(n))
	spectrum := make([]complex128, plan.Bins())
	for k := range spectrum {
		if f := plan.Frequency(k, 48000); f > 10 {
			spectrum[k] = complex(random.NormFloat64()/math.Sqrt(f), random.NormFloat64()/math.Sqrt(f))
		}
	}
	x := plan.Inverse(nil, spectrum)[:n]
	var power float64
	for _, v := range x {
		power += v * v / float64(n)
	}
	for i := range x {
		x[i] *= 0.1 / math.Sqrt(power)
	}
	return x
}

// A known device by pink noise, in recordings with independent white noise: the stated interval
// holds the truth as often as it says. For 30 s: -pink 40 -seconds 30.
func TestIntervalsByPinkNoise(t *testing.T) {
	long.Skip(t)
	random := rand.New(rand.NewPCG(11, 12))
	filters := device(48000)
	grid := response.LogGrid(40, 15000, 3)
	inside, all, worst := 0, 0, 0.0
	for range *pinkDraws {
		x := pinkNoise(*pinkSeconds*48000, random)
		signal := ownSignal{x, 15, 20000, nil}
		d := mustDeconvolver(t, signal, response.DeconvolverConfig{})
		recorded := func(through bool, level float64, scope response.Scope) *response.Transfer {
			y := append(append(make([]float64, 2400), x...), make([]float64, 48000)...)
			if through {
				filters.Apply(y)
			}
			both := append(y, make([]float64, 2*48000)...)
			for i := range both {
				both[i] += level * random.NormFloat64()
			}
			h, err := d.Impulse(both[:len(y)])
			require.NoError(t, err)
			floor, err := response.NewNoise(both[len(y):], 48000)
			require.NoError(t, err)
			return h.WindowAt(0.05, 0, 0).InNoise(floor, response.Cause{Name: "noise", CommonTo: scope}).Transfer()
		}
		h, err := recorded(true, 0.003, response.OneSeating).Divide(recorded(false, 0.0003, response.OneRig))
		require.NoError(t, err)
		got, err := h.Smoothed(grid, 12)
		require.NoError(t, err)
		half := got.HalfWidth(0.95)
		for i, f := range grid {
			if math.IsNaN(got.Level[i]) {
				continue
			}
			all++
			e := math.Abs(got.Level[i] - smoothedTruth(filters, f, 12, 48000))
			worst = max(worst, e)
			if e <= half[i] {
				inside++
			}
		}
	}
	share := float64(inside) / float64(all)
	t.Logf("the 95 %% intervals held the truth in %.1f %% of %d; the largest error was %.2f dB", 100*share, all, worst)
	assert.Greater(t, all, len(grid)*(*pinkDraws)*9/10, "nearly all of the band is known")
	assert.InDelta(t, 0.95, share, 0.02+3*math.Sqrt(0.05*0.95/float64(all)), "the required share, less the scatter of so many draws")
}
