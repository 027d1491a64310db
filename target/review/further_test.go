package review_test

import (
	"math"
	"math/cmplx"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// asking holds a stimulus of short sweeps with all parts, and its recordings by the invented rig:
// direct, and through the headphones in one seating.
var asking = sync.OnceValues(func() (*sweep.Stimulus, [2][][]float64) {
	s, err := sweep.New(sweep.Config{Duration: 2 * time.Second, Level: -12})
	if err != nil {
		panic(err)
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: time.Second, Gap: 500 * time.Millisecond, Asks: sweep.Questions()})
	if err != nil {
		panic(err)
	}
	pair, _, r := rig.Demonstration()
	r.Drift, r.Microphone = 20, nil
	x := st.Channels()
	return st, [2][][]float64{r.Direct(x), r.Through(pair, 0, x)}
})

// asked reviews what was recorded, after it was spoilt.
func asked(t *testing.T, spoil func(direct, through *capture.Recording)) (*simulation, *review.Results) {
	t.Helper()
	s := simulate(t)
	st, recorded := asking()
	s.stimulus, s.config.Stimulus = st, st
	direct, through := s.recording("direct.wav", clone(recorded[0])), s.recording("first.wav", clone(recorded[1]))
	if spoil != nil {
		spoil(direct, through)
	}
	b, err := review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Both(direct))
	require.NoError(t, err)
	p := b.Pair(review.About{Name: s.pair.Name})
	_, err = p.Seat(review.Seating{Channels: review.Both(through)})
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	return s, r
}

func clone(x [][]float64) [][]float64 {
	out := make([][]float64, len(x))
	for i := range x {
		out[i] = append([]float64(nil), x[i]...)
	}
	return out
}

// TestSteadyTonesMeasureTheDriver: its harmonics are known by the power-reduction identities
// (NIST DLMF section 4.21), and the filters behind it.
func TestSteadyTonesMeasureTheDriver(t *testing.T) {
	long.Skip(t)
	s, r := asked(t, nil)
	for _, f := range r.Findings {
		assert.NotContains(t, string(f.Kind), "part")
	}
	assert.InDelta(t, 0, r.DelayDifference.At(1000), 0.02) // ms; the delay of a filter of 0.4 dB
	assert.InDelta(t, -2, r.TimeDifference.Value, 0.3)     // µs: 38 against 40
	for k, side := range r.Sides() {
		which := []rig.Side{rig.Left, rig.Right}[k]
		further := side.Seatings[0].Further
		require.NotNil(t, further)
		require.Equal(t, 8+4*3-1, len(further.Tones), "1 kHz at −12 dBFS is played once")
		for _, tone := range further.Tones {
			amplitude := math.Pow(10, tone.Played/20)
			harmonic := func(n int) float64 { // as the seating and the plate pass it
				f := float64(n) * tone.Frequency
				passed := s.rig.Truth(s.pair, which, 0, f) / s.pair.Response(which, f, 48000)
				return cmplx.Abs(s.pair.Harmonic(which, n, tone.Frequency, amplitude, 48000) * passed)
			}
			var power float64
			for n := 2; n <= 5; n++ {
				h := harmonic(n) / harmonic(1)
				power += h * h
			}
			truth := 100 * math.Sqrt(power)
			low, high := tone.THD.Interval(0.999)
			if tone.THD.Known() {
				assert.Truef(t, low < truth && truth < high, "%s, %v Hz at %v dBFS: %v, and truth is %.4f %%", side.Name, tone.Frequency, tone.Played, tone.THD, truth)
			} else {
				assert.Less(t, truth, 1.5*tone.THD.Bound)
			}
		}
		require.NotNil(t, further.Levels)
		for _, f := range []float64{100, 1000} {
			points := side.LevelsAt(f)
			require.Len(t, points, 4)
			for _, p := range points[1:] {
				amplitude := func(dBFS float64) float64 {
					return cmplx.Abs(s.pair.ResponseAt(which, f, math.Pow(10, dBFS/20), 48000))
				}
				truth := 20 * math.Log10(amplitude(p.Played)/amplitude(points[0].Played))
				assert.InDelta(t, truth, p.Compression.Value, 5*p.Compression.Uncertainty, "%s, %v Hz", side.Name, f)
			}
		}
		for _, m := range side.MaxLevels {
			if m.Percent == 1 && m.Frequency > 900 && m.Frequency < 1100 {
				assert.ErrorIs(t, m.Err, distortion.ErrNotReached)
				assert.Equal(t, -12.0, m.Played.Value, "the highest that was played")
			}
		}
		require.Equal(t, len(further.Tones), len(side.Further.Tones))
		// Spill of −50 dB, and the right side is 0.4 dB softer: 0.3 dB for filters beside it.
		assert.InDelta(t, []float64{-50.4, -49.6}[k], side.Further.Crosstalk.Level.At(200), 0.3)
		rubBuzz := side.RubBuzz
		require.NotEmpty(t, rubBuzz)
		for _, one := range rubBuzz {
			assert.Zero(t, one.Rattles, "nothing is loose")
		}
		assert.Greater(t, side.AbsolutePolarity.Value, 0.9)
		assert.InDelta(t, 0, side.GroupDelay.At(1000), 0.05) // ms; the delay of the filters themselves
		assert.True(t, further.Modulation.Total.Known())
		assert.True(t, further.Difference.Second.Known())
		assert.False(t, further.Difference.Third.Known(), "21 kHz is beyond what was measured")
	}
}

