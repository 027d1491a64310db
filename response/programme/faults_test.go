//go:build !race

package programme_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/programme"
)

func try(direct, through []float64, c programme.Config) (*programme.Comparison, error) {
	return programme.Compare(channel("direct.wav", direct, 48000), channel("through.wav", through, 48000), c)
}

func TestOtherMaterialIsRefused(t *testing.T) {
	long.Skip(t)
	const fs = 48000
	tone := make([]float64, 6*fs)
	noise := make([]float64, 6*fs)
	random := rand.New(rand.NewPCG(1, 1))
	for i := range tone {
		tone[i] = 0.3 * math.Sin(2*math.Pi*440*float64(i)/fs)
		noise[i] = 0.1 * random.NormFloat64()
	}
	for _, c := range []struct {
		name            string
		direct, through []float64
	}{
		{"another tune", music(6, 1), music(6, 2)},
		{"a voice for a tune", music(6, 1), rig.Speech(fs, 6, 1)[0]},
		{"other words", rig.Speech(fs, 6, 1)[0], rig.Speech(fs, 6, 2)[0]},
		{"noise for a tune", music(6, 1), noise},
		{"a tone for a voice", rig.Speech(fs, 6, 1)[0], tone},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := try(c.direct, c.through, programme.Config{})
			require.ErrorIs(t, err, programme.ErrDifferent)
			assert.Contains(t, err.Error(), "programme: through.wav: ")
		})
	}
}

func TestSilenceIsRefused(t *testing.T) {
	x := music(3, 1)
	for _, c := range []struct {
		name            string
		direct, through []float64
		said            string
	}{
		{"direct", make([]float64, len(x)), x, "direct.wav"},
		{"through", x, make([]float64, len(x)), "through.wav"},
		{"nothing", x, nil, "through.wav"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := try(c.direct, c.through, programme.Config{})
			require.ErrorIs(t, err, programme.ErrSilent)
			assert.Contains(t, err.Error(), "programme: "+c.said)
		})
	}
}

func TestBadSamplesAndRatesAreRefused(t *testing.T) {
	x := music(3, 1)
	bad := slices.Clone(x)
	bad[48000] = math.NaN()
	_, err := try(x, bad, programme.Config{})
	require.ErrorIs(t, err, capture.ErrNotFinite)
	assert.Contains(t, err.Error(), "at 1.00 s")
	_, err = programme.Align(channel("a", x, 48000), channel("b", x, 44100))
	require.ErrorIs(t, err, programme.ErrRate)
	_, err = programme.Align(channel("a", x, 4000), channel("b", x, 4000))
	require.ErrorContains(t, err, "4000 Hz")
	for _, c := range []programme.Config{{Band: response.Band{Low: -1}}, {Band: response.Band{High: math.NaN()}}, {MinCoherence: 1}, {Band: response.Band{Low: 15000}}} {
		_, err = try(x, x, c)
		assert.Error(t, err, "%+v", c)
	}
	_, err = programme.ChannelOf(&capture.Recording{Name: "x.wav", SampleRate: 48000, Channels: [][]float64{x}}, 2)
	require.ErrorIs(t, err, capture.ErrChannel)
}

// The recorder drops or repeats a piece: the error states its place and length.
func TestCutsAreFound(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	x := music(16, 7)
	for _, c := range []struct {
		name    string
		at      int
		missing int // below zero: doubled
	}{
		{"a block of a driver", 7 * fs, 512},
		{"a tenth of a second", 9 * fs, 4800},
		{"a second and a half", 6 * fs, 72000},
		{"doubled", 8 * fs, -9600},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := device{filter: headphones(fs), gain: 0.5, start: 2000, snr: 50}
			y := d.through(x)
			at := c.at + 2000
			if c.missing > 0 {
				y = slices.Concat(y[:at], y[at+c.missing:])
			} else {
				y = slices.Concat(y[:at], y[at+c.missing:])
			}
			_, err := try(x, y, programme.Config{})
			require.ErrorIs(t, err, programme.ErrCut)
			var cut *programme.CutError
			require.ErrorAs(t, err, &cut)
			assert.InDelta(t, -float64(c.missing)/fs, cut.Jump, 0.001, "s")
			assert.InDelta(t, float64(c.at)/fs, cut.At, cut.Within+0.35, "s; a segment's length")
			assert.Less(t, cut.Within, 1.0)
			assert.Contains(t, err.Error(), "record again")
		})
	}
	t.Run("stopped and something else followed", func(t *testing.T) {
		y := slices.Concat(x[:8*fs], rig.Speech(fs, 8, 1)[0])
		_, err := try(x, y, programme.Config{})
		require.ErrorIs(t, err, programme.ErrCut)
		assert.Contains(t, err.Error(), "what follows is not in it")
	})
}

