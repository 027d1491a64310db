package review_test

import (
	"math"
	"math/cmplx"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
	"example.com/earnest/target/review"
)

// asking3 returns the recordings of three seatings of the stimulus of asking.
var asking3 = sync.OnceValue(func() [3][][]float64 {
	st, recorded := asking()
	pair, _, r := rig.Demonstration()
	r.Drift, r.Microphone = 20, nil
	seat := r.Play(st.Channels()).Seatings(pair)
	return [3][][]float64{recorded[1], seat(1), seat(2)}
})

// late returns a recording from a sample of the stimulus on.
func late(x [][]float64, from int) [][]float64 {
	out := make([][]float64, len(x))
	for i := range x {
		out[i] = append([]float64(nil), x[i][from:]...)
	}
	return out
}

// cutReview reviews three seatings. A recording is cut by begin, from seating and sample 0 on. mono
// records each side by itself. spoil, if not nil, changes a seating, which is used then even if it
// is not fit.
func cutReview(t *testing.T, begin [3]int, mono bool, spoil func(i int, x [][]float64)) (*simulation, *review.Results, error) {
	t.Helper()
	s := simulate(t)
	st, recorded := asking()
	s.stimulus, s.config.Stimulus, s.config.UseUnfit = st, st, spoil != nil
	b, err := review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Both(s.recording("direct.wav", clone(recorded[0]))))
	require.NoError(t, err)
	p := b.Pair(review.About{Name: s.pair.Name})
	for i, x := range asking3() {
		name := []string{"first", "second", "third"}[i]
		x = late(x, begin[i])
		if spoil != nil {
			spoil(i, x)
		}
		channels := review.Both(s.recording(name+".wav", x))
		if mono {
			channels = review.Channels{Left: review.Channel{Recording: s.recording(name+"-left.wav", x[:1])},
				Right: review.Channel{Recording: s.recording(name+"-right.wav", x[1:])}}
		}
		_, err = p.Seat(review.Seating{Name: name, Channels: channels})
		require.NoError(t, err)
	}
	r, err := p.Measure()
	return s, r, err
}