// The sweep ends at 20 kHz, so a product of 19 and 20 kHz at 21 kHz is not known, but their
// difference is: a claim below it is not met, and a claim above it cannot be judged.
func TestTheSecondOrderAloneExceedsAClaim(t *testing.T) {
	long.Skip(t)
	_, r := asked(t, nil)
	second := r.Left.Further.Difference.Second
	require.True(t, second.Known())
	low, _ := second.Interval(0.999)
	below, above := claim.AtMost{What: claim.Difference, Limit: low / 2}, claim.AtMost{What: claim.Difference, Limit: 50}
	require.NoError(t, r.Judge(review.Criteria{Claims: []claim.Claim{below, above}}))
	assert.Equal(t, claim.NotMet, r.Judgement.Claims[0].Outcome)
	assert.Contains(t, r.Judgement.Claims[0].Reason, "of the second order alone is ")
	assert.Equal(t, claim.CannotTell, r.Judgement.Claims[1].Outcome)
}

// partAt is the first part of a stimulus whose words begin so.
func partAt(st *sweep.Stimulus, words string) sweep.Part {
	for _, p := range st.Parts() {
		if strings.HasPrefix(p.String(), words) {
			return p
		}
	}
	panic(words)
}

// TestPartsThatCannotBeUsedAreNamed: one level clips, two were exchanged, a tone is off frequency,
// another is cut out, and the recorder stopped in the middle of the last two tones. Each is named,
// and the rest measured; the right side was not recorded.
func TestPartsThatCannotBeUsedAreNamed(t *testing.T) {
	long.Skip(t)
	st, recorded := asking()
	const latency = 612 // samples, of the rig
	in := func(x []float64, p sweep.Part) []float64 { return x[p.Start+latency : p.Start+latency+p.Len] }
	exchange := func(x []float64) {
		a, b := in(x, partAt(st, "sweep, both sides at -30")), in(x, partAt(st, "sweep, both sides at -18"))
		for i := range a {
			a[i], b[i] = b[i], a[i]
		}
	}
	s := simulate(t)
	s.stimulus, s.config.Stimulus = st, st
	direct, through := clone(recorded[0]), clone(recorded[1])
	for _, x := range direct {
		exchange(x)
	}
	x := through[0]
	exchange(x)
	for i, v := range in(x, partAt(st, "sweep, both sides at -24")) {
		in(x, partAt(st, "sweep, both sides at -24"))[i] = max(-1, min(1, 40*v))
	}
	clear(in(x, partAt(st, "tone of 250 Hz")))
	for i := range in(x, partAt(st, "tone of 500 Hz")) {
		in(x, partAt(st, "tone of 500 Hz"))[i] = 0.1 * math.Sin(2*math.Pi*500.7*float64(i)/48000) // 1400 ppm, and the recorder's clock is 20 ppm fast
	}
	last := partAt(st, "tones of 19000 Hz")
	x = x[:last.Start+last.Len/2]

	b, err := review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Both(s.recording("direct.wav", direct)))
	require.NoError(t, err)
	p := b.Pair(review.About{Name: s.pair.Name})
	_, err = p.Seat(review.Seating{Channels: review.Channels{Left: review.Channel{Recording: s.recording("left.wav", [][]float64{x})}}})
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)

	said := ""
	for _, f := range r.Findings {
		if f.Recording == "left.wav" {
			said += f.String() + "\n"
		}
	}
	for _, words := range []string{
		"the sweep, both sides at -24 dBFS is left out: it clips",
		"sweep, both sides at -30 dBFS was recorded at the level of the one at -18 dBFS",
		"sweep, both sides at -18 dBFS was recorded at the level of the one at -30 dBFS",
		"the tone of 250 Hz at -12 dBFS is left out",
		"the tone of 500 Hz at -12 dBFS is at 500.71 Hz in the recording, off by +1420 parts per million",
		"the tones of 19000 Hz and 20000 Hz at -12 dBFS is left out: not in the recording whole: it is cut short",
		"lacks the part of the stimulus for crosstalk",
	} {
		assert.Contains(t, said, words)
	}
	require.Nil(t, r.Right)
	further := r.Left.Seatings[0].Further
	assert.Equal(t, 8+4*3-1-1, len(further.Tones), "all but 250 Hz")
	assert.True(t, further.Modulation.Total.Known())
	assert.Nil(t, further.Difference)
	assert.Nil(t, further.Crosstalk)
	var levels []float64
	for _, point := range r.Left.LevelsAt(1000) {
		levels = append(levels, point.Played)
		assert.InDelta(t, 0, point.Compression.Value, 0.1, "dB; each at the level that it was played at")
	}
	assert.Equal(t, []float64{-30, -18, -12}, levels)
}