func TestFindings(t *testing.T) {
	race.Skip(t)
	const fs = 48000
	x := music(8, 8)
	clipped := slices.Clone(x)
	for i, v := range clipped {
		clipped[i] = max(-0.3, min(0.3, v))
	}
	quiet := device{gain: 0.5, snr: 60}
	inverted := device{gain: -1, snr: 60}
	for _, c := range []struct {
		name            string
		direct, through []float64
		kind            response.FindingKind
		said            string
	}{
		{"clean", x, quiet.through(x), "", ""},
		{"through clips", x, clipped, programme.Clipped, "through.wav clips"},
		{"the material is clipped", clipped, quiet.through(clipped), programme.Material, "direct.wav has flat tops"},
		{"polarity", x, inverted.through(x), programme.Inverted, "polarity of through.wav is opposite"},
		{"too short for the bass", x[:2*fs], quiet.through(x[:2*fs]), programme.Short, "20 Hz takes 4.8 s"},
		{"not all of it", x, quiet.through(x[:4*fs]), programme.Partial, "4.0 s of the 8.0 s"},
		{"drift", x, device{gain: 1, ppm: 60, snr: 60}.through(x), programme.Drift, "+60.0 parts per million"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := try(c.direct, c.through, programme.Config{})
			require.NoError(t, err)
			if c.kind == "" {
				assert.Empty(t, got.Findings)
				return
			}
			i := slices.IndexFunc(got.Findings, func(f response.Finding) bool { return f.Kind == c.kind })
			require.GreaterOrEqual(t, i, 0, "%+v", got.Findings)
			assert.Contains(t, got.Findings[i].What, c.said)
		})
	}
	t.Run("the material has no energy above 3 kHz", func(t *testing.T) {
		dull := slices.Clone(x)
		for range 4 {
			lowpass(dull)
		}
		got := compare(t, dull, device{gain: 1, snr: 40}.through(dull), fs, programme.Config{})
		assert.True(t, slices.ContainsFunc(got.Findings, func(f response.Finding) bool { return f.Kind == programme.Narrow }))
		p := got.At(15000)
		assert.False(t, p.Known)
		assert.True(t, math.IsNaN(real(p.H1)) && math.IsNaN(p.RandomError))
		assert.Greater(t, got.Covered, 0.9, "the missing part has little energy")
	})
}

// lowpass is a two-pole filter at about 700 Hz, run forwards.
func lowpass(x []float64) {
	var a, b float64
	for i, v := range x {
		a += 0.09 * (v - a)
		b += 0.09 * (a - b)
		x[i] = b
	}
}

func TestTooFewSecondsForTheBassAskedFor(t *testing.T) {
	long.Skip(t)
	x := music(3, 1)
	_, err := try(x, x, programme.Config{Band: response.Band{Low: 20}})
	require.ErrorIs(t, err, programme.ErrTooShort)
	assert.Contains(t, err.Error(), "20 Hz takes 4.8 s of material; the recordings share 3.0 s, which reach down to 35.2 Hz",
		"8 segments of 12 periods of 20 Hz")
	_, err = try(x, x, programme.Config{Band: response.Band{Low: 40}})
	require.NoError(t, err)
	_, err = try(x[:30000], x[:30000], programme.Config{})
	require.ErrorIs(t, err, programme.ErrTooShort)
	// The length that the error asks for is enough, at every rate.
	for _, fs := range []int{16000, 44100, 96000} {
		t.Run(fmt.Sprint(fs), func(t *testing.T) {
			y := rig.Music(fs, 5, 1)[0]
			_, err := programme.Compare(channel("a", y, fs), channel("b", y, fs), programme.Config{Band: response.Band{Low: 40}})
			require.NoError(t, err)
		})
	}
}

