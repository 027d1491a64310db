package programme_test

import (
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme"
)

// The second recording is a copy of noise that begins later and ends earlier, half as loud and
// inverted: every expected value is known by construction.
func TestACopyIsAlignedAndCompared(t *testing.T) {
	const fs, count, lost, late = 16000, 6 * 16000, 4000, 2400
	random := rand.New(rand.NewPCG(1, 2))
	x := make([]float64, count)
	for i := range x {
		x[i] = 0.1 * random.NormFloat64()
	}
	y := make([]float64, late+count-lost)
	for i := range count - lost {
		y[late+i] = -0.5 * x[i]
	}
	direct, err := programme.ChannelOf(&capture.Recording{Name: "direct.wav", SampleRate: fs, Channels: [][]float64{y, x}}, 2)
	require.NoError(t, err)
	through := programme.Channel{Name: "through.wav", Samples: y, SampleRate: fs}

	a, err := programme.Align(direct, through)
	require.NoError(t, err)
	assert.True(t, a.Inverted)
	assert.InDelta(t, late, a.Delay*fs, 0.02, "samples; the required accuracy")
	for _, at := range []float64{0, 2, 5} {
		assert.InDelta(t, late, (a.Delay+1e-6*a.Clock.Drift*at)*fs, 0.02, "samples at %v s: the clocks agree", at)
	}
	assert.InDelta(t, float64(count-lost)/fs, a.To-a.From, 0.1, "blocks of a tenth of a second")

	c, err := programme.Compare(direct, through, programme.Config{Band: response.Band{Low: 100, High: 7000}})
	require.NoError(t, err)
	curve := c.Response()
	require.Len(t, curve.Frequency, len(response.LogGrid(100, 7000, 48)))
	for i, f := range response.LogGrid(100, 7000, 48) {
		p := c.At(f)
		assert.InEpsilon(t, f, curve.Frequency[i], 1e-12, "48 to the octave, anchored at 1 kHz")
		assert.InDelta(t, 0.5, cmplx.Abs(p.H1), 0.005, "%v Hz; the ends of segments", p.Frequency)
		assert.InDelta(t, 1, p.Coherence, 0.001, "%v Hz; nothing else was added", p.Frequency)
	}
	assert.InDelta(t, -6.0206, curve.At(1000), 0.05, "20 log10 0.5")
}

// The same copy is found by its stretch alone, and another piece is not.
func TestFindSaysWhereAStretchIs(t *testing.T) {
	const fs, late = 16000, 2400
	random := rand.New(rand.NewPCG(3, 4))
	x, other := make([]float64, 6*fs), make([]float64, 6*fs)
	for i := range x {
		x[i], other[i] = 0.1*random.NormFloat64(), 0.1*random.NormFloat64()
	}
	y := append(make([]float64, late), x...)
	delay, found := programme.Find(programme.Channel{Samples: x, SampleRate: fs}, programme.Channel{Samples: y, SampleRate: fs})
	assert.True(t, found)
	assert.InDelta(t, float64(late)/fs, delay, 0.001, "the step of the search")
	_, found = programme.Find(programme.Channel{Samples: other, SampleRate: fs}, programme.Channel{Samples: y, SampleRate: fs})
	assert.False(t, found, "another piece")
	_, found = programme.Find(programme.Channel{Samples: make([]float64, fs), SampleRate: fs}, programme.Channel{Samples: y, SampleRate: fs})
	assert.False(t, found, "silence")
}
