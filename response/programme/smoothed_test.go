//go:build !race

package programme_test

import (
	"flag"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme"
	"example.com/earnest/smoothing"
)

var (
	filters = flag.Int("filters", 2, "draws of filter and noise in the test of the curves from material alone; 500 take some minutes")
	folder  = flag.String("music", "", "folder of WAV files that are pieces for that test too")
)

// drawn returns random headphones: a leak in the bass, and three resonances, one of them in the
// treble.
func drawn(random *rand.Rand, fs float64) biquad.Chain {
	between := func(low, high float64) float64 { return low + (high-low)*random.Float64() }
	over := func(low, high float64) float64 { return low * math.Pow(high/low, random.Float64()) }
	return biquad.Chain{
		biquad.New(biquad.LowShelf, over(60, 200), 0.7, between(-8, 4), fs),
		biquad.New(biquad.Peaking, over(100, 1000), over(0.5, 2), between(-6, 6), fs),
		biquad.New(biquad.Peaking, over(1000, 4000), over(1, 4), between(-8, 8), fs),
		biquad.New(biquad.Peaking, min(0.4*fs, over(4000, 12000)), over(1, 5), between(-10, 6), fs),
	}
}

// smoothedTruth returns the level in dB of the mean power of a filter over 1/12 octave, from 33
// points.
func smoothedTruth(c biquad.Chain, f, fs float64) float64 {
	var power float64
	for i := -16; i <= 16; i++ {
		a := cmplx.Abs(c.Response(f*math.Exp2(float64(i)/32/12), fs))
		power += a * a / 33
	}
	return 10 * math.Log10(power)
}

// spectrumOf is the power of a signal in each band.
func spectrumOf(x []float64, fs float64, bands []smoothing.Band) []float64 {
	s := programme.Welch(x, x, fs, 1<<14, 1<<13)
	out := make([]float64, len(bands))
	for i, b := range bands {
		for k, v := range s.Direct {
			low, high := (float64(k)-0.5)*fs/(1<<14), (float64(k)+0.5)*fs/(1<<14)
			out[i] += v * max(0, min(high, b.High)-max(low, b.Low))
		}
	}
	return out
}

// The 95 % band of the curve from material alone holds the truth of random filters in 93 to 97 % of
// third octaves. It covers 80 % of the third octaves in which the piece stands 10 dB above the
// noise.
func TestCurveFromMaterialHoldsTheFilter(t *testing.T) {
	long.Skip(t)
	speech, speechRate := recorded(t, "8297-275156-0011.flac")
	tune, tuneRate := recorded(t, "257344.flac")
	type piece struct {
		name string
		x    []float64
		fs   int
	}
	pieces := []piece{
		{"recorded speech", speech, speechRate},
		{"recorded music", tune, tuneRate},
		{"an invented voice", rig.Speech(32000, 10, 1)[0], 32000},
		{"an invented tune", rig.Music(32000, 10, 1)[0], 32000},
	}
	files, err := filepath.Glob(filepath.Join(*folder, "*.wav"))
	assert.NoError(t, err)
	for _, f := range files {
		r, err := capture.Read(f)
		assert.NoError(t, err)
		pieces = append(pieces, piece{r.Name, r.Channels[0], r.SampleRate})
	}
	var allInside, all float64
	for _, c := range pieces {
		t.Run(c.name, func(t *testing.T) {
			fs := float64(c.fs)
			var inside, stated, energy, covered float64
			for draw := range *filters {
				random := rand.New(rand.NewPCG(uint64(draw), 16))
				filter := drawn(random, fs)
				snr := 35 + 25*random.Float64()
				d := device{filter: filter, gain: 0.7, ppm: 80*random.Float64() - 40, start: 5000 * random.Float64(), tail: 3000, snr: snr, seed: uint64(draw), fine: true}
				got := compare(t, c.x, d.through(c.x), c.fs, programme.Config{})
				bands, err := smoothing.Bands(3, 20, min(20000, 0.45*fs))
				assert.NoError(t, err)
				centres := make([]float64, len(bands))
				for i, b := range bands {
					centres[i] = b.Centre
				}
				curve := got.Smoothed(response.LogGrid(20, min(20000, 0.45*fs), 48), 12)
				half := curve.HalfWidth(0.95)
				y := append([]float64(nil), c.x...)
				filter.Apply(y)
				signal := spectrumOf(y, fs, bands)
				noise := power(y) * math.Pow(10, -snr/10) / (fs / 2)
				for i, b := range bands {
					if b.Centre < curve.Frequency[0] || b.Centre > curve.Frequency[len(curve.Frequency)-1] {
						continue
					}
					width := response.Curve{Frequency: curve.Frequency, Level: half, Valid: curve.Valid}.At(b.Centre)
					level := curve.At(b.Centre)
					if signal[i] > 10*noise*(b.High-b.Low) {
						energy++
						if !math.IsNaN(level) {
							covered++
						}
					}
					if !math.IsNaN(level) {
						stated++
						off := level - 20*math.Log10(0.7) - smoothedTruth(filter, b.Centre, fs)
						if math.Abs(off) <= width {
							inside++
						}
					}
				}
			}
			allInside, all = allInside+inside, all+stated
			t.Logf("%.1f %% of %.0f third octaves held, %.1f %% of %.0f covered", 100*inside/stated, stated, 100*covered/energy, energy)
			slack := 3 * math.Sqrt(0.95*0.05/stated)
			if *filters >= 100 {
				slack = 0
			}
			assert.InDelta(t, 0.95, inside/stated, 0.02+slack)
			assert.Greater(t, covered/energy, 0.8-slack)
		})
	}
	t.Logf("%.1f %% of %.0f third octaves of all pieces", 100*allInside/all, all)
}
