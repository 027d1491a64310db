package response

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const decayRate = 48000

// dying returns a response from time zero on, 0.25 s into a second of samples, in noise.
func dying(noise float64, random *rand.Rand, at func(t float64) float64) *Impulse {
	h := &Impulse{Samples: make([]float64, decayRate), SampleRate: decayRate, Zero: decayRate / 4, Valid: Band{20, 20000}}
	for i := range h.Samples {
		if t := h.Time(i); t >= 0 {
			h.Samples[i] = at(t)
		}
		if noise > 0 {
			h.Samples[i] += noise * random.NormFloat64()
		}
	}
	return h
}

func decayAt(t testing.TB, h *Impulse, nominal float64) *Decay {
	t.Helper()
	narrow := *h // no further than the band, for speed
	narrow.Valid.High = nominal * 1.25
	decays, err := narrow.Decays(DecayConfig{})
	require.NoError(t, err)
	for i := range decays {
		if decays[i].Band.Nominal == nominal {
			return &decays[i]
		}
	}
	require.Fail(t, "no such band")
	return nil
}

// e^(−t/τ) loses 60 dB in τ ln 1000 and 20 dB in τ ln 10, whatever its frequency.
func TestDecayOfADecayingSine(t *testing.T) {
	for _, c := range []struct {
		name         string
		nominal, tau float64
		toDelta      float64
	}{
		{"100 Hz, 30 ms", 100, 0.030, 0.10}, // three periods
		{"1 kHz, 3 ms", 1000, 0.003, 0.10},  // three periods
		{"1 kHz, 10 ms", 1000, 0.010, 0.03}, // the Gaussian delays the onset by 0.5 ms
		{"1 kHz, 50 ms", 1000, 0.050, 0.01}, // the last quarter of 0.5 s still decays, at −66 dB, and is taken for noise
		{"8 kHz, 2 ms", 8000, 0.002, 0.02},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := dying(0, nil, func(s float64) float64 { return math.Exp(-s/c.tau) * math.Sin(2*math.Pi*c.nominal*s) })
			d := decayAt(t, h, c.nominal)
			for _, level := range []float64{-20, -30, -40} {
				got, reason := d.To(level)
				require.Empty(t, reason)
				want := c.tau * math.Log(10) * -level / 20
				assert.InEpsilon(t, want, got.Value, c.toDelta)
				assert.InDelta(t, want, got.Value, 2*got.Uncertainty)
			}
		})
	}
}

// Two rates: the fast decay shows first, the slow one once the fast one is over.
func TestDecayOfTwoRates(t *testing.T) {
	h := dying(0, nil, func(s float64) float64 {
		return (math.Exp(-s/0.005) + 0.02*math.Exp(-s/0.05)) * math.Sin(2*math.Pi*2000*s)
	})
	d := decayAt(t, h, 2000)
	// E(t) = ∫ of the square, sin² taken as ½, in closed form.
	energy := func(s float64) float64 {
		mixed := 1/0.005 + 1/0.05
		return 0.0025*math.Exp(-2*s/0.005) + 2*0.02/mixed*math.Exp(-mixed*s) + 0.0004*0.025*math.Exp(-2*s/0.05)
	}
	for _, s := range []float64{0.005, 0.01, 0.02, 0.05, 0.1} {
		i := int(math.Round((s - d.Start) / d.Step))
		at := d.Start + float64(i)*d.Step
		assert.InDelta(t, 10*math.Log10(energy(at)/energy(0)), d.Level[i], 0.6, "at %v s", s) // the band keeps nine tenths of the early part, whose resonance is wider
	}
}

// A bare impulse shows the filter alone: ½ erfc of all energy is left, and no
// time is known.
func TestDecayOfAnImpulseIsThatOfTheFilter(t *testing.T) {
	h := dying(0, nil, func(s float64) float64 { return 0 })
	h.Samples[h.Zero] = 1
	d := decayAt(t, h, 1000)
	for _, level := range []float64{-3.0103, -20, -40} {
		i, reason := d.crossing(level)
		require.Empty(t, reason)
		assert.InDelta(t, d.filterTime(level), d.timeAt(i, level), 3e-5, "%v dB", level) // s; straight lines between points
		time, reason := d.To(level - 1)
		assert.Equal(t, reasonFilter, reason)
		assert.False(t, time.Known())
	}
	assert.InDelta(t, 2.9e-3, d.filterTime(-40), 0.15e-3, "in periods, as the documentation says")
	assert.InDelta(t, 2*math.Pi*(1122.018-891.251)/(2*math.Sqrt(math.Ln2)), d.rate, 0.01) // edges 1000 · 10^(±1/20)
}

