package response_test

import (
	"flag"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

var noisyDraws = flag.Int("noisy", 25, "draws of noise for TestSmoothedPowerHasNoNoise")

// smoothedTruth returns the mean power of the cookbook's filters over 1/fraction octave in dB, with
// equal weight on a logarithmic axis: the definition, by the trapezoid rule.
func smoothedTruth(c biquad.Chain, f, fraction, sampleRate float64) float64 {
	const steps = 400
	var sum, weight float64
	for i := range steps + 1 {
		w := 1.0
		if i == 0 || i == steps {
			w = 0.5
		}
		x := f * math.Exp2((float64(i)/steps-0.5)/fraction)
		a := cmplx.Abs(c.Response(x, sampleRate))
		sum += w * a * a
		weight += w
	}
	return 10 * math.Log10(sum/weight)
}

// A known device between two noisy recordings. After the division, white noise in the recordings
// rises by 3 dB per octave, so one draw has many signal-to-noise ratios.
func TestSmoothedPowerHasNoNoise(t *testing.T) {
	long.Skip(t)
	s := mustSweep(t, sweep.Config{Duration: time.Second})
	d := mustDeconvolver(t, s, response.DeconvolverConfig{})
	filters := device(48000)
	grid := append(append([]float64{20}, response.LogGrid(60, 15000, 3)...), 20000)
	truthAt := func(f float64) float64 {
		if f == 20 || f == 20000 { // at the ends of the band nothing is smoothed
			return smoothedTruth(filters, f, 1e6, 48000)
		}
		return smoothedTruth(filters, f, 12, 48000)
	}
	for _, c := range []struct {
		name            string
		through, direct float64 // dB of the noise relative to the sweep
	}{{"noise in the recording through the device", -4, -60}, {"noise in the direct recording", -60, -4}, {"in both", -8, -8}} {
		t.Run(c.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(7, 7))
			n := float64(*noisyDraws)
			errors, snr, standard := make([]float64, len(grid)), make([]float64, len(grid)), make([]float64, len(grid))
			inside, all := 0, 0
			for range *noisyDraws {
				measure := func(noise float64, filter biquad.Chain, scope response.Scope) (*response.Transfer, response.Curve) {
					x := played(s, 4800)
					if filter != nil {
						filter.Apply(x)
					}
					silence := make([]float64, 48000)
					both := append(x, silence...)
					addNoise(both, s, noise, "white", random)
					h, err := d.Impulse(both[:len(x)])
					require.NoError(t, err)
					floor, err := response.NewNoise(both[len(x):], 48000)
					require.NoError(t, err)
					w := h.WindowAt(0.1, 0, 0).InNoise(floor, response.Cause{Name: "noise", CommonTo: scope})
					f, err := w.Floor(floor, grid)
					require.NoError(t, err)
					return w.Transfer(), f
				}
				through, floor := measure(c.through, filters, response.OneSeating)
				direct, directFloor := measure(c.direct, nil, response.OneRig)
				h, err := through.Divide(direct)
				require.NoError(t, err)
				got, err := h.Smoothed(grid, 12)
				require.NoError(t, err)
				half := got.HalfWidth(0.95)
				for i, f := range grid {
					truth := truthAt(f)
					errors[i] += (got.Level[i] - truth) / n
					snr[i] += (-10 * math.Log10(math.Pow(10, (floor.Level[i]-truth)/10)+math.Pow(10, directFloor.Level[i]/10))) / n
					standard[i] += got.Uncertainty[i] / n
					if max(floor.Level[i]-truth, directFloor.Level[i]) > -10 {
						continue
					}
					all++
					if math.Abs(got.Level[i]-truth) <= half[i] {
						inside++
					}
				}
			}
			for i, f := range grid {
				if snr[i] < 10 {
					continue
				}
				assert.InDelta(t, 0, errors[i], 0.01+4*standard[i]/math.Sqrt(n), "dB at %.0f Hz, %.1f dB above the noise: four standard errors of the mean", f, snr[i])
			}
			share := float64(inside) / float64(all)
			t.Logf("the 95 %% intervals held the truth in %.1f %% of %d", 100*share, all)
			assert.InDelta(t, 0.955, share, 0.025, "of 95 %%; they also contain the possible smoothing by the window")
		})
	}
}

// A resonance whose ring the window cuts off: levels that are stated as known hold the smoothed
// truth within their interval, at the resonance and about it. The ring of a peaking filter of
// quality Q at f dies as exp(−πft/Q).
func TestWindowStatesWhatItSmooths(t *testing.T) {
	long.Skip(t)
	d := common()
	s := d.Sweep()
	for _, filter := range []struct{ f, q, gain float64 }{{120, 8, 9}, {120, 8, -9}, {120, 3, 9}, {60, 5, 12}, {1000, 20, 10}, {3000, 8, 9}} {
		filters := biquad.Chain{biquad.New(biquad.Peaking, filter.f, filter.q, filter.gain, 48000)}
		x := played(s, 4800)
		filters.Apply(x)
		addNoise(x, s, -70, "white", rand.New(rand.NewPCG(1, 2)))
		h, err := d.Impulse(x)
		require.NoError(t, err)
		silence := make([]float64, 48000)
		addNoise(silence, s, -70, "white", rand.New(rand.NewPCG(3, 4)))
		noise, err := response.NewNoise(silence, 48000)
		require.NoError(t, err)
		for _, after := range []time.Duration{3, 10, 20, 40, 80, 160, 500} {
			grid := response.LogGrid(filter.f/2, filter.f*2, 24)
			c, err := h.WindowAt(0.1, 0, after*time.Millisecond).InNoise(noise, response.Cause{Name: "noise"}).Transfer().Smoothed(grid, 12)
			require.NoError(t, err)
			for i, half := range c.HalfWidth(0.95) {
				if e := c.Level[i] - smoothedTruth(filters, grid[i], 12, 48000); !math.IsNaN(e) {
					assert.LessOrEqual(t, math.Abs(e), half+0.03, "dB at %.0f Hz, %v, %d ms; 0.03 dB for the noise and the regularisation", grid[i], filter, after)
				}
			}
			if filter.f*float64(after)/1000 < 3.9 {
				assert.True(t, math.IsNaN(c.At(filter.f)), "%v, %d ms: less than four periods of it", filter, after)
			}
			if after == 500 {
				assert.Less(t, c.UncertaintyAt(grid[24]), 0.02, "dB: a window as long as the ringing does not smooth")
			}
		}
	}
}
