package search

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A long channel, which is matched in blocks, gives the same matches as one Matcher.
func TestMatchInBlocks(t *testing.T) {
	const step = 2
	random := rand.New(rand.NewPCG(1, 2))
	sound := make([]float64, 6000)
	for i := range sound { // an exponential sweep over a decade and a half
		at := float64(i) / float64(len(sound))
		sound[i] = math.Sin(400 * (math.Exp(3.4*at) - 1))
	}
	x := make([]float64, step*(longChannel+longChannel/3)+1)
	for i := range x {
		x[i] = 0.01 * random.NormFloat64()
	}
	for _, at := range []int{100, longChannel - 3*len(sound) - 20, longChannel - 100, longChannel + 20000} { // across the seams as well
		for i, v := range sound {
			x[step*(at+i)] += v
		}
	}
	got := NewSounds(sound, nil).Match(x, step)
	assert.Nil(t, got[1])
	want := NewMatcher(nil, Thin(x, step), sound).Deconvolve(sound)
	require.Len(t, got[0], len(want))
	worst := 0.0
	for i, v := range want {
		worst = max(worst, math.Abs(v-got[0][i]))
	}
	assert.Less(t, worst, 2e-3*Self(sound), "54 dB below a match, where 26 dB tell a sweep: a sound without fades rings for longer than its own length")
}

// A constant offset in a channel does not change the match. 30 % of full scale beside a sound of 3
// % is an offset ten times as high.
func TestAnOffsetDoesNotMatch(t *testing.T) {
	const step = 2
	r := rand.New(rand.NewPCG(7, 7))
	sound, x := make([]float64, 500), make([]float64, 6000)
	for i := range sound {
		sound[i] = 0.03 * r.NormFloat64()
	}
	copy(x[2*step*500:], repeated(sound, step))
	want := NewSounds(sound).Match(x, step)[0]
	for i := range x {
		x[i] += 0.3
	}
	got := NewSounds(sound).Match(x, step)[0]
	assert.Equal(t, Strongest(want, 0, len(want)), Strongest(got, 0, len(got)))
	assert.InDeltaSlice(t, want, got, 1e-9*Magnitude(want, Strongest(want, 0, len(want))), "rounding")
}

// repeated returns each sample n times.
func repeated(x []float64, n int) (out []float64) {
	for _, v := range x {
		for range n {
			out = append(out, v)
		}
	}
	return out
}
