package sweep_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/sweep"
)

// asking returns a stimulus of short sweeps with all questions.
func asking(t testing.TB, change func(*sweep.StimulusConfig)) (*sweep.Stimulus, error) {
	t.Helper()
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	require.NoError(t, err)
	c := sweep.StimulusConfig{Sweep: s, Silence: 500 * time.Millisecond, Gap: 500 * time.Millisecond, Asks: sweep.Questions()}
	if change != nil {
		change(&c)
	}
	return sweep.NewStimulus(c)
}

// TestPartsFollowTheSweeps checks that the stimulus without parts is there bit by bit, and that the
// parts come after it.
func TestPartsFollowTheSweeps(t *testing.T) {
	st, err := asking(t, nil)
	require.NoError(t, err)
	plain, err := asking(t, func(c *sweep.StimulusConfig) { c.Asks = nil })
	require.NoError(t, err)
	require.Equal(t, plain.Segments(), st.Segments())
	require.Equal(t, plain.Len(), st.Len())
	require.Empty(t, plain.Parts())
	require.Equal(t, plain.Len(), plain.WholeLen())
	whole, sweeps := st.Channels(), plain.Channels()
	for side, x := range whole {
		require.Len(t, x, st.WholeLen())
		require.True(t, slices.Equal(sweeps[side], x[:st.Len()]))
	}
	end := st.Len()
	for _, p := range st.Parts() {
		require.GreaterOrEqual(t, p.Start, end, p)
		end = p.Start + p.Len
		require.LessOrEqual(t, p.Len, 2*48000, "steady tones last 2 s at most: %v", p)
		peak, x := 0.0, p.Samples(st.Sweep())
		require.Len(t, x, p.Len)
		for _, v := range x {
			peak = max(peak, math.Abs(v))
		}
		for side, other := range []sweep.Kind{sweep.RightSweep, sweep.LeftSweep} {
			plays := whole[side][p.Start : p.Start+p.Len]
			if p.Kind == other {
				require.Zero(t, floats.Norm(plays, 1))
			} else {
				require.True(t, slices.Equal(x, plays), p)
			}
		}
		if p.Kind == sweep.BothSweeps {
			louder := st.Sweep().AtLevel(p.Level)
			require.Equal(t, p.Level, louder.Level())
			require.InDelta(t, math.Pow(10, (p.Level+12)/20), x[20000]/st.Sweep().Samples()[20000], 1e-9) // rounding
		}
		require.Equal(t, p.Asks == sweep.AskGain, p.Rising(st.Sweep()) != nil)
		if rising := p.Rising(st.Sweep()); rising != nil {
			require.Equal(t, rising.Len(), p.Len)
			at := rising.Len() - int(48000*rising.TimeAt(1000)) // sample at which it passes 1 kHz
			period := x[at-40 : at+40]
			require.InDelta(t, 48000/1000/2, zeroCrossing(period), 3, "samples between zeros: half a period, while the sweep's frequency rises by 1 %")
		}
		// The window of a mark, and the sampling of a few tones, reduce the peak a little.
		require.InDelta(t, p.Level, 20*math.Log10(peak), 0.4, p)
	}
	require.Less(t, end, st.WholeLen())
	require.InDelta(t, float64(st.WholeLen())/48000, st.Duration(), 1e-9) // rounding
}

// TestNoTwoMarksAreAsFarApartAsOthers checks that any two marks can be identified, on clocks that
// differ.
func TestNoTwoMarksAreAsFarApartAsOthers(t *testing.T) {
	for _, louder := range []bool{false, true} {
		st, err := asking(t, func(c *sweep.StimulusConfig) { c.Louder = louder })
		require.NoError(t, err)
		var marks, apart []int
		for _, m := range st.Find(sweep.Mark) {
			marks = append(marks, m.Start)
		}
		for _, p := range st.Parts() {
			if p.Kind == sweep.Mark {
				marks = append(marks, p.Start)
			}
		}
		for i, a := range marks {
			for _, b := range marks[:i] {
				for _, other := range apart {
					require.Greater(t, math.Abs(float64(a-b-other)), 0.1*48000)
				}
				apart = append(apart, a-b)
			}
		}
	}
}

// TestTheLoudestLevelIsAskedForByName checks that nothing is louder than the sweep by default.
func TestTheLoudestLevelIsAskedForByName(t *testing.T) {
	loudest := func(louder bool) float64 {
		st, err := asking(t, func(c *sweep.StimulusConfig) { c.Louder = louder })
		require.NoError(t, err)
		top := math.Inf(-1)
		for _, p := range st.Parts() {
			top = max(top, p.Level)
		}
		return top
	}
	require.Equal(t, -12.0, loudest(false))
	require.Equal(t, -6.0, loudest(true))
}

// TestManyTonesRepeat checks that the tones are odd multiples of one frequency, and that the
// periods are equal.
func TestManyTonesRepeat(t *testing.T) {
	st, err := asking(t, nil)
	require.NoError(t, err)
	for _, p := range st.Parts() {
		if p.Period == 0 {
			continue
		}
		base := 48000 / float64(p.Period)
		for _, tone := range p.Tones {
			k := tone.Frequency / base
			require.InDelta(t, 1, math.Mod(k, 2), 1e-9) // rounding
		}
		x, from := p.Samples(st.Sweep()), 2*p.Period
		for i := range 1000 {
			require.InDelta(t, x[from+i], x[from+p.Period+i], 1e-12) // rounding
		}
		from, to := p.Settled(48000)
		require.GreaterOrEqual(t, to-from, 7*p.Period, "seven periods separate distortion from noise")
		return
	}
	t.Fatal("no part has many tones")
}

func TestImpossibleParts(t *testing.T) {
	for name, bad := range map[string]struct {
		change func(*sweep.StimulusConfig)
		says   string
	}{
		"another question": {func(c *sweep.StimulusConfig) { c.Asks = []sweep.Question{"warmth"} }, "choose from"},
		"a tone too low":   {func(c *sweep.StimulusConfig) { c.Tones = []float64{5} }, "from 20 Hz"},
		"a tone of 0 Hz":   {func(c *sweep.StimulusConfig) { c.Tones = []float64{math.NaN()} }, "from 20 Hz"},
		"tones not asked":  {func(c *sweep.StimulusConfig) { c.Asks, c.Tones = nil, []float64{100} }, `without the question "distortion"`},
		"louder not asked": {func(c *sweep.StimulusConfig) { c.Asks, c.Louder = nil, true }, `without the question "levels"`},
		"without marks":    {func(c *sweep.StimulusConfig) { c.Unmarked = true }, "found by the timing marks"},
		"beyond full scale": {func(c *sweep.StimulusConfig) {
			s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -3})
			require.NoError(t, err)
			c.Sweep, c.Louder = s, true
		}, "lower the level"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := asking(t, bad.change)
			require.ErrorContains(t, err, bad.says)
		})
	}
}

// zeroCrossing returns the number of samples between the first two changes of sign.
func zeroCrossing(x []float64) (apart int) {
	first := -1
	for i := 1; i < len(x); i++ {
		if (x[i] < 0) == (x[i-1] < 0) {
			continue
		}
		if first >= 0 {
			return i - first
		}
		first = i
	}
	return apart
}
