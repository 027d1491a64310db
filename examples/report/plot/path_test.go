package plot

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDecimationKeepsExtremes(t *testing.T) {
	rng := rand.New(rand.NewSource(1))
	run := make([]point, 100000)
	for i := range run {
		run[i] = point{float64(i) * 600 / float64(len(run)), rng.NormFloat64()}
	}
	run[12345].y, run[54321].y = 40, -40 // a spike one sample wide, each way

	kept := decimate(run)
	assert.LessOrEqual(t, len(kept), 4*600)
	assert.Equal(t, run[0], kept[0])
	assert.Equal(t, run[len(run)-1], kept[len(kept)-1])

	reach := func(points []point) (low, high [600]float64) {
		for c := range low {
			low[c], high[c] = math.Inf(1), math.Inf(-1)
		}
		for _, p := range points {
			c := int(p.x)
			low[c], high[c] = min(low[c], p.y), max(high[c], p.y)
		}
		return low, high
	}
	wantLow, wantHigh := reach(run)
	low, high := reach(kept)
	assert.Equal(t, wantLow, low)
	assert.Equal(t, wantHigh, high)
	for i := 1; i < len(kept); i++ {
		require.GreaterOrEqual(t, kept[i].x, kept[i-1].x, "order is kept")
	}
}

func TestShortRunsAreLeftAlone(t *testing.T) {
	run := []point{{1, 1}, {1.2, 5}, {1.4, 2}, {1.6, 3}, {9, 4}}
	assert.Equal(t, run, decimate(run))
	assert.Empty(t, decimate(nil))
}

// The path is read back and compared with the points: relative steps must not
// drift.
func TestPathDoesNotDrift(t *testing.T) {
	var d pathData
	var points []point
	for i := range 5000 {
		points = append(points, point{float64(i) * 0.1234, 100 + 50*math.Sin(float64(i)/7)})
	}
	d.polyline(points)
	last := points[len(points)-1]
	assert.Equal(t, []int{tenths(last.x), tenths(last.y)}, []int{d.x, d.y})
}

func TestVisibleKeepsOneNeighbour(t *testing.T) {
	a := Axis{Min: 10, Max: 20}
	for _, c := range []struct {
		name     string
		x        []float64
		from, to int
	}{
		{"all", []float64{10, 15, 20}, 0, 3},
		{"one beyond each end", []float64{1, 2, 9, 11, 19, 21, 22, 23}, 2, 6},
		{"line across the frame", []float64{1, 30}, 0, 2},
		{"beside", []float64{1, 2, 3}, 2, 3},
		{"none", nil, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			from, to := visible(a, c.x)
			assert.Equal(t, []int{c.from, c.to}, []int{from, to})
		})
	}
}

func BenchmarkFigure(b *testing.B) {
	p := simple()
	n := 1 << 15
	x, y := make([]float64, n), make([]float64, n)
	for i := range x {
		x[i], y[i] = float64(i+1)*24000/float64(n), 5*math.Sin(float64(i))
	}
	p.Series = []Series{{Name: "Left", X: x, Y: y}, {Name: "Right", X: x, Y: y, Style: Vermilion}}
	b.ReportAllocs()
	size := 0
	for b.Loop() {
		fig, err := Figure(p)
		if err != nil {
			b.Fatal(err)
		}
		size = len(fig)
	}
	b.ReportMetric(float64(size), "characters")
}
