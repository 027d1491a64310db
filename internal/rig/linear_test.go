//go:build !race

package rig

import (
	"math"
	"math/cmplx"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/internal/biquad"
)

// probes are frequencies inside the band and at its ends.
var probes = []float64{20, 31, 50, 80, 125, 200, 315, 500, 800, 1000, 2000, 3150, 5000, 8000, 10000, 12500, 16000, 18000, 20000, 21500}

// prototype returns the response of the analogue prototypes of the Audio EQ Cookbook (W3C Group
// Note, 8 June 2021), s being the frequency over the filter's, warped as by its bilinear transform.
func prototype(f float64, c Filter) complex128 {
	if c == (Filter{}) {
		return 1
	}
	s := complex(0, math.Tan(math.Pi*f/fs)/math.Tan(math.Pi*c.frequency/fs))
	q := complex(c.q, 0)
	a := complex(math.Pow(10, c.gain/40), 0)
	root := cmplx.Sqrt(a)
	switch c.shape {
	case biquad.Peaking:
		return (s*s + s*a/q + 1) / (s*s + s/(a*q) + 1)
	case biquad.LowShelf:
		return a * (s*s + root/q*s + a) / (a*s*s + root/q*s + 1)
	case biquad.HighShelf:
		return a * (a*s*s + root/q*s + 1) / (s*s + root/q*s + a)
	case biquad.LowPass:
		return 1 / (s*s + s/q + 1)
	case biquad.HighPass:
		return s * s / (s*s + s/q + 1)
	case biquad.AllPass:
		return (s*s - s/q + 1) / (s*s + s/q + 1)
	}
	panic("no such shape")
}

func TestLinearPathIsTheCookbooksFilters(t *testing.T) {
	rows := map[string][]Filter{
		"peak":       {Peak(3400, 2.2, -4)},
		"low shelf":  {LowShelf(120, 0.7, 3)},
		"high shelf": {HighShelf(13000, 0.7, -3)},
		"low pass":   {LowPass(9000, 0.8)},
		"high pass":  {HighPass(40, 0.71)},
		"all pass":   {AllPass(1800, 0.7)},
		"nothing":    {{}},
		"chain":      {Peak(420, 0.9, -1), LowShelf(120, 0.7, 3), HighShelf(6000, 0.7, -4), Peak(8500, 4, 5)},
	}
	x := tones(2*fs, 0.01, probes...)
	for name, filters := range rows {
		t.Run(name, func(t *testing.T) {
			h := Headphones{Left: Driver{Filters: filters}}
			got := Rig{SampleRate: fs}.Through(h, 0, stereo(x, Left))[Left]
			for _, f := range probes {
				want := complex(1, 0)
				for _, c := range filters {
					want *= prototype(f, c)
				}
				measured := lastSecond(got, len(got), f) / 0.01
				assert.InDelta(t, 0, dB(measured/want), 0.01, "%v Hz; the promise of the package", f)
				assert.InDelta(t, 0, cmplx.Phase(measured/want), 1e-3, "%v Hz; the same error as a phase", f)
				assert.InDelta(t, 0, cmplx.Abs(h.Response(Left, f, fs)/want-1), 1e-9, "%v Hz; the same formula twice", f)
			}
		})
	}
}

func TestShelvesOfOppositeGainCancel(t *testing.T) {
	for _, f := range probes {
		assert.InDelta(t, 0, cmplx.Abs(heavyBass.Response(f, fs)*heavyBassBack.Response(f, fs)-1), 1e-9, "rounding")
	}
}

func TestReflectionMakesAComb(t *testing.T) {
	// y(t) = x(t) + g x(t − T): |H|² = 1 + g² + 2 g cos 2πfT.
	h := Headphones{Right: Driver{
		Delay:       40 * time.Microsecond, // 1.92 samples
		Reflections: []Reflection{{Delay: 330 * time.Microsecond, Level: -10}},
	}}
	x := tones(2*fs, 0.01, probes...)
	got := Rig{SampleRate: fs}.Through(h, 0, stereo(x, Right))[Right]
	g := math.Pow(10, -0.5)
	for _, f := range probes {
		want := math.Sqrt(1 + g*g + 2*g*math.Cos(2*math.Pi*f*330e-6))
		measured := lastSecond(got, len(got), f) / 0.01
		assert.InDelta(t, 20*math.Log10(want), dB(measured), 0.002, "%v Hz; the windowed sinc", f)
		assert.InDelta(t, 0, cmplx.Phase(measured/h.Response(Right, f, fs)), 2e-4, "%v Hz", f)
	}
}

