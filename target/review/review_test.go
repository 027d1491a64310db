package review_test

import (
	"fmt"
	"io/fs"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// simulation is an invented pair on an invented rig, whose answer is known.
type simulation struct {
	*testing.T
	pair     rig.Headphones
	rivals   []rig.Headphones
	rig      rig.Rig
	stimulus *sweep.Stimulus
	config   review.Config
}

func simulate(t *testing.T) *simulation {
	st, err := played()
	require.NoError(t, err)
	out := &simulation{T: t, stimulus: st}
	out.pair, out.rivals, out.rig = rig.Demonstration()
	out.rig.Microphone = nil
	out.config = review.Config{Stimulus: st, Rig: out.rig.Name}
	return out
}

func (s *simulation) recording(name string, channels [][]float64) *capture.Recording {
	return &capture.Recording{Name: name, SampleRate: s.rig.SampleRate, Format: capture.Format{Bits: 24}, Channels: channels}
}

// played is the stimulus of simulate; its recordings are simulated once for all tests, which do not
// write into them.
var played = sync.OnceValues(func() (*sweep.Stimulus, error) {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	if err != nil {
		return nil, err
	}
	return sweep.NewStimulus(sweep.StimulusConfig{Sweep: s})
})

var usual = sync.OnceValue(func() [][][]float64 {
	st, _ := played()
	pair, _, r := rig.Demonstration()
	r.Microphone = nil
	recorded := [][][]float64{r.Direct(st.Channels())}
	for i := range 3 {
		recorded = append(recorded, r.Through(pair, i, st.Channels()))
	}
	return recorded
})

func (s *simulation) direct() *capture.Recording {
	if st, _ := played(); s.stimulus == st {
		return s.recording("direct.wav", slices.Clone(usual()[0]))
	}
	return s.recording("direct.wav", s.rig.Direct(s.stimulus.Channels()))
}

func (s *simulation) through(i int) *capture.Recording {
	name := []string{"first.wav", "second.wav", "third.wav"}[i]
	if st, _ := played(); s.stimulus == st {
		return s.recording(name, slices.Clone(usual()[1+i]))
	}
	return s.recording(name, s.rig.Through(s.pair, i, s.stimulus.Channels()))
}

// bench has its direct recording.
func (s *simulation) bench() *review.Bench {
	b, err := review.New(s.config)
	require.NoError(s, err)
	_, err = b.Direct(review.Both(s.direct()))
	require.NoError(s, err)
	return b
}

// seated has three seatings, of which spoil may change one.
func (s *simulation) seated(b *review.Bench, spoil func(i int, r *capture.Recording)) (*review.Pair, error) {
	p := b.Pair(review.About{Name: s.pair.Name})
	var seatings []review.Seating
	for i := range 3 {
		r := s.through(i)
		spoil(i, r)
		seatings = append(seatings, review.Seating{Channels: review.Both(r)})
	}
	_, err := p.Seat(seatings...)
	return p, err
}

func asItIs(int, *capture.Recording) {}

// truth is the level of the pair alone in dB, the mean over seatings.
func (s *simulation) truth(side rig.Side, f float64, seatings ...int) float64 {
	var sum float64
	for _, i := range seatings {
		sum += 20 * math.Log10(cmplx.Abs(s.rig.Truth(s.pair, side, i, f)))
	}
	return sum / float64(len(seatings))
}

const nearTruth = 0.5 // dB; smoothing over 1/12 octave flattens the ripple of the plate's reflection

func (s *simulation) checkSides(r *review.Results, seatings ...int) {
	require.Len(s, r.Sides(), 2)
	for k, side := range r.Sides() {
		require.Len(s, side.Seatings, len(seatings))
		for _, f := range []float64{50, 200, 1000, 4000, 12000} {
			assert.InDelta(s, s.truth([]rig.Side{rig.Left, rig.Right}[k], f, seatings...), side.Response().At(f), nearTruth, "dB, %s, %v Hz", side.Name, f)
		}
	}
}

func TestBothSidesAreThoseOfThePair(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	s.config.Uncertainty = 0.3
	p, err := s.seated(s.bench(), asItIs)
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	s.checkSides(r, 0, 1, 2)
	assert.Equal(t, 3, r.Seatings)
	for _, f := range []float64{200, 1000, 4000} {
		left, right := s.truth(rig.Left, f, 0, 1, 2), s.truth(rig.Right, f, 0, 1, 2)
		assert.InDelta(t, (left+right)/2, r.Mean.At(f), nearTruth, "dB, %v Hz", f)
		assert.InDelta(t, left-right, r.Difference.At(f), nearTruth, "dB, %v Hz", f)
	}
	half := r.Left.Response().HalfWidth(0.95)
	require.Len(t, half, len(r.Left.Response().Frequency))
	for i, h := range half {
		if !math.IsNaN(h) {
			assert.GreaterOrEqual(t, h, 1.95*0.3, "dB at point %d; the rig's alone, normal", i)
		}
	}
	amplitude := math.Pow(10, -12.0/20)
	second := cmplx.Abs(s.rig.Harmonic(s.pair, rig.Left, 0, 2, 100, amplitude)) / cmplx.Abs(s.rig.Harmonic(s.pair, rig.Left, 0, 1, 100, amplitude))
	assert.InDelta(t, 20*math.Log10(second), r.Left.Seatings[0].Harmonics.Harmonic(2, 100).AsRead, 0.3, "dB; noise and seating")
	mean, difference, err := r.PerSeating()
	require.NoError(t, err)
	assert.Len(t, mean, 3)
	assert.Len(t, difference, 3)
}

// A recording that is not fit is left out and named, for every kind of fault, and the rest is
// measured.
func TestABadSeatingOfThreeIsLeftOut(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	b := s.bench()
	silence := func(c [][]float64) [][]float64 {
		return [][]float64{make([]float64, len(c[0])), make([]float64, len(c[0]))}
	}
	for i, c := range []struct {
		name  string
		spoil func([][]float64) [][]float64
	}{
		{"clipped", func(c [][]float64) [][]float64 { return rig.Clip(c, 12) }},
		{"samples missing", func(c [][]float64) [][]float64 { return rig.DropBlock(c, len(c[0])/2, 400) }},
		{"silent", silence},
		{"sides swapped", rig.Swap},
		{"cut off", func(c [][]float64) [][]float64 { return rig.CutTail(c, len(c[0])/2) }},
		{"something else", func(c [][]float64) [][]float64 { return rig.Music(48000, 4, 1) }},
		{"no samples", func(c [][]float64) [][]float64 { return [][]float64{{}, {}} }},
	} {
		if !long.Enabled() && i > 2 {
			break
		}
		t.Run(c.name, func(t *testing.T) {
			s := &simulation{t, s.pair, s.rivals, s.rig, s.stimulus, s.config}
			p, err := s.seated(b, func(i int, r *capture.Recording) {
				if i == 1 {
					r.Channels = c.spoil(r.Channels)
				}
			})
			require.ErrorIs(t, err, fitness.ErrUnfit)
			assert.ErrorContains(t, err, "second.wav")
			assert.NotContains(t, err.Error(), "first.wav: ")
			r, err := p.Measure()
			require.NoError(t, err)
			s.checkSides(r, 0, 2)
			assert.Equal(t, []string{"seating 2"}, r.Left.LeftOut)
			assert.Contains(t, r.Notes, "left side: left out because its recording is not fit to use: seating 2.")
		})
	}
}

func TestNothingFitIsAnError(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	clip := func(_ int, r *capture.Recording) { r.Channels = rig.Clip(r.Channels, 12) }
	p, err := s.seated(s.bench(), clip)
	require.ErrorIs(t, err, fitness.ErrUnfit)
	_, err = p.Measure()
	require.ErrorIs(t, err, fitness.ErrUnfit)
	assert.ErrorContains(t, err, "the left side: ")
	assert.ErrorContains(t, err, "clips")

	s.config.UseUnfit = true
	p, err = s.seated(s.bench(), clip)
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	assert.Len(t, r.Left.Seatings, 3)
	assert.NotEmpty(t, r.Findings)
}

// A driver that is dead, or an input that clips, does not spoil the other side of its recordings.
func TestOneUnfitSideIsLeftOut(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	for name, spoil := range map[string]func(x []float64, seed uint64) []float64{
		"clips": func(x []float64, _ uint64) []float64 { return rig.Clip([][]float64{x}, 12)[0] },
		"holds nothing but noise": func(x []float64, seed uint64) []float64 {
			random, noise := rand.New(rand.NewPCG(seed, 1)), make([]float64, len(x))
			for i := range noise {
				noise[i] = 2e-4 * random.NormFloat64()
			}
			return noise
		},
	} {
		b := s.bench()
		for _, all := range []bool{false, true} {
			p, err := s.seated(b, func(i int, r *capture.Recording) {
				if all || i == 1 {
					r.Channels = [][]float64{r.Channels[0], spoil(r.Channels[1], uint64(i))}
				}
			})
			require.ErrorIs(t, err, fitness.ErrUnfit)
			assert.ErrorContains(t, err, name)
			r, err := p.Measure()
			require.NoError(t, err)
			assert.Len(t, r.Left.Seatings, 3, name)
			if !all {
				assert.Len(t, r.Right.Seatings, 2, name)
				continue
			}
			assert.Nil(t, r.Right)
			lost := found(r.Findings, review.Unusable)
			require.Len(t, lost, 1)
			assert.Contains(t, lost[0].What, "the right side is not known")
		}
	}
}

func TestAnUnfitDirectRecordingIsRefused(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	b, err := review.New(s.config)
	require.NoError(t, err)
	assert.Panics(t, func() { b.Pair(review.About{}) }, "the direct recording comes first")
	findings, err := b.Direct(review.Both(s.recording("direct.wav", rig.Clip(s.direct().Channels, 12))))
	require.ErrorIs(t, err, fitness.ErrUnfit)
	assert.ErrorContains(t, err, "the direct recording: ")
	assert.NotEmpty(t, findings)
	_, err = b.Direct(review.Channels{})
	assert.ErrorContains(t, err, "needs a channel for each side")
}

// An interface of four inputs records four channels. The two without a cable are silent or hum.
func TestChannelsWithoutACable(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	four := func(r *capture.Recording) review.Channels {
		silent := make([]float64, r.Len())
		hum := rig.AddHum([][]float64{silent}, rig.Hum{Frequency: 50, Level: -20}, r.SampleRate)[0]
		r.Channels = [][]float64{silent, r.Channels[0], hum, r.Channels[1]}
		return review.Channels{Left: review.Channel{Recording: r, Number: 2}, Right: review.Channel{Recording: r, Number: 4}}
	}
	b, err := review.New(s.config)
	require.NoError(t, err)
	findings, err := b.Direct(four(s.direct()))
	require.NoError(t, err)
	p := b.Pair(review.About{})
	more, err := p.Seat(review.Seating{Channels: four(s.through(0))})
	require.NoError(t, err)
	for _, f := range slices.Concat(findings, more) {
		assert.Contains(t, []int{2, 4}, f.Channel, "%v", f)
	}
	r, err := p.Measure()
	require.NoError(t, err)
	s.checkSides(r, 0)

	// One microphone records the cups in turn, and the recorder writes two channels.
	one := s.through(1)
	one.Channels[0] = slices.Clone(one.Channels[0])
	for i, v := range one.Channels[1] {
		one.Channels[0][i] += v
	}
	one.Channels[1] = make([]float64, one.Len())
	in := review.Channel{Recording: one, Number: 1}
	more, err = b.Pair(review.About{}).Seat(review.Seating{Channels: review.Channels{Left: in, Right: in}})
	require.NoError(t, err)
	assert.Empty(t, found(more, fitness.SilentChannel))
}

// The panic comes from the caller's own goroutine, where it can be caught.
func TestChannelsOfUnequalLengthsPanic(t *testing.T) {
	s := simulate(t)
	b, err := review.New(s.config)
	require.NoError(t, err)
	unequal := s.direct()
	unequal.Channels = [][]float64{unequal.Channels[0], unequal.Channels[1][1:]}
	assert.PanicsWithValue(t, "review: the channels of direct.wav differ in length", func() { _, _ = b.Direct(review.Both(unequal)) })
}

func TestImpossibleConfigurations(t *testing.T) {
	s := simulate(t)
	for says, change := range map[string]func(*review.Config){
		"the uncertainty is -1 dB": func(c *review.Config) { c.Uncertainty = -1 },
		"uncertainty is NaN dB":    func(c *review.Config) { c.Uncertainty = math.NaN() },
		"a highest frequency of":   func(c *review.Config) { c.MaxFrequency = math.NaN() },
		"20 Hz–100 Hz": func(c *review.Config) {
			m := level.Calibration{Response: response.Curve{Frequency: []float64{20, 100}, Level: []float64{0, 0}, Valid: response.Band{Low: 20, High: 100}}}
			c.Microphone, c.Calibrator = &m, &level.Calibrator{Level: 94, Frequency: 1000}
		},
	} {
		c := s.config
		change(&c)
		_, err := review.New(c)
		assert.ErrorContains(t, err, says)
	}
	p := s.bench().Pair(review.About{Name: "Wren"})
	_, err := p.Seat(review.Seating{})
	assert.ErrorContains(t, err, "seating 1 has no recording")
	_, err = p.Measure()
	assert.ErrorContains(t, err, "Wren has no seating")
	assert.ErrorContains(t, p.Play(review.Material{Name: "tune"}), "tune needs two recordings")
}

// A single side, and sides that share no seating, have all results that do not need both sides in
// one seating.
func TestOneSideOnly(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	b := s.bench()
	for _, side := range []string{"left", "right"} {
		p := b.Pair(review.About{Name: s.pair.Name})
		c, of := review.Both(s.through(0)), rig.Left
		if side == "left" {
			c.Right = review.Channel{}
		} else {
			c.Left, of = review.Channel{}, rig.Right
		}
		_, err := p.Seat(review.Seating{Name: "only", Channels: c})
		require.NoError(t, err)
		r, err := p.Measure()
		require.NoError(t, err)
		require.Len(t, r.Sides(), 1)
		assert.Equal(t, side, r.Sides()[0].Name)
		assert.InDelta(t, s.truth(of, 1000, 0), r.Mean.At(1000), nearTruth, "dB")
		assert.Empty(t, r.Difference.Level)
		require.NoError(t, r.Judge(review.Criteria{}))
		assert.Nil(t, r.Judgement.Difference)
		for i, half := range r.Sides()[0].Response().HalfWidth(0.95) { // 70 dB of signal-to-noise ratio, two of them
			if assert.Greater(t, half, 0.0, "one seating: its noise and its window are known"); i > 0 {
				assert.Less(t, half, 0.2, "dB")
			}
		}
		assert.Contains(t, r.NotIncluded[0], "the scatter of seatings: the "+side+" side has only one")
	}

	p := b.Pair(review.About{Name: s.pair.Name})
	_, err := p.Seat(
		review.Seating{Channels: review.Channels{Left: review.Channel{Recording: s.through(0)}}},
		review.Seating{Channels: review.Channels{Right: review.Channel{Recording: s.through(1), Number: 2}}})
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	mean, difference, err := r.PerSeating()
	require.NoError(t, err)
	assert.Len(t, mean, 1)
	assert.Len(t, difference, 1)
}

// A bench serves several pairs at once, and each gets what it would get alone.
func TestManyPairsAtOnce(t *testing.T) {
	s := simulate(t)
	b := s.bench()
	levels := make([]float64, 4)
	var wait sync.WaitGroup
	for i := range levels {
		wait.Go(func() {
			p := b.Pair(review.About{Name: s.pair.Name})
			if _, err := p.Seat(review.Seating{Channels: review.Both(s.through(i % 2))}); err != nil {
				return
			}
			if r, err := p.Measure(); err == nil {
				levels[i] = r.Mean.At(1000)
			}
		})
	}
	wait.Wait()
	assert.NotZero(t, levels[0])
	assert.Equal(t, levels[0], levels[2])
	assert.Equal(t, levels[1], levels[3])
}

// The error of the microphone is subtracted, and results outside its range are not known. The drift
// of the recorder's clock is corrected, and a disturbed repeat is left out.
func TestMicrophoneClockAndRepeats(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	sw, err := sweep.New(sweep.Config{Duration: time.Second, Level: -12})
	require.NoError(t, err)
	s.stimulus, err = sweep.NewStimulus(sweep.StimulusConfig{Sweep: sw, Repeats: 3})
	require.NoError(t, err)
	s.rig.Drift = 40
	s.rig.Microphone = []rig.Filter{rig.HighShelf(3000, 0.7, 4)}
	var frequency, reads []float64
	for _, f := range response.LogGrid(20, 20000, 12) {
		frequency = append(frequency, f)
		reads = append(reads, 20*math.Log10(cmplx.Abs(s.rig.Microphone[0].Response(f, 48000))))
	}
	microphone := level.Calibration{Findings: []response.Finding{{What: "its uncertainty is not stated"}}, Response: response.Curve{
		Frequency: frequency, Level: reads, Valid: response.Band{Low: 20, High: 20000}}}
	s.config = review.Config{Stimulus: s.stimulus, Rig: s.rig.Name, MaxFrequency: 10000, Microphone: &microphone, SubtractInterface: true, Uncertainty: 0.2}
	b := s.bench()
	flat := b.Flat("stands in", 2)
	require.Len(t, flat.Seatings, 2)
	assert.Equal(t, 10000.0, flat.Seatings[0].Valid.High)
	p, err := s.seated(b, func(i int, r *capture.Recording) {
		if i == 0 { // a knock in the second repeat
			second := s.stimulus.Sweeps(sweep.Left)[1]
			r.Channels[0] = slices.Clone(r.Channels[0])
			for k, v := range noise(9, 0.02, 1)[:4800] {
				r.Channels[0][second.Start+second.Len/2+k] += v
			}
		}
	})
	if err != nil { // a knock may be worse than this
		require.ErrorIs(t, err, fitness.ErrUnfit)
	}
	r, err := p.Measure()
	require.NoError(t, err)
	truth := s.rig
	truth.Microphone = nil
	for k, side := range r.Sides() {
		for _, f := range []float64{100, 1000, 8000} {
			var sum float64
			for i := range side.Seatings {
				sum += 20 * math.Log10(cmplx.Abs(truth.Truth(s.pair, []rig.Side{rig.Left, rig.Right}[k], i, f)))
			}
			assert.InDelta(t, sum/float64(len(side.Seatings)), side.Response().At(f), nearTruth, "dB, %s, %v Hz", side.Name, f)
		}
		assert.True(t, math.IsNaN(side.Response().At(12000)), "above 10 kHz the microphone is not known")
	}
	assert.Equal(t, distortion.RigSubtracted, r.Left.Seatings[0].Harmonics.Rig)
	notes := strings.Join(r.Notes, "\n")
	assert.Contains(t, notes, "parts per million")
	assert.Contains(t, notes, "microphone: its uncertainty is not stated.")
	measured := target.Flat()
	require.NoError(t, r.Judge(review.Criteria{Target: &measured}))
	assert.False(t, r.Judgement.NoTarget)
	assert.NotEmpty(t, r.Judgement.Mean.Uncertainty)
}

// Without timing marks the clocks are not compared, and a finding says so.
func TestWithoutMarks(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	var err error
	s.stimulus, err = sweep.NewStimulus(sweep.StimulusConfig{Sweep: s.stimulus.Sweep(), Unmarked: true})
	require.NoError(t, err)
	s.config.Stimulus = s.stimulus
	p, err := s.seated(s.bench(), asItIs)
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	s.checkSides(r, 0, 1, 2)
	assert.Contains(t, strings.Join(r.Notes, "\n"), "first.wav: the clocks of player and recorder could not "+
		"be compared")
}

// A missing channel is named, wherever it is used.
func TestMissingChannels(t *testing.T) {
	long.Skip(t)
	s := simulate(t)
	b := s.bench()
	p := b.Pair(review.About{Name: "Wren"})
	wrong := review.Channel{Recording: s.through(0), Number: 9}
	for _, number := range []int{9, -1} {
		p := b.Pair(review.About{Name: "Wren"})
		_, err := p.Seat(review.Seating{Channels: review.Channels{Left: review.Channel{Recording: s.through(0), Number: number}}})
		if err == nil {
			_, err = p.Measure()
		}
		require.ErrorIs(t, err, capture.ErrChannel)
	}
	right := review.Channel{Recording: s.through(0)}
	for _, err := range []error{
		p.Impedance(review.ImpedanceRecordings{Source: wrong, Load: right}),
		p.Impedance(review.ImpedanceRecordings{Source: right, Load: wrong}),
		p.Isolation(wrong, right, right),
	} {
		assert.ErrorIs(t, err, capture.ErrChannel)
	}
	for _, m := range []review.Material{{Name: "tune", Direct: wrong, Through: right}, {Name: "tune", Direct: right, Through: wrong}} {
		p := b.Pair(review.About{Name: "Wren"})
		_, err := p.Seat(review.Seating{Channels: review.Both(s.through(0))})
		require.NoError(t, err)
		require.NoError(t, p.Play(m))
		r, err := p.Measure()
		require.NoError(t, err)
		assert.ErrorIs(t, r.Programmes[0].Refused, capture.ErrChannel, "the rest of the review goes on")
	}
	s.config.CalibratorTone, s.config.Calibrator = wrong, &level.Calibrator{Level: 94, Frequency: 1000}
	b, err := review.New(s.config)
	require.NoError(t, err)
	findings, err := b.Direct(review.Both(s.direct()))
	require.NoError(t, err, "without the calibrator nothing is known in dB SPL")
	require.Len(t, found(findings, review.Unusable), 1)
	assert.Contains(t, findings[0].What, "cannot be used, so nothing is known in dB SPL: no channel 9")
}

// A recording that could not be read is left out like an unfit one, and the results that need it
// are not known.
func TestWhatCannotBeReadIsLeftOut(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	gone := func(name string) review.Channel {
		return review.Channel{Recording: &capture.Recording{Name: name}, Err: fmt.Errorf("capture: %s: %w", name, fs.ErrNotExist)}
	}
	b, err := review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Channels{Left: gone("direct.wav"), Right: gone("direct.wav")})
	require.ErrorIs(t, err, fs.ErrNotExist)
	s.config.CalibratorTone, s.config.Calibrator = gone("calibrator.wav"), &level.Calibrator{Level: 94, Frequency: 1000}
	b, err = review.New(s.config)
	require.NoError(t, err)
	_, err = b.Direct(review.Both(s.direct()))
	require.NoError(t, err)
	p := b.Pair(review.About{Name: s.pair.Name})
	_, err = p.Seat(review.Seating{Channels: review.Both(s.through(0))},
		review.Seating{Channels: review.Channels{Left: gone("second.wav"), Right: gone("second.wav")}}, review.Seating{Channels: review.Both(s.through(2))})
	require.ErrorIs(t, err, fitness.ErrUnfit)
	require.ErrorIs(t, err, fs.ErrNotExist)
	tune := review.Channel{Recording: s.through(1)}
	require.NoError(t, p.Play(review.Material{Name: "tune", Direct: tune, Through: gone("tune.wav")}))
	assert.ErrorIs(t, p.Impedance(review.ImpedanceRecordings{Source: gone("impedance.wav"), Load: gone("impedance.wav")}), fs.ErrNotExist)
	assert.ErrorIs(t, p.Isolation(tune, gone("covered.wav"), review.Channel{}), fs.ErrNotExist)
	assert.Error(t, p.SoundLeakage(tune, tune, response.Figure{}), "without a calibrator")
	r, err := p.Measure()
	require.NoError(t, err)
	s.checkSides(r, 0, 2)
	assert.Equal(t, []string{"seating 2"}, r.Left.LeftOut)
	assert.ErrorIs(t, r.Programmes[0].Refused, fs.ErrNotExist)
	assert.Nil(t, r.Sound)
	assert.Nil(t, r.Impedance)
	var named []string
	for _, f := range found(r.Findings, review.Unusable) {
		named = append(named, f.Recording)
	}
	assert.Equal(t, []string{"calibrator.wav", "second.wav", "impedance.wav", "covered.wav", "second.wav"}, named, "each once")
}

