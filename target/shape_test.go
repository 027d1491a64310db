package target_test

import (
	"math"
	"strings"
	"testing"

	"example.com/earnest/internal/testing/known"
	"example.com/earnest/response"
	"example.com/earnest/target"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The analogue prototypes against SciPy's digital filters of the same cookbook,
// which equal them far below half the sample rate.
func TestShapesEqualSciPyFarBelowHalfTheRate(t *testing.T) {
	var cases []struct {
		Shape                  string
		F, Q, Gain, SampleRate float64
		Frequency, Real, Imag  []float64
	}
	known.Values(t, "biquad.json", &cases)
	checked := 0
	for _, c := range cases {
		var s target.Shape
		switch c.Shape {
		case "peaking":
			s = target.Peak{Frequency: c.F, Gain: c.Gain, Q: c.Q}
		case "low shelf":
			s = target.LowShelf{Frequency: c.F, Gain: c.Gain, Q: c.Q}
		case "high shelf":
			s = target.HighShelf{Frequency: c.F, Gain: c.Gain, Q: c.Q}
		default:
			continue
		}
		// The bilinear transform maps analogue frequencies tan(πf/fs)·fs/π, matched at F.
		warp := func(f float64) float64 { return math.Tan(math.Pi * f / c.SampleRate) }
		for i, f := range c.Frequency {
			if f <= 0 || f >= 0.49*c.SampleRate {
				continue
			}
			checked++
			want := 20 * math.Log10(math.Hypot(c.Real[i], c.Imag[i]))
			assert.InDelta(t, want, s.Level(c.F*warp(f)/warp(c.F)), 1e-4, "%s at %g Hz; low frequencies magnify the rounding of coefficients", c.Shape, f)
		}
	}
	assert.Greater(t, checked, 20)
}

func TestShapesHaveTheirClosedForms(t *testing.T) {
	assert.InDelta(t, -2, target.Tilt{PerOctave: -1}.Level(4000), 1e-12)
	assert.InDelta(t, 0, target.Tilt{PerOctave: -1, Pivot: 500}.Level(500), 1e-12)
	shelf := target.LowShelf{Frequency: 100, Gain: 6}
	assert.InDelta(t, 3, shelf.Level(100), 1e-9, "half-way at its frequency")
	assert.InDelta(t, 6, shelf.Level(0.1), 1e-4)
	assert.InDelta(t, 0, shelf.Level(1e5), 1e-4)
	assert.InDelta(t, 6, target.HighShelf{Frequency: 100, Gain: 6}.Level(1e5), 1e-4)
	assert.InDelta(t, -4, target.Peak{Frequency: 3000, Gain: -4, Q: 2}.Level(3000), 1e-9)
	for f := 1.0; f < 1e4; f *= 1.1 {
		assert.LessOrEqual(t, shelf.Level(f), 6+1e-9, "the usual shelf has no bump")
		assert.GreaterOrEqual(t, shelf.Level(f), -1e-9)
	}
}

func TestParametricTargetOnAnyBase(t *testing.T) {
	house, err := target.Flat().With("house", target.Tilt{PerOctave: -0.5}, target.LowShelf{Frequency: 100, Gain: 4})
	require.NoError(t, err)
	assert.Equal(t, "house", house.Name)
	assert.False(t, house.AnyRig, "a choice belongs to a rig")
	assert.Equal(t, []float64{0, 0}, target.Flat().Curve.Level, "the base is left alone")
	for _, f := range []float64{25, 100, 777, 12345} {
		want := -0.5*math.Log2(f/1000) + target.LowShelf{Frequency: 100, Gain: 4}.Level(f)
		assert.InDelta(t, want, house.Curve.At(f), 5e-4, "straight lines between 48 points to the octave")
		assert.Zero(t, house.Curve.UncertaintyAt(f))
	}
	line, err := target.Flat().With("tilted", target.Tilt{PerOctave: 2})
	require.NoError(t, err)
	d := compare(t, curveOn(t, []float64{20, 20000}, tiltOf(2)), line, target.Config{})
	assert.InDelta(t, 0, d.RMS.Value, 1e-9)

	read, err := target.Read(strings.NewReader("# rig: flat plate\n20 1\n20000 1\n"), "file")
	require.NoError(t, err)
	on, err := read.With("more bass", target.Peak{Frequency: 60, Gain: 3})
	require.NoError(t, err)
	assert.InDelta(t, 4, on.Curve.At(60), 1e-3)
	assert.Equal(t, "flat plate", on.Curve.Rig)
}

func TestShapesThatCannotBe(t *testing.T) {
	for want, s := range map[string]target.Shape{
		`shape 1, target.Peak: its frequency is 0 Hz`: target.Peak{Gain: 3},
		"its gain is 300 dB; give at most ±120":       target.LowShelf{Frequency: 100, Gain: 300},
		"its gain is NaN dB":                          target.HighShelf{Frequency: 100, Gain: math.NaN()},
		"its Q is -1; give a number above zero, or 0": target.Peak{Frequency: 100, Q: -1},
		"its frequency is -5 Hz":                      target.Tilt{Pivot: -5},
	} {
		_, err := target.Flat().With("x", s)
		assert.ErrorContains(t, err, want)
	}
	_, err := target.Flat().With("")
	assert.ErrorContains(t, err, "needs a name of its own")
	_, err = target.Target{}.With("x")
	assert.ErrorContains(t, err, "at least two points")
}

// Three pairs at −1, 0 and +1 dB in the treble, and at levels of their own: the
// spread there is 1 dB less what aligning takes, that of the mean 1/√3 of it.
func TestMeanOfSeveralPairs(t *testing.T) {
	grid := response.LogGrid(20, 20000, 24)
	var pairs []response.Curve
	for i, treble := range []float64{-1, 0, 1} {
		pairs = append(pairs, curveOn(t, grid, func(x float64) float64 {
			level := 80 + 5*float64(i) // sensitivities differ
			if x > 2 {
				return level + treble
			}
			return level
		}))
	}
	to, err := target.FromPairs("three pairs", pairs)
	require.NoError(t, err)
	part := math.Log2(20000./4000) / math.Log2(1000) // of the octaves lies above 4 kHz
	assert.InDelta(t, 1-part, to.Spread.At(10000), 0.01)
	assert.InDelta(t, part, to.Spread.At(100), 0.01)
	assert.InDelta(t, to.Spread.At(10000)/math.Sqrt(3), to.Curve.UncertaintyAt(10000), 1e-9)
	assert.InDelta(t, 2, to.Components.DegreesOfFreedom, 0)
	assert.True(t, to.Measured)
	d := compare(t, pairs[1], to, target.Config{Tolerance: target.Symmetric(to.Spread)})
	assert.InDelta(t, 0, d.RMS.Value, 1e-9, "the middle one is the mean")
	assert.InDelta(t, 1, d.Share.Value, 1e-9, "and within the spread of all")
	tilts, err := target.CompareSeatings([]response.Curve{pairs[1], pairs[1]}, to, target.Config{})
	require.NoError(t, err)
	assert.Positive(t, tilts.Tilt.Uncertainty, "the target's own")
	assert.InDelta(t, 2, tilts.Tilt.DegreesOfFreedom, 1e-9)

	_, err = target.FromPairs("one", pairs[:1])
	assert.ErrorContains(t, err, "1 pairs; give two or more")
	_, err = target.FromSeatings("one", pairs[:1])
	assert.ErrorContains(t, err, "1 seatings; give two or more")
	other := pairs[0]
	other.Rig = "ear simulator"
	_, err = target.FromPairs("two rigs", []response.Curve{pairs[0], other})
	assert.ErrorIs(t, err, response.ErrOtherRig)
	_, err = target.FromSeatings("two rigs", []response.Curve{pairs[0], other})
	assert.ErrorIs(t, err, response.ErrOtherRig)
	_, err = target.FromPairs("apart", []response.Curve{pairs[0].Within(response.Band{Low: 20, High: 90}), pairs[1].Within(response.Band{Low: 100, High: 900})})
	assert.ErrorContains(t, err, "the level is known nowhere")
	other.Rig = ""
	_, err = target.FromPairs("no rig", []response.Curve{other, other})
	assert.ErrorContains(t, err, "set Rig")
}

// ANSI S3.5-1997, table 3 (from memory): the importance of each third of an octave
// from 160 Hz to 8 kHz; the sum is 1.
func TestSpeechImportanceANSIS3_5(t *testing.T) {
	table := []float64{.0083, .0095, .0150, .0289, .0440, .0578, .0653, .0711, .0818, .0844, .0882, .0898, .0868, .0844, .0771, .0527, .0364, .0185}
	var regions []target.Region
	for i := range table {
		mid := 1000 * math.Pow(10, 0.1*float64(i-8)) // IEC 61260-1
		regions = append(regions, target.Region{Name: "third", Band: response.Band{Low: mid * math.Pow(10, -0.05), High: mid * math.Pow(10, 0.05)}})
	}
	d := compare(t, curveOn(t, []float64{20, 20000}, tiltOf(0)), target.Flat(), target.Config{Weight: target.SpeechImportance, Regions: regions})
	var sum float64
	for i, r := range d.Regions {
		assert.InDelta(t, table[i], r.Weight, 1e-9, "%v", r.Band)
		sum += r.Weight
	}
	assert.InDelta(t, 1, sum, 1e-9)
	for _, w := range []target.Weight{target.PerERB, target.PerOctave, target.SpeechImportance} {
		sum = 0
		for _, o := range compare(t, curveOn(t, []float64{20, 20000}, tiltOf(0)), target.Flat(), target.Config{Weight: w}).Octaves {
			sum += o.Weight
		}
		assert.InDelta(t, 1, sum, 1e-9, "the octaves make up the whole")
	}
}

// The regions tile the audible band, each with its edges; the mean of a line in a
// region lies in its middle.
func TestRegionsOfTheTrade(t *testing.T) {
	d := compare(t, curveOn(t, []float64{10, 24000}, tiltOf(1)), target.Flat(), target.Config{Align: target.Unaligned()})
	require.Len(t, d.Regions, 7)
	at := 20.0
	for _, r := range d.Regions {
		assert.InDelta(t, at, r.Band.Low, 0)
		at = r.Band.High
		octaves := r.Band.Octaves()
		middle := math.Log2(math.Sqrt(r.Band.Low*r.Band.High) / 1000)
		assert.InDelta(t, middle, r.Mean.Value, 1e-9)
		assert.InDelta(t, math.Hypot(middle, octaves/math.Sqrt(12)), r.RMS.Value, 1e-9)
		assert.InDelta(t, octaves/math.Log2(1000), r.Weight, 1e-9)
		assert.InDelta(t, 1, r.Coverage, 1e-9)
	}
	assert.InDelta(t, 20000, at, 0)
	assert.Equal(t, "bass (60 Hz–250 Hz): mean -3.03 dB, rms 3.09 dB", d.Regions[1].String())
	outside := compare(t, curveOn(t, []float64{100, 1000}, tiltOf(1)), target.Flat(), target.Config{})
	assert.Equal(t, "sub-bass (20 Hz–60 Hz): not known", outside.Regions[0].String())
	assert.Zero(t, outside.Regions[0].Coverage)
}