// TestLevelsAreMatchedByLevelAndAveraged: the first seating lacks a level in the middle, the second
// the lowest one, the third nothing. Every level is the mean of the seatings that hold it, with
// their scatter, and the compression of all is relative to one level.
func TestLevelsAreMatchedByLevelAndAveraged(t *testing.T) {
	long.Skip(t)
	st, recorded := asking()
	s := simulate(t)
	s.stimulus, s.config.Stimulus = st, st
	b, err := review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Both(s.recording("direct.wav", clone(recorded[0]))))
	require.NoError(t, err)
	pair, _, bench := rig.Demonstration()
	bench.Drift, bench.Microphone = 20, nil
	p := b.Pair(review.About{Name: pair.Name})
	for i, lacking := range []string{"sweep, both sides at -24", "sweep, both sides at -30", ""} {
		x := bench.Through(pair, i, st.Channels())
		if lacking != "" {
			const latency = 612 // samples, of the rig
			part := partAt(st, lacking)
			for _, channel := range x {
				for k := range channel[part.Start+latency : part.Start+latency+part.Len] {
					v := &channel[part.Start+latency+k]
					*v = max(-1, min(1, 100**v)) // it clips
				}
			}
		}
		_, err = p.Seat(review.Seating{Channels: review.Both(s.recording(lacking+".wav", x))})
		require.NoError(t, err)
	}
	r, err := p.Measure()
	require.NoError(t, err)
	for k, side := range r.Sides() {
		which := []rig.Side{rig.Left, rig.Right}[k]
		points := side.LevelsAt(1000)
		require.Len(t, points, 4)
		for i, played := range []float64{-30, -24, -18, -12} {
			assert.Equal(t, played, points[i].Played)
			var sum, square, count float64
			for _, seating := range side.Seatings {
				for _, at := range seating.Further.Levels.At(1000) {
					if at.Played == played {
						v := at.THD.Value
						sum, square, count = sum+v, square+v*v, count+1
					}
				}
			}
			assert.Equal(t, []float64{2, 2, 3, 3}[i], count)
			if thd := points[i].THD; thd.Known() {
				mean := sum / count
				assert.InDelta(t, mean, thd.Value, 1e-9, "%; the arithmetic mean (JCGM 100:2008, 4.2.1); rounding")
				own, scatter := thd.Budget[0], math.Sqrt((square-count*mean*mean)/(count*(count-1)))
				if own.DegreesOfFreedom > 0 {
					assert.InEpsilon(t, scatter, math.Sqrt(own.Variance()), 1e-6, "4.2.3; rounding")
					assert.Equal(t, count-1, own.DegreesOfFreedom)
				} else { // two or three seatings agree by chance, better than their noise lets them
					student := map[float64]float64{2: 12.706, 3: 4.303}[count] // a table of Student's t
					assert.Greater(t, 1.96*math.Sqrt(own.Variance()), student*scatter, "the wider interval")
				}
				assert.Greater(t, thd.Uncertainty, math.Sqrt(own.Variance()), "the interface's distortion is common to all")
			}
			amplitude := func(dBFS float64) float64 {
				return cmplx.Abs(s.pair.ResponseAt(which, 1000, math.Pow(10, dBFS/20), 48000))
			}
			truth := 20 * math.Log10(amplitude(played)/amplitude(-30))
			assert.InDelta(t, truth, points[i].Compression.Value, 0.03, "dB; noise of the lowest level")
			own := func(seating int) float64 {
				return side.Seatings[seating].Further.Levels.Compression(played).At(1000)
			}
			mean := []float64{0, own(2), (own(0) + own(2)) / 2, (own(0) + own(2)) / 2}[i] // those that hold both levels
			assert.InDelta(t, mean, points[i].Compression.Value, 1e-9)
			assert.InDelta(t, mean, side.Compression(played).At(1000), 1e-9)
		}
		var total float64
		for _, seating := range side.Seatings {
			total += seating.Further.Modulation.Total.Value / 3
		}
		assert.InDelta(t, total, side.Further.Modulation.Total.Value, 1e-9, "%; of all seatings")
		assert.Len(t, side.Further.Tones, 8+4*3-1)
		assert.Equal(t, 2.0, side.Further.Tones[5].THD.Budget[0].DegreesOfFreedom)
	}
}

