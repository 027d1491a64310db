package rig

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestFaultsInSamples(t *testing.T) {
	x := [][]float64{{0.1, -0.9, 0.6, 0.2}, {0.5, 0.4, -0.3, 0}}
	rows := map[string]struct{ got, want [][]float64 }{
		"clip":        {Clip(x, 20*math.Log10(2)), [][]float64{{0.2, -1, 1, 0.4}, {1, 0.8, -0.6, 0}}},
		"flat top":    {FlatTop(x, -20*math.Log10(2)), [][]float64{{0.1, -0.5, 0.5, 0.2}, {0.5, 0.4, -0.3, 0}}},
		"drop":        {DropBlock(x, 1, 2), [][]float64{{0.1, 0.2}, {0.5, 0}}},
		"drop none":   {DropBlock(x, 4, 0), x},
		"repeat":      {RepeatBlock(x, 1, 2), [][]float64{{0.1, -0.9, 0.6, -0.9, 0.6, 0.2}, {0.5, 0.4, -0.3, 0.4, -0.3, 0}}},
		"dc":          {AddDC(x, 0.25), [][]float64{{0.35, -0.65, 0.85, 0.45}, {0.75, 0.65, -0.05, 0.25}}},
		"swap":        {Swap(x), [][]float64{{0.5, 0.4, -0.3, 0}, {0.1, -0.9, 0.6, 0.2}}},
		"invert":      {Invert(x, Left), [][]float64{{-0.1, 0.9, -0.6, -0.2}, {0.5, 0.4, -0.3, 0}}},
		"cut tail":    {CutTail(x, 3), [][]float64{{0.1}, {0.5}}},
		"quieten":     {Quieten(x, 20), [][]float64{{0.01, -0.09, 0.06, 0.02}, {0.05, 0.04, -0.03, 0}}},
		"no channels": {CutTail(nil, 0), nil},
	}
	for name, row := range rows {
		t.Run(name, func(t *testing.T) {
			assert.Len(t, row.got, len(row.want))
			for c := range row.want {
				assert.InDeltaSlice(t, row.want[c], row.got[c], 1e-12, "rounding")
			}
		})
	}
	assert.Equal(t, [][]float64{{0.1, -0.9, 0.6, 0.2}, {0.5, 0.4, -0.3, 0}}, x, "the input does not change")
	assert.Panics(t, func() { DropBlock(x, 3, 2) })
	assert.Panics(t, func() { RepeatBlock(x, -1, 2) })
	assert.Panics(t, func() { CutTail(x, 5) })
	assert.Panics(t, func() { Swap(x[:1]) })
	assert.Panics(t, func() { Invert(x[:1], Right) })
	assert.Panics(t, func() { CutTreble(x, fs/2, fs) })
}

func TestClicks(t *testing.T) {
	x := [][]float64{make([]float64, 1000), make([]float64, 1000)}
	got := Click(x, 7, -20, 4)
	assert.InDelta(t, 7*0.1, sumOfMagnitudes(got), 1e-12, "seven of a tenth, none on another with this seed")
	assert.True(t, same(got, Click(x, 7, -20, 4)))
	assert.False(t, same(got, Click(x, 7, -20, 5)))
	assert.Empty(t, Click(nil, 7, -20, 4))
}

func sumOfMagnitudes(channels [][]float64) float64 {
	var sum float64
	for _, x := range channels {
		for _, v := range x {
			sum += math.Abs(v)
		}
	}
	return sum
}

func TestHumAsFault(t *testing.T) {
	x := AddHum([][]float64{make([]float64, fs)}, Hum{Frequency: 60, Level: -50}, fs)
	assert.InDelta(t, -50, dB(lastSecond(x[0], fs, 60)), 1e-6, "rounding")
}

func TestCutTreble(t *testing.T) {
	for _, cutoff := range []float64{4000, 16000} {
		kept, lost := 0.95*cutoff, 1.05*cutoff
		x := tones(2*fs, 0.1, 100, kept, cutoff, lost)
		y := CutTreble([][]float64{x}, cutoff, fs)[0]
		assert.Len(t, y, len(x))
		for _, f := range []float64{100, kept} {
			h := lastSecond(y, fs*3/2, f) / 0.1
			assert.InDelta(t, 0, dB(h), 0.001, "%v Hz; ripple of 100 dB", f)
			assert.InDelta(t, 0, real(1i*h)+0, 1e-4, "%v Hz arrives when it did", f)
		}
		assert.InDelta(t, -6.02, dB(lastSecond(y, fs*3/2, cutoff)/0.1), 0.01, "half at the cut-off")
		assert.Less(t, dB(lastSecond(y, fs*3/2, lost)/0.1), -98.0, "ripple of 100 dB and the window's formula")
	}
}