// The range over which a decay is known follows from the noise: white noise of variance n² has n²
// B/(fs/2) in a band, so the known part ends where the sine's own power is ten times that.
func TestDecayIsKnownDownToTheNoise(t *testing.T) {
	const tau, n = 0.03, 1e-3
	h := dying(n, rand.New(rand.NewPCG(7, 1)), func(s float64) float64 { return math.Exp(-s/tau) * math.Sin(2*math.Pi*1000*s) })
	d := decayAt(t, h, 1000)
	band := n * n * d.bandwidth() / (decayRate / 2)
	assert.InDelta(t, 10*math.Log10(band/0.5), d.Noise, 1.5) // noise of 30 independent values, 0.8 dB; the onset is blurred
	last := 0
	for i, v := range d.Level {
		if !math.IsNaN(v) {
			last = i
		}
	}
	ends := d.Start + float64(last)*d.Step
	assert.InDelta(t, tau/2*math.Log(0.5/(10*band)), ends, 0.25*tau) // 2 dB, of 8.7 dB a time constant
	assert.Equal(t, reasonNoise, why(d.To(-80)))
	to, _ := d.To(-40)
	assert.InDelta(t, tau*math.Log(100), to.Value, 2*to.Uncertainty)

	loud := decayAt(t, dying(0.03, rand.New(rand.NewPCG(7, 2)), func(s float64) float64 {
		return math.Exp(-s/0.001) * (math.Sin(2*math.Pi*8000*s) + math.Sin(2*math.Pi*5000*s))
	}), 100)
	time, reason := loud.To(-20)
	assert.False(t, time.Known())
	assert.Equal(t, "noise drowns the band", reason)
}

func TestDecayIsNotKnownWhereNothingWasPlayed(t *testing.T) {
	h := dying(0, nil, func(s float64) float64 { return math.Exp(-s/0.01) * math.Sin(2*math.Pi*1000*s) })
	h.Valid = Band{100, 10000}
	decays, err := h.Decays(DecayConfig{})
	require.NoError(t, err)
	assert.Equal(t, 100.0, decays[0].Band.Nominal)
	assert.Contains(t, why(decays[0].To(-20)), "beyond what the sweep excited, 100 Hz–10 kHz")
	assert.Empty(t, why(decays[10].To(-20)), "1 kHz")

	h.Valid = Band{1, 20000}
	decays, err = h.Decays(DecayConfig{})
	require.NoError(t, err)
	assert.Equal(t, reasonFilter, why(decays[1].To(-20)), "1.25 Hz rings for seconds")
	assert.Equal(t, reasonFilter, why(decays[10].To(-20)), "10 Hz rings for 0.29 s, and half of 0.35 s is free for it")
	assert.NotEmpty(t, decays[13].Level, "20 Hz rings for 0.15 s")
}

func TestDecaysRefuse(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	_, err := dying(1, random, func(float64) float64 { return 0 }).Decays(DecayConfig{})
	require.ErrorIs(t, err, ErrNoPeak)
	h := dying(0, nil, func(s float64) float64 { return math.Exp(-s / 0.01) })
	_, err = h.Decays(DecayConfig{After: time.Microsecond})
	assert.ErrorContains(t, err, "at least a millisecond")
	_, err = h.Decays(DecayConfig{Fraction: -1})
	assert.ErrorContains(t, err, "fraction")
	d := decayAt(t, h, 1000)
	assert.Panics(t, func() { d.To(0) })
}

func BenchmarkDecays(b *testing.B) {
	random := rand.New(rand.NewPCG(3, 5))
	h := dying(1e-4, random, func(s float64) float64 { return math.Exp(-s/0.01) * random.NormFloat64() })
	b.ReportAllocs()
	for b.Loop() {
		if _, err := h.Decays(DecayConfig{}); err != nil {
			b.Fatal(err)
		}
	}
}

// why returns the reason why a time is not known.
func why(_ Figure, reason string) string { return reason }
