package response_test

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// ownSignal is a signal of the user's own: these few lines are all that it takes.
type ownSignal struct {
	samples     []float64
	start, stop float64
	law         *sweep.Sweep
}

func (p ownSignal) Samples() []float64 { return p.samples }
func (p ownSignal) SampleRate() int    { return 48000 }
func (p ownSignal) Start() float64     { return p.start }
func (p ownSignal) Stop() float64      { return p.stop }
func (p ownSignal) Law() *sweep.Sweep  { return p.law }

// maximumLength returns the sequence of x^16 + x^15 + x^13 + x^4 + 1.
func maximumLength(amplitude float64) []float64 {
	x, state := make([]float64, 65535), 1
	for i := range x {
		x[i] = amplitude * float64(1-2*(state&1))
		state = state>>1 | (state^state>>4^state>>13^state>>15)&1<<15
	}
	return x
}

func whiteNoise(n int, level float64, seed uint64) []float64 {
	draw, x := rand.New(rand.NewPCG(seed, 7)), make([]float64, n)
	for i := range x {
		x[i] = level * draw.NormFloat64()
	}
	return x
}

func linearSweep(seconds float64) []float64 {
	x := make([]float64, int(seconds*48000))
	for i := range x {
		t := float64(i) / 48000
		x[i] = 0.5 * math.Sin(2*math.Pi*(10*t+(22000-10)/2/seconds*t*t))
	}
	return x
}

// ratio returns the response through a device divided by that without it, as a rig measures it.
func ratio(t *testing.T, signal sweep.Signal, device func([]float64) []float64) *response.Transfer {
	t.Helper()
	d, err := response.NewDeconvolver(signal, response.DeconvolverConfig{})
	require.NoError(t, err)
	transfer := func(pass func([]float64) []float64) *response.Transfer {
		x := append(make([]float64, 2400), signal.Samples()...)
		h, err := d.Impulse(pass(append(x, make([]float64, 48000)...)))
		require.NoError(t, err)
		cut, err := h.Window(0, 0)
		require.NoError(t, err)
		return cut.Transfer()
	}
	h, err := transfer(device).Divide(transfer(func(x []float64) []float64 { return x }))
	require.NoError(t, err)
	return h
}

// Two cookbook filters, whose response is known in closed form, measured with signals of every
// kind.
func TestResponseByAnySignal(t *testing.T) {
	race.Skip(t)
	filters := biquad.Chain{biquad.New(biquad.Peaking, 3000, 3, 6, 48000), biquad.New(biquad.Peaking, 90, 0.7, -4, 48000)}
	for name, c := range map[string]struct {
		samples []float64
		within  float64 // dB
	}{
		"white noise, 5 s":          {whiteNoise(5*48000, 0.1, 1), 0.02},
		"linear sweep, 4 s":         {linearSweep(4), 0.02},
		"maximum-length sequence":   {maximumLength(0.25), 0.02},
		"the same, four times over": {append(append(append(maximumLength(0.25), maximumLength(0.25)...), maximumLength(0.25)...), maximumLength(0.25)...), 0.02},
	} {
		h := ratio(t, ownSignal{c.samples, 15, 22000, nil}, func(x []float64) []float64 { filters.Apply(x); return x })
		worst := 0.0
		for _, f := range response.LogGrid(25, 18000, 48) {
			want := filters.Response(f, 48000)
			worst = max(worst, math.Abs(20*math.Log10(cmplx.Abs(h.At(f)/want))))
		}
		assert.Less(t, worst, c.within, name)
	}
}