// TestPartsAreMeasuredBesideACutSweep starts the recorder at several places after the beginning of
// a sweep: in the first seating, in the last, and in two of three. The response of a side is that
// of the seatings that hold its sweep; every tone, level and other part is a mean over those that
// hold it, and holds the truth of the simulated rig.
func TestPartsAreMeasuredBesideACutSweep(t *testing.T) {
	long.Skip(t)
	st, _ := asking()
	left, right := st.Sweeps(sweep.Left)[0], st.Sweeps(sweep.Right)[0]
	_, whole, err := cutReview(t, [3]int{}, false, nil)
	require.NoError(t, err)
	levels := partAt(st, "sweep, both sides at -30")
	for _, test := range []struct {
		name  string
		begin [3]int
		mono  bool
		sides [2]int // seatings with the response
		tones int    // seatings with the tone of 1 kHz for distortion
	}{
		{"within the left sweep of the second", [3]int{1: left.Start + left.Len/3}, false, [2]int{2, 3}, 3},
		{"late in the right sweep of the first, each side by itself", [3]int{0: right.Start + right.Len*9/10}, true, [2]int{2, 2}, 3},
		{"within the tones of the second", [3]int{1: levels.Start - 96000}, false, [2]int{2, 2}, 2},
		{"in the first, and after the sweeps of the last", [3]int{0: left.Start + 2000, 2: st.Len()}, false, [2]int{1, 2}, 3},
	} {
		t.Run(test.name, func(t *testing.T) {
			s, r, err := cutReview(t, test.begin, test.mono, nil)
			require.NoError(t, err)
			for k, side := range r.Sides() {
				which := []rig.Side{rig.Left, rig.Right}[k]
				require.Len(t, side.Seatings, test.sides[k], side.Name)
				require.Len(t, side.FurtherOnly, 3-test.sides[k])
				assert.Empty(t, side.LeftOut)
				var own []response.Curve
				for _, reading := range whole.Sides()[k].Seatings {
					for _, one := range side.Seatings {
						if one.Name == reading.Name {
							own = append(own, reading.Response)
						}
					}
				}
				mean, err := response.AverageOf(own)
				require.NoError(t, err)
				for _, f := range []float64{100, 1000, 5000} {
					// The clock is known from other marks, to 0.1 parts per million.
					assert.InDelta(t, mean.Level.At(f), side.Response().At(f), 1e-3, "dB; %s, %v Hz", side.Name, f)
				}
				for _, one := range side.FurtherOnly {
					assert.Empty(t, one.Response.Level)
					assert.NotNil(t, one.Further.Modulation)
					assert.NotNil(t, one.Further.Crosstalk)
					assert.Contains(t, one.Further.Held, sweep.AskLevels)
					seating := map[string]int{"first": 0, "second": 1, "third": 2}[one.Name]
					same := whole.Sides()[k].Seatings[seating].Further
					for _, tone := range one.Further.Tones {
						amplitude := math.Pow(10, tone.Played/20)
						passed := func(f float64) complex128 {
							return s.rig.Truth(s.pair, which, seating, f) / s.pair.Response(which, f, 48000)
						}
						var power float64
						harmonic := func(n int) float64 {
							f := float64(n) * tone.Frequency
							return cmplx.Abs(s.pair.Harmonic(which, n, tone.Frequency, amplitude, 48000) * passed(f))
						}
						for n := 2; n <= 5; n++ {
							h := harmonic(n) / harmonic(1)
							power += h * h
						}
						truth := 100 * math.Sqrt(power)
						if low, high := tone.THD.Interval(0.999); tone.THD.Known() {
							assert.Truef(t, low < truth && truth < high, "%v Hz at %v dBFS: %v, and truth is %.4f %%", tone.Frequency, tone.Played, tone.THD, truth)
						} else {
							assert.Less(t, truth, 1.5*tone.THD.Bound)
						}
					}
					// The same samples, but the interface's share follows the other seatings'
					// response, and a silence of another length has other noise.
					assert.InEpsilon(t, same.Modulation.Total.Value, one.Further.Modulation.Total.Value, 0.01)
					assert.InDelta(t, same.Crosstalk.Level.At(1000), one.Further.Crosstalk.Level.At(1000), 0.05, "dB")
					require.NotNil(t, one.Further.Levels)
					for i, point := range one.Further.Levels.At(200) {
						of := same.Levels.At(200)[i]
						assert.Equal(t, []float64{-30, -24, -18}[i], point.Played)
						assert.InDelta(t, of.Output, point.Output, 1e-3, "dBFS")
						if of.THD.Known() && point.THD.Known() {
							assert.InEpsilon(t, of.THD.Value, point.THD.Value, 0.1, "the interface's floor, a third of the figure, is subtracted")
						}
					}
				}
				further := side.Further
				for _, tone := range further.Tones {
					if tone.Frequency == 1000 && tone.Played == -12 && tone.THD.Known() {
						assert.Contains(t, []float64{0, float64(test.tones - 1)}, tone.THD.Budget[0].DegreesOfFreedom,
							"of the scatter of seatings, or of their noise where it is larger")
					}
				}
				points := side.LevelsAt(1000)
				require.Len(t, points, 4)
				for i, point := range points {
					n := 3.0
					if i == 3 {
						n = float64(test.sides[k])
					}
					if n > 1 && point.THD.Known() {
						assert.Contains(t, []float64{0, n - 1}, point.THD.Budget[0].DegreesOfFreedom, point.Played)
					}
				}
				for _, m := range side.MaxLevels { // a seating without the highest level has no part in it
					if m.Percent == 1 && m.Frequency > 900 && m.Frequency < 1100 {
						assert.Equal(t, -12.0, m.Played.Value)
					}
				}
			}
			var said []string
			for _, f := range r.Findings {
				assert.NotEqual(t, response.Unfit, f.Severity, f.String())
				if f.Kind == review.PartMissing && strings.Contains(f.What, "has no part in the response of that side") {
					said = append(said, f.String())
				}
			}
			assert.Len(t, said, 6-test.sides[0]-test.sides[1], "each side of each seating by name")
		})
	}
}

// TestNoSeatingHoldsTheSweep: without any response nothing is compared, and the error says why. A
// direct recording without its sweeps is refused.
func TestNoSeatingHoldsTheSweep(t *testing.T) {
	long.Skip(t)
	st, recorded := asking()
	at := st.Sweeps(sweep.Right)[0].Start + 1000
	_, _, err := cutReview(t, [3]int{at, at, at}, false, nil)
	assert.ErrorIs(t, err, fitness.ErrUnfit)
	assert.ErrorContains(t, err, "the sweep of the left side had begun")
	_, _, err = cutReview(t, [3]int{at, at, at}, true, nil)
	assert.ErrorIs(t, err, fitness.ErrUnfit)

	s := simulate(t)
	s.stimulus, s.config.Stimulus = st, st
	for _, unfit := range []bool{false, true} {
		s.config.UseUnfit = unfit
		b, err := review.New(s.config)
		require.NoError(t, err)
		_, err = b.Direct(review.Both(s.recording("direct.wav", late(recorded[0], at))))
		assert.ErrorIs(t, err, fitness.ErrUnfit)
		assert.ErrorContains(t, err, "direct.wav: the sweep of the left side had begun")
	}
}