// Recordings at two rates are not compared.
func TestTwoRates(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	p := s.bench().Pair(review.About{Name: s.pair.Name})
	a, other := s.recording("open.wav", rig.Music(48000, 1, 1)), s.recording("covered.wav", rig.Music(48000, 1, 1))
	other.SampleRate = 44100
	assert.ErrorContains(t, p.Isolation(review.Channel{Recording: a}, review.Channel{Recording: other}, review.Channel{}), "48000 Hz, another at 44100 Hz")
}

// The uncertainty of the rig is listed among the components of every figure.
func TestUncertaintyOfTheRigIsNamed(t *testing.T) {
	race.Skip(t)
	s := simulate(t)
	s.config.MaxFrequency, s.config.Uncertainty = 10000, 0.5
	p, err := s.seated(s.bench(), asItIs)
	require.NoError(t, err)
	r, err := p.Measure()
	require.NoError(t, err)
	require.NoError(t, r.Judge(review.Criteria{}))
	assert.InDelta(t, 10000, r.Judgement.Mean.Band.High, 150, "Hz; the last point below, 48 to an octave")
	assert.Contains(t, r.Judgement.Mean.Uncertainty, "rig, scatter of seatings")
	assert.NotContains(t, r.NotIncluded, "the microphone’s calibration", "it is in the rig's")
	assert.Contains(t, r.NotIncluded, "the difference between samples of the model")
}
