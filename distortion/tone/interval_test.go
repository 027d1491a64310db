package tone_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/distortion/tone"
	"example.com/earnest/internal/testing/long"
)

var intervalDraws = flag.Int("draws", 200, "recordings of each kind for TestIntervalsHoldTheTruth; 2000 take two minutes")

// held counts the intervals of 95 % that held the truth, and the bounds.
type held struct{ told, inside, all, under int }

func (h *held) count(r distortion.Reading, truth float64) {
	h.all++
	if truth <= r.Bound {
		h.under++
	}
	if low, high := r.Interval(0.95); r.Known() {
		h.told++
		if low <= truth && truth <= high {
			h.inside++
		}
	}
}

// The distortion of the device is drawn from half the floor to eight times as much, with new noise
// each time. The test counts how often the intervals of readings above the margin held the truth,
// and the bounds of all.
func TestIntervalsHoldTheTruth(t *testing.T) {
	long.Skip(t)
	const fs, n, noise = 48000, 6000, 1e-3
	floor := noise * math.Sqrt(6./n) // √2 quadratures of noise² over 24 kHz in 1.5 fs/n
	kinds := map[string]*held{}
	count := func(kind string, r distortion.Reading, truth float64) {
		if kinds[kind] == nil {
			kinds[kind] = &held{}
		}
		kinds[kind].count(r, truth)
	}
	random := rand.New(rand.NewPCG(1, 2))
	multiples, _ := many(1024, fs, 200, 4000, 1)
	for seed := range uint64(*intervalDraws) {
		size := floor * 0.5 * math.Pow(16, random.Float64())
		turn := func() float64 { return 2 * math.Pi * random.Float64() }

		x := noisy(sum(n, fs, partial{1000.7, 0.1, turn()}, partial{2001.4, size, turn()}, partial{3002.1, size / 2, turn()}), noise, 3*seed)
		r, err := tone.Analyse(x, fs, tone.Config{Orders: 6})
		require.NoError(t, err)
		count("harmonic", r.Harmonics[0].Reading, dB(size/0.1))
		count("total", r.THD.Reading, 1000*math.Hypot(size, size/2))

		for kind, weak := range map[string]float64{"products alike": 1, "one product half": 0.5} {
			x = noisy(sum(n, fs, partial{250.01, 0.1, 0}, partial{8000.3, 0.1, turn()},
				partial{8250.31, size, turn()}, partial{7750.29, weak * size, turn()}), noise, 3*seed+1)
			m, err := tone.Modulation(x, fs, 250, 8000, tone.Config{})
			require.NoError(t, err)
			count(kind, m.Second.Reading, 1000*size*(1+weak))
			count("total of "+kind, m.Total.Reading, 1000*size*(1+weak))
		}

		var partials []partial
		for i, f := range multiples {
			partials = append(partials, partial{f, 0.1, float64(i * i)})
		}
		tones := float64(len(partials)) * 0.1 * 0.1
		for k := 200; k < 226; k += 2 { // even multiples from 9.4 to 10.6 kHz
			partials = append(partials, partial{fs / 1024. * float64(k), 3 * size, turn()})
		}
		m, err := tone.AnalyseMultitone(noisy(sum(10*1024, fs, partials...), noise, 3*seed+2), fs, 1024, multiples, tone.Config{})
		require.NoError(t, err)
		for _, b := range m.Bands {
			if b.Contains(10000) {
				count("residue", b.Distortion, 10*math.Log10(13*9*size*size/tones))
			}
		}
		count("residue in all", m.Total.Distortion, 10*math.Log10(13*9*size*size/tones))
	}
	for kind, h := range kinds {
		share, under := float64(h.inside)/float64(h.told), float64(h.under)/float64(h.all)
		t.Logf("%-26s known %4d of %d, held %.3f, bound %.3f", kind, h.told, h.all, share, under)
		within := func(of int) float64 { return 3.3 * math.Sqrt(0.05*0.95/float64(of)) }
		assert.InDelta(t, 0.95, share, 0.02+within(h.told), "%s: 99.9 %% binomial about 93–97 %%", kind)
		assert.Greater(t, under, 0.93-within(h.all), "%s: at most", kind)
	}
}
