package smoothing_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/smoothing"
)

func TestZeroHertzIsPassedOver(t *testing.T) {
	with := append([]float64{0}, bins(400, 50)...)
	y, h := make([]float64, 401), make([]complex128, 401)
	for i := range y {
		y[i] = math.Sin(float64(i))
		h[i] = complex(y[i], -y[i])
	}
	y[0], h[0] = 1e9, 1e9
	whole, err := smoothing.NewOctave(with, nil, 3)
	require.NoError(t, err)
	cut, err := smoothing.NewOctave(with[1:], nil, 3)
	require.NoError(t, err)

	got := whole.Mean(nil, y)
	assert.True(t, math.IsNaN(got[0]))
	assert.Equal(t, cut.Mean(nil, y[1:]), got[1:])

	gotH := whole.Complex(nil, h)
	assert.True(t, math.IsNaN(real(gotH[0])))
	assert.Equal(t, cut.Complex(nil, h[1:]), gotH[1:])
}

func TestCentreOutsideGridIsNotKnown(t *testing.T) {
	frequency := []float64{0, 100, 200, 300}
	p := octave(t, frequency, []float64{350, 0, 99.9, 100, 300, 300.1, 250}, 3)
	got := p.Mean(nil, []float64{9, 1, 2, 3})
	for i, known := range []bool{false, false, false, true, true, false, true} {
		assert.Equal(t, known, !math.IsNaN(got[i]), "output %d", i)
	}
	assert.Equal(t, 1.0, got[3], "the first point keeps its own value")
	assert.Equal(t, 3.0, got[4], "the last point keeps its own value")
}

func TestBandShrinksBesideUnknown(t *testing.T) {
	nan := math.NaN()
	frequency := []float64{100, 200, 400, 800, 1600, 3200, 6400}
	centre := append(append([]float64(nil), frequency...), 300, 800*math.Sqrt2)
	p := octave(t, frequency, centre, 0.25) // two octaves to either side
	for _, c := range []struct {
		name     string
		in, want []float64
	}{
		// By hand: trapezoids over octaves, as wide as the nearer gap allows.
		{"all known", []float64{0, 8, 0, 0, 0, 0, 0}, []float64{0, 4, 2, 1, 0, 0, 0, 4 / math.Log2(3), 0.25}},
		{"gap at 800", []float64{0, 8, 0, nan, 4, 0, 0}, []float64{0, 4, 0, nan, 4, 1, 0, 8 * (1 - math.Log2(1.5)), nan}},
		{"infinite", []float64{0, 8, 0, math.Inf(-1), 4, 0, 0}, []float64{0, 4, 0, nan, 4, 1, 0, 8 * (1 - math.Log2(1.5)), nan}},
		{"beyond 1e300", []float64{0, 8, 0, -1.1e300, 4, 0, 0}, []float64{0, 4, 0, nan, 4, 1, 0, 8 * (1 - math.Log2(1.5)), nan}},
		{"alone", []float64{nan, 8, nan, 5, nan, nan, 7}, []float64{nan, 8, nan, 5, nan, nan, 7, nan, nan}},
		{"nothing known", []float64{nan, nan, nan, nan, nan, nan, nan}, []float64{nan, nan, nan, nan, nan, nan, nan, nan, nan}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := p.Mean(nil, c.in)
			for i, f := range centre {
				if math.IsNaN(c.want[i]) {
					assert.True(t, math.IsNaN(got[i]), "%v Hz", f)
				} else {
					assert.InDelta(t, c.want[i], got[i], 1e-14, "%v Hz", f) // rounding
				}
			}
		})
	}
}

func TestUnknownIsNotRememberedByThePlan(t *testing.T) {
	frequency := bins(100, 100)
	p := octave(t, frequency, frequency, 3)
	y := make([]float64, 100)
	for i := range y {
		y[i] = float64(i * i % 17)
	}
	want := p.Mean(nil, y)
	hole := append([]float64(nil), y...)
	hole[50] = math.NaN()
	p.Mean(nil, hole)
	assert.Equal(t, want, p.Mean(nil, y))
}

func TestGridOfOnePoint(t *testing.T) {
	for _, frequency := range [][]float64{{1000}, {0, 1000}} {
		p := octave(t, frequency, []float64{999, 1000, 1001}, 3)
		y := make([]float64, len(frequency))
		y[len(y)-1] = 7
		got := p.Mean(nil, y)
		assert.True(t, math.IsNaN(got[0]) && math.IsNaN(got[2]))
		assert.Equal(t, 7.0, got[1])
	}
}

