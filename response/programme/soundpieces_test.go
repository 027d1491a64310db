//go:build !race

package programme_test

import (
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
)

var (
	pieces     = flag.Int("pieces", 4, "sound pieces of music for TestSoundPiecesAreCompared")
	firstPiece = flag.Uint64("first-piece", 0, "its first seed")
)

// piece returns random material that is hard to follow: a loop of one bar, music with silences, and
// bass-heavy effects.
func piece(sampleRate int, seconds float64, seed uint64) [][]float64 {
	random := rand.New(rand.NewPCG(seed, 5))
	between := func(low, high float64) int { return int((low + (high-low)*random.Float64()) * float64(sampleRate)) }
	m := rig.Music(sampleRate, seconds, seed)
	n := len(m[0])
	switch seed % 3 {
	case 0:
		bar := between(1, 2.5)
		for _, x := range m {
			for i := bar; i < n; i++ {
				x[i] = x[i-bar]
			}
		}
	case 1:
		for at := between(0.5, 3); at < n; at += between(0.5, 3) {
			end := min(n, at+between(0.5, 5))
			clear(m[0][at:end])
			clear(m[1][at:end])
			at = end
		}
	case 2:
		clear(m[0])
		for at := 0; at < n; at += between(0.4, 4) {
			burst := make([]float64, between(0.2, 1.7))
			for i := range burst {
				burst[i] = random.NormFloat64() * math.Exp(-4*float64(i)/float64(len(burst)))
			}
			biquad.New(biquad.LowPass, 60+200*random.Float64(), 0.7, 0, float64(sampleRate)).Apply(burst)
			for i, v := range burst[:min(len(burst), n-at)] {
				m[0][at+i] += v
			}
		}
	}
	top := 0.0
	for _, v := range m[0] {
		top = max(top, math.Abs(v))
	}
	for i := range m[0] {
		m[0][i] *= 0.5 / top
	}
	return [][]float64{m[0], m[0]}
}

// Nothing is missing from these pieces, whose clocks differ by up to 100 parts per million: none is
// warned of, and at most three in 100 are reported as cut (the rate is tested from 100 pieces on).
func TestSoundPiecesAreCompared(t *testing.T) {
	long.Skip(t)
	refused := 0
	for seed := *firstPiece; seed < *firstPiece+uint64(*pieces); seed++ {
		random := rand.New(rand.NewPCG(seed, 77))
		h, _, r := rig.Demonstration()
		r.Seed, r.Drift, r.Room.Level = seed, 200*random.Float64()-100, -90+40*random.Float64()
		m := piece(48000, 6+10*random.Float64(), seed)
		direct := r.Direct(m)[0]
		r.Latency += 40000 * random.Float64()
		through := r.Through(h, 0, m)[0]
		compared, err := programme.Compare(programme.Channel{Name: "direct", SampleRate: 48000, Samples: direct},
			programme.Channel{Name: "through", SampleRate: 48000, Samples: through}, programme.Config{})
		if err != nil {
			refused++
			t.Logf("seed %d: %v", seed, err)
			continue
		}
		for _, f := range compared.Findings {
			assert.Less(t, f.Severity, response.Warning, "seed %d: %v", seed, f)
		}
	}
	assert.LessOrEqual(t, refused, *pieces*3/100, "of %d sound pieces", *pieces)
}

// A bass line whose notes sink into the noise of the recording is whole: the inaudible part is not
// missing.
func TestNotesThatSinkIntoNoiseAreNotMissing(t *testing.T) {
	long.Skip(t)
	const fs = 16000
	random := rand.New(rand.NewPCG(1, 99))
	x := make([]float64, 30*fs)
	for at := 0; at < len(x); at += 3 * fs / 10 {
		f := 25 * math.Pow(80./25, random.Float64())
		for i := 0; i < 9*fs/10 && at+i < len(x); i++ {
			t := float64(i) / fs
			x[at+i] += 0.3 * math.Exp(-3*t) * math.Min(1, t/0.005) * math.Sin(2*math.Pi*f*t)
		}
	}
	for i := range x {
		x[i] += 1e-4 * random.NormFloat64()
	}
	y := slices.Clone(x)
	headphones(fs).Apply(y)
	_, err := programme.Compare(programme.Channel{Name: "direct", SampleRate: fs, Samples: x},
		programme.Channel{Name: "through", SampleRate: fs, Samples: withNoise(y, 18, 3)}, programme.Config{})
	assert.NotErrorIs(t, err, programme.ErrCut)
}