// The whole linear chain at once: the recording has the response that the rig states.
func TestWholeChainIsTheStatedResponse(t *testing.T) {
	h, _, r := Demonstration()
	h.Left.Distortion, h.Right.Distortion, r.Interface.Distortion = Polynomial{}, Polynomial{}, Polynomial{}
	r.Noise, r.Room, r.Hum, r.DC, r.Spill = Noise{}, Noise{}, Hum{}, 0, Spill{}
	r.DirectGain = 2
	x := tones(3*fs, 0.01, probes...)
	both := [][]float64{x, x}
	direct, through := r.Direct(both), r.Through(h, 3, both)
	end := len(x)
	for _, side := range []Side{Left, Right} {
		single := r.Single(h, side, 3, both)
		assert.Len(t, single, 1)
		for _, f := range probes {
			d := lastSecond(direct[side], end, f) / 0.01
			y := lastSecond(through[side], end, f) / 0.01
			assert.InDelta(t, 0, dB(d/r.DirectResponse(f)), 0.002, "direct %v, %v Hz; the windowed sinc", side, f)
			assert.InDelta(t, 0, dB(y/r.Response(h, side, 3, f)), 0.005, "through %v, %v Hz; the high-pass settles in 3 s", side, f)
			assert.InDelta(t, 0, cmplx.Phase(y/r.Response(h, side, 3, f)), 1e-3, "through %v, %v Hz", side, f)
			assert.InDelta(t, 0, dB(y/d/r.Truth(h, side, 3, f)), 0.005, "ratio %v, %v Hz", side, f)
			assert.InDelta(t, 0, dB(lastSecond(single[0], end, f)/0.01/y), 1e-9, "one microphone hears the same")
		}
	}
}

func TestSpillIsTheOtherSideAtItsLevel(t *testing.T) {
	r := Rig{SampleRate: fs, Spill: Spill{Level: -50, Filters: []Filter{LowPass(1500, 0.7)}}}
	x := tones(2*fs, 0.5, 300, 5000)
	got := r.Through(Headphones{}, 0, stereo(x, Left))
	for _, f := range []float64{300, 5000} {
		assert.InDelta(t, 0, dB(lastSecond(got[Left], len(x), f)/0.5), 1e-6, "its own side is untouched")
		want := -50 + dB(prototype(f, LowPass(1500, 0.7)))
		assert.InDelta(t, want, dB(lastSecond(got[Right], len(x), f)/0.5), 0.001, "the prototype")
	}
}

func TestSeatings(t *testing.T) {
	h, rivals, r := Demonstration()
	var leaks, ripples []float64
	for seating := range 200 {
		// Relative to the middle, which neither affects.
		middle := dB(r.Truth(h, Left, seating, 1000))
		plain := r
		plain.Seating = Seating{}
		want := dB(plain.Truth(h, Left, seating, 1000))
		leaks = append(leaks, dB(r.Truth(h, Left, seating, 20))-middle-dB(plain.Truth(h, Left, seating, 20))+want)
		ripples = append(ripples, dB(r.Truth(h, Left, seating, 8000))-middle-dB(plain.Truth(h, Left, seating, 8000))+want)
		assert.InDelta(t, want, middle, 0.1, "the skirts at 1 kHz")
		assert.Less(t, leaks[seating], 0.1, "a gap loses bass; the skirts of the ripple")
	}
	// The leak is −|N(0, 0.8)|, mean −0.8 sqrt(2/π) = −0.64, and its shelf is
	// down to within a few per cent at 20 Hz.
	assert.InDelta(t, -0.64, mean(leaks), 0.15, "200 seatings: 3 standard deviations of the mean, and the rest of the shelf's rise")
	assert.InDelta(t, 0, mean(ripples), 0.15, "200 seatings: 3 standard deviations of the mean")
	assert.Greater(t, rms(ripples), 0.2, "the place of the cup is heard")
	assert.Equal(t, r.Truth(h, Left, 7, 8000), r.Truth(h, Left, 7, 8000))
	assert.NotEqual(t, r.seat(h, Left, 7), r.seat(h, Right, 7), "each cup has its own seating")
	assert.NotEqual(t, r.seat(h, Left, 7), r.seat(rivals[0], Left, 7), "and each pair")
	assert.Nil(t, Rig{SampleRate: fs}.seat(h, Left, 7))
}

func mean(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}