func TestExtremeGridsAndWidths(t *testing.T) {
	wide := octave(t, []float64{1e-200, 1e200}, []float64{1}, 3).Mean(nil, []float64{0, 1})
	assert.InDelta(t, 0.5, wide[0], 1e-15, "halfway over a ratio no float64 can hold") // rounding
	frequency := []float64{5e-324, 1e-300, 1, math.Nextafter(1, 2), 1e300, math.MaxFloat64}
	y := []float64{1, 2, 3, 4, 5, 6}
	for _, fraction := range []float64{5e-324, 1e-9, 1, 1e18, math.MaxFloat64} {
		for _, got := range octave(t, frequency, frequency, fraction).Mean(nil, y) {
			assert.True(t, got >= 1 && got <= 6, "1/%v octave gives %v", fraction, got)
		}
		for _, got := range erb(t, frequency, frequency, fraction).Mean(nil, y) {
			assert.True(t, got >= 1 && got <= 6, "%v bandwidths give %v", fraction, got)
		}
	}
}

func TestBadGridOrWidthIsRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	good := []float64{100, 200, 300}
	for _, c := range []struct {
		name              string
		frequency, centre []float64
		width             float64
		kind              error
		says              string
	}{
		{"no grid", nil, good, 3, smoothing.ErrGrid, "nothing above 0 Hz"},
		{"only zero", []float64{0}, good, 3, smoothing.ErrGrid, "nothing above 0 Hz"},
		{"not sorted", []float64{100, 300, 200}, good, 3, smoothing.ErrGrid, "frequency[2]"},
		{"repeated", []float64{100, 100, 200}, good, 3, smoothing.ErrGrid, "frequency[1]"},
		{"zero twice", []float64{0, 0, 200}, good, 3, smoothing.ErrGrid, "frequency[1]"},
		{"negative", []float64{-1, 100, 200}, good, 3, smoothing.ErrGrid, "frequency[0]"},
		{"NaN", []float64{100, nan, 200}, good, 3, smoothing.ErrGrid, "frequency[1]"},
		{"infinite", []float64{100, 200, inf}, good, 3, smoothing.ErrGrid, "frequency[2]"},
		{"no centres", good, []float64{}, 3, smoothing.ErrGrid, "centre"},
		{"negative centre", good, []float64{100, -5}, 3, smoothing.ErrGrid, "centre[1]"},
		{"NaN centre", good, []float64{nan}, 3, smoothing.ErrGrid, "centre[0]"},
		{"infinite centre", good, []float64{inf}, 3, smoothing.ErrGrid, "centre[0]"},
		{"zero width", good, good, 0, smoothing.ErrWidth, "above 0"},
		{"negative width", good, good, -3, smoothing.ErrWidth, "-3"},
		{"NaN width", good, good, nan, smoothing.ErrWidth, "NaN"},
		{"infinite width", good, good, inf, smoothing.ErrWidth, "Inf"},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, plan := range []func(f, c []float64, w float64) (*smoothing.Plan, error){smoothing.NewOctave, smoothing.NewERB} {
				p, err := plan(c.frequency, c.centre, c.width)
				require.ErrorIs(t, err, c.kind)
				assert.ErrorContains(t, err, c.says)
				assert.ErrorContains(t, err, "smoothing: ")
				assert.Nil(t, p)
			}
		})
	}
}

func TestWrongLengthPanics(t *testing.T) {
	p := octave(t, []float64{0, 100, 200}, []float64{100, 150}, 3)
	in := make([]float64, 3)
	assert.Panics(t, func() { p.Mean(nil, in[:2]) }, "too few values")
	assert.Panics(t, func() { p.Mean(nil, nil) }, "no values")
	assert.Panics(t, func() { p.Mean(in, in) }, "dst as long as the grid, not the centres")
	assert.Panics(t, func() { p.Mean(in[:0], in) }, "empty dst is not nil")
	assert.Panics(t, func() { p.Complex(nil, make([]complex128, 4)) }, "too many values")
	assert.Panics(t, func() { p.Complex(make([]complex128, 1), make([]complex128, 3)) }, "short dst")
}

func TestGridIsCopied(t *testing.T) {
	frequency := bins(50, 100)
	p := octave(t, frequency, frequency, 3)
	y := make([]float64, 50)
	y[20], y[30] = 5, math.NaN()
	want := p.Mean(nil, y)
	for i := range frequency {
		frequency[i] = -1
	}
	got := p.Mean(y, y) // in place
	for i := range want {
		if !math.IsNaN(want[i]) {
			assert.Equal(t, want[i], got[i])
		}
	}
}
