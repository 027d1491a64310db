package excerpt

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/biquad"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/response/programme"
	"example.com/earnest/response/programme/loudness"
)

const rate = 48000

// material is noise with a slow envelope and more bass than treble.
func material(seconds float64, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, int(seconds*rate))
	for i := range x {
		x[i] = 0.1 * r.NormFloat64() * (1 + 0.7*math.Sin(2*math.Pi*0.6*float64(i)/rate))
	}
	biquad.New(biquad.LowPass, 15000, 0.7, 0, rate).Apply(x)
	biquad.New(biquad.LowShelf, 500, 0.7, 6, rate).Apply(x)
	return x
}

// The cookbook's filters are minimum phase.
func device() biquad.Chain {
	return biquad.Chain{
		biquad.New(biquad.Peaking, 3000, 3, 6, rate),
		biquad.New(biquad.Peaking, 120, 1, -4, rate),
		biquad.New(biquad.HighShelf, 8000, 0.7, -5, rate),
	}
}

// played returns x as a recorder records it: delayed by delay samples, with a clock that differs by
// ppm parts per million. It interpolates with a sinc twice as long as that of the code under test.
func played(x []float64, delay, ppm float64) []float64 {
	out := make([]float64, int(float64(len(x))*(1+ppm*1e-6)+delay))
	const half = 96
	for i := range out {
		at := (float64(i) - delay) / (1 + ppm*1e-6)
		first := int(math.Floor(at)) - half + 1
		sine := math.Sin(math.Pi * (at - float64(max(0, first)))) // of π times the distance, which changes its sign at every sample
		for k := max(0, first); k < min(len(x), first+2*half); k++ {
			u := at - float64(k)
			if u == 0 {
				out[i] += x[k]
				continue
			}
			w := 1 - u*u/half/half
			out[i] += x[k] * w * w * w * sine / (math.Pi * u)
			sine = -sine
		}
	}
	return out
}

// level returns the power of x from 50 Hz to 10 kHz in dB.
func level(x []float64) float64 {
	y := append([]float64(nil), x...)
	for range 2 {
		biquad.New(biquad.HighPass, 50, 0.7, 0, rate).Apply(y)
		biquad.New(biquad.LowPass, 10000, 0.7, 0, rate).Apply(y)
	}
	sum := 0.0
	for _, v := range y[rate/2 : len(y)-rate/2] {
		sum += v * v
	}
	return decibel.OfPower(sum)
}

func less(x, y []float64) []float64 {
	d := make([]float64, len(x))
	for i := range d {
		d[i] = x[i] - y[i]
	}
	return d
}

func TestAlignedExcerptOfAKnownFilter(t *testing.T) {
	x := material(6, 1)
	for _, row := range []struct{ delay, ppm float64 }{{1234.37, 0}, {400.5, 100}} {
		y := append([]float64(nil), x...)
		device().Apply(y)
		direct := programme.Channel{Name: "direct.wav", Samples: x, SampleRate: rate}
		through := programme.Channel{Name: "through.wav", Samples: played(y, row.delay, row.ppm), SampleRate: rate}
		comparison, err := programme.Compare(direct, through, programme.Config{})
		require.NoError(t, err)
		e, err := Cut(direct, through, comparison.Alignment, Config{Length: 3 * time.Second})
		require.NoError(t, err)
		want := y[int(math.Round(e.From*rate)):][:len(e.versions[1].Samples)]
		assert.Less(t, level(less(e.versions[1].Samples, want))-level(want), -60.0, "delay %v, %v ppm: the required alignment of an excerpt", row.delay, row.ppm)
	}
}

// The filter's truth is the cookbook's.
func TestFilterByAMeasuredResponse(t *testing.T) {
	x := material(8, 2)
	y := append([]float64(nil), x...)
	device().Apply(y)
	var curve response.Curve
	for f := 10.0; f < 23000; f *= math.Exp2(1. / 48) {
		h := device().Response(f, rate)
		curve.Frequency, curve.Level = append(curve.Frequency, f), append(curve.Level, decibel.OfAmplitude(math.Hypot(real(h), imag(h))))
	}
	curve.Valid = response.Band{Low: 10, High: 23000}
	e := &Excerpt{SampleRate: rate, versions: []Version{{Name: Direct, Samples: x[2*rate : 6*rate]}}, before: x[rate : 2*rate]}
	f, err := e.Filter("filtered", curve)
	require.NoError(t, err)
	want := y[2*rate : 6*rate]
	assert.Less(t, level(less(f.versions[1].Samples, want))-level(want), -50.0, "the curve has 48 points to an octave, and the phase beyond 23 kHz is not known")

	_, err = e.Filter("nothing", response.Curve{})
	assert.ErrorIs(t, err, ErrExcerpt)
}

func TestEqualLoudness(t *testing.T) {
	x := material(6, 3)
	for name, gain := range map[string]float64{"louder": 9, "quieter": -14} {
		y := append([]float64(nil), x...)
		device().Apply(y)
		for i := range y {
			y[i] *= decibel.Amplitude(gain)
		}
		e := &Excerpt{SampleRate: rate, versions: []Version{{Name: Direct, Samples: x}, {Name: Through, Samples: y}}}
		versions, err := e.Equalise()
		require.NoError(t, err)
		var got []loudness.Loudness
		for _, v := range versions {
			l, err := loudness.Measure([][]float64{v.Samples}, rate)
			require.NoError(t, err)
			assert.Less(t, l.TruePeak, -1+0.05, "the true peak is read within 0.05 dB")
			got = append(got, l)
		}
		assert.InDelta(t, got[0].Integrated, got[1].Integrated, 0.1, "%s: the required accuracy, in LU", name)
		assert.LessOrEqual(t, versions[0].Gain, 1e-9, "never louder than it was recorded")
	}
	silent := &Excerpt{SampleRate: rate, versions: []Version{{Name: Direct, Samples: x}, {Name: Through, Samples: make([]float64, len(x))}}}
	_, err := silent.Equalise()
	assert.ErrorIs(t, err, ErrExcerpt)
	assert.ErrorContains(t, err, "through the headphones")
}

// A quiet bass at the beginning, everything in the middle, hiss at the end.
func TestMostTellingStretchHasAllBands(t *testing.T) {
	x := material(24, 4)
	biquad.New(biquad.LowPass, 80, 0.7, 0, rate).Apply(x[:8*rate])
	biquad.New(biquad.HighPass, 5000, 0.7, 0, rate).Apply(x[16*rate:])
	at := float64(mostTelling(x, rate, 5*rate)) / rate
	assert.GreaterOrEqual(t, at, 7.5)
	assert.LessOrEqual(t, at, 11.5)
}

func TestCutRefuses(t *testing.T) {
	channel := programme.Channel{Name: "walk.wav", Samples: material(6, 5), SampleRate: rate}
	other := channel
	other.SampleRate = 44100
	late := 5 * time.Second
	for name, row := range map[string]struct {
		through programme.Channel
		to      float64
		config  Config
	}{
		"another rate": {other, 6, Config{}},
		"too short":    {channel, 2.5, Config{}},
		"too long":     {channel, 6, Config{Length: time.Minute}},
		"not shared":   {channel, 6, Config{Length: 3 * time.Second, At: &late}},
	} {
		_, err := Cut(channel, row.through, &programme.Alignment{To: row.to}, row.config)
		assert.ErrorIs(t, err, ErrExcerpt, name)
	}
}