// A recording at 44.1 kHz that is labelled 48 kHz is named, with its speed.
func TestAnotherSpeedIsNamed(t *testing.T) {
	x := music(8, 3)
	y := make([]float64, int(float64(len(x))*44.1/48)-1)
	for i := range y { // a straight line between samples loses treble, which the search does not use
		at := float64(i) * 48 / 44.1
		k := int(at)
		y[i] = x[k] + (at-float64(k))*(x[k+1]-x[k])
	}
	_, err := programme.Compare(channel("direct.wav", x, 48000), channel("through.wav", y, 48000), programme.Config{})
	assert.ErrorIs(t, err, programme.ErrRate)
	assert.ErrorContains(t, err, "1.0884 times its speed")
}

// A loop whose loudest stretch is cut in the other recording is not found at its repeat.
func TestALoopThatIsCutIsFoundInItsPlace(t *testing.T) {
	race.Skip(t)
	bar := music(5, 4)
	var x []float64
	random := rand.New(rand.NewPCG(4, 4))
	for k := range 3 { // each time with another sound too, as in real loops, and the first is the loudest
		for _, v := range bar {
			x = append(x, v/float64(3+k)+0.003*random.NormFloat64())
		}
	}
	got := compare(t, x, x[600:], 48000, programme.Config{})
	assert.InDelta(t, -600./48000, got.Alignment.Delay, 1e-4, "s")
}

// If a piece is missing shortly before the end, the end comes at another time. The same holds for
// missing bars of a loop, if the recording continues after it. Whole pieces are not taken for such.
func TestAnEndAtAnotherTime(t *testing.T) {
	long.Skip(t)
	const fs, bar = 16000, 24000
	tune := rig.Music(fs, 16, 7)[0]
	loop := slices.Clone(tune)
	for i := bar; i < len(loop); i++ {
		loop[i] = loop[i-bar]
	}
	for _, c := range []struct {
		name        string
		x           []float64
		at, missing int
	}{
		{"whole", tune, 0, 0},
		{"whole loop", loop, 0, 0},
		{"a tenth of a second", tune, 145 * fs / 10, fs / 10},
		{"a bar", loop, 6 * fs, bar},
	} {
		t.Run(c.name, func(t *testing.T) {
			y := slices.Clone(c.x)
			headphones(fs).Apply(y)
			y = slices.Concat(make([]float64, 3000), y[:c.at], y[c.at+c.missing:], make([]float64, 3*fs))
			_, err := programme.Align(channel("direct.wav", c.x, fs), channel("through.wav", withNoise(y, 40, 3), fs))
			if c.missing == 0 {
				require.NoError(t, err)
				return
			}
			require.ErrorIs(t, err, programme.ErrCut)
		})
	}
}

// No input makes Compare panic.
func FuzzCompare(f *testing.F) {
	f.Add(uint64(1), 30000, 20000, 100, 0.5)
	f.Add(uint64(2), 3, 0, 0, 1.0)
	f.Add(uint64(3), 50000, 50000, -900, -1e-9)
	f.Add(uint64(4), 9000, 60000, 20000, 1e200)
	f.Fuzz(func(t *testing.T, seed uint64, n, m, shift int, gain float64) {
		n, m = n&0xffff, m&0xffff
		random := rand.New(rand.NewPCG(seed, 0))
		x, y := make([]float64, n), make([]float64, m)
		for i := range x {
			x[i] = random.NormFloat64() * math.Abs(math.Sin(float64(i)/900))
		}
		for i := range y {
			if j := i - shift%70000; j >= 0 && j < n {
				y[i] = gain * x[j]
			}
		}
		c, err := programme.Compare(channel("a", x, 8000), channel("b", y, 8000), programme.Config{})
		if err != nil {
			return
		}
		c.Response()
		_, _ = c.Agreement(c.Response())
	})
}