// TestFurtherPartsAreMeasuredWhenSeated seats the two sides of one recording one after the other.
// Seat measures their parts, and the recording need not be kept; Measure may be called again.
func TestFurtherPartsAreMeasuredWhenSeated(t *testing.T) {
	long.Skip(t)
	_, both := asked(t, nil)
	st, recorded := asking()
	s := simulate(t)
	s.stimulus, s.config.Stimulus = st, st
	b, err := review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Both(s.recording("direct.wav", clone(recorded[0]))))
	require.NoError(t, err)
	p := b.Pair(review.About{Name: s.pair.Name})
	through := s.recording("first.wav", clone(recorded[1]))
	for _, c := range []review.Channels{{Left: review.Channel{Recording: through, Number: 1}}, {Right: review.Channel{Recording: through, Number: 2}}} {
		_, err = p.Seat(review.Seating{Channels: c})
		require.NoError(t, err)
	}
	through.Channels = nil
	for range 2 {
		r, err := p.Measure()
		require.NoError(t, err)
		for i, side := range r.Sides() {
			want := both.Sides()[i]
			assert.Equal(t, want.Response().At(1000), side.Response().At(1000))
			assert.InDelta(t, want.Response().UncertaintyAt(1000), side.Response().UncertaintyAt(1000), 1e-9)
			assert.Equal(t, want.Further.Tones[3].THD.Value, side.Further.Tones[3].THD.Value)
			assert.Equal(t, want.LevelsAt(1000)[3].THD.Value, side.LevelsAt(1000)[3].THD.Value)
			assert.Equal(t, want.LevelsAt(1000)[1].Compression, side.LevelsAt(1000)[1].Compression)
			assert.NotNil(t, side.Further.Crosstalk)
		}
	}
}

// The error of a microphone is correlated over an octave, and the many tones span ten. So it
// changes the power of all tones little. It changes a band relative to all tones about as much as
// the band alone, and not √2 times as much, as with one tone relative to another.
func TestManyTonesSetTheirOwnReference(t *testing.T) {
	long.Skip(t)
	st, recorded := asking()
	bands := func(stated ...review.Stated) (all []response.Figure) {
		s := simulate(t)
		s.config.Stimulus, s.config.Stated = st, stated
		b, err := review.New(s.config)
		require.NoError(t, err)
		_, err = b.Direct(review.Both(s.recording("direct.wav", clone(recorded[0]))))
		require.NoError(t, err)
		p := b.Pair(review.About{Name: s.pair.Name})
		_, err = p.Seat(review.Seating{Channels: review.Both(s.recording("first.wav", clone(recorded[1])))})
		require.NoError(t, err)
		r, err := p.Measure()
		require.NoError(t, err)
		many := r.Left.Further.Many
		for _, band := range many.Bands {
			all = append(all, band.Distortion.Figure)
		}
		return append(all, many.Total.Distortion.Figure)
	}
	const u = 0.5 // dB
	sure, unsure := bands(review.Stated{Name: "microphone", Uncertainty: 0}), bands(review.Stated{Name: "microphone", Uncertainty: u})
	require.Equal(t, len(sure), len(unsure))
	compared := 0
	for i := range sure {
		if !sure[i].Known() {
			continue
		}
		compared++
		added := math.Sqrt(math.Pow(unsure[i].Uncertainty, 2) - math.Pow(sure[i].Uncertainty, 2))
		if i == len(sure)-1 {
			assert.Less(t, added, 0.8*u, "all bands together")
			continue
		}
		assert.InDelta(t, u, added, 0.25*u, "the mean of tones over ten octaves has a tenth of the variance, and the part correlated within a band")
	}
	assert.Greater(t, compared, 3)
}
