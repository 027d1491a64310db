package fitness_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// tape is a recording that is being made, with the recorder left running: the rig simulates each
// play, so the beginning of each is known.
type tape struct {
	*trial
	layout   func(played [][]float64) [][]float64 // the recorded channels
	channels int
	long     [][]float64
	starts   []int // of the stimulus, in samples
	stops    []int // the sample at which it was stopped, or 0
}

var tapesOfEach = flag.Int("tapes", 1, "random long recordings of each kind")

// tapes are the ways of recording.
var tapes = []struct {
	name     string
	channels int
}{{"a microphone in each ear", 2}, {"one microphone on the left", 1}, {"one microphone on the right", 1}, {"both sides in one channel", 1}, {"direct and through by turns", 2}}

func tapeOf(t testing.TB, seed uint64, way int, unmarked bool) *tape {
	d := newTrial(seed, trialStimulus(t, unmarked), true)
	n := 0
	tp := &tape{trial: d, channels: tapes[way].channels, long: make([][]float64, tapes[way].channels)}
	tp.layout = func(played [][]float64) [][]float64 {
		n++
		switch way {
		case 1:
			return d.rig.Single(d.headphones, rig.Left, n, played)
		case 2:
			return d.rig.Single(d.headphones, rig.Right, n, played)
		case 3:
			both := d.rig.Through(d.headphones, n, played)
			for i, v := range both[1] {
				both[0][i] += v
			}
			return both[:1]
		case 4:
			if n%2 == 1 {
				return d.rig.Direct(played)
			}
		}
		return d.rig.Through(d.headphones, n, played)
	}
	return tp
}

// wait records a number of seconds of noise, talk or knocks.
func (tp *tape) wait(seconds float64, talk bool) {
	n := int(seconds * float64(tp.rate))
	gap := make([][]float64, tp.channels)
	for k := range gap {
		gap[k] = make([]float64, n)
		for i := range gap[k] {
			gap[k][i] = 1e-5 * tp.random.NormFloat64()
		}
	}
	if talk && seconds > 1 {
		voice := rig.Speech(tp.rate, seconds, tp.random.Uint64())
		for k := range gap {
			for i := range min(n, len(voice[0])) {
				gap[k][i] += voice[0][i]
			}
			for range 3 {
				gap[k][tp.random.IntN(n)] += tp.between(-0.5, 0.5)
			}
		}
	}
	tp.add(gap)
}

func (tp *tape) add(part [][]float64) {
	for k := range tp.long {
		tp.long[k] = append(tp.long[k], part[k]...)
	}
}

// play records the stimulus at a gain in dB. It stops before sample upTo of the stimulus, or at its
// end if upTo is 0.
func (tp *tape) play(gain float64, upTo int) {
	played := tp.stimulus.Channels()
	stop := 0
	if upTo > 0 {
		for k := range played {
			played[k] = played[k][:upTo:upTo]
		}
		stop = len(tp.long[0]) + int(tp.rig.Latency) + upTo
	}
	part := tp.layout(played)
	for _, x := range part {
		for i := range x {
			x[i] *= math.Pow(10, gain/20)
		}
	}
	tp.starts, tp.stops = append(tp.starts, len(tp.long[0])+int(tp.rig.Latency)), append(tp.stops, stop)
	tp.add(part)
}

func (tp *tape) recording() *capture.Recording {
	return &capture.Recording{Name: "evening.wav", SampleRate: tp.rate, Format: capture.Format{Bits: 24}, Channels: tp.long}
}

// Random gaps, gains, talk, and plays that were stopped: each is found where it was played, and cut
// out so that it can be used.
func TestPlaysAreFoundWhereTheyWerePlayed(t *testing.T) {
	long.Skip(t)
	for way, w := range tapes {
		for _, unmarked := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, marks %v", w.name, !unmarked), func(t *testing.T) {
				for seed := range uint64(*tapesOfEach) {
					checkTape(t, 100*uint64(way)+seed, way, unmarked)
				}
			})
		}
	}
}

// firstHeard returns the side of the first sweep in a way of recording.
func firstHeard(way int) sweep.Side {
	if way == 2 {
		return sweep.Right
	}
	return sweep.Left
}

func checkTape(t *testing.T, seed uint64, way int, unmarked bool) {
	tp := tapeOf(t, seed, way, unmarked)
	random := rand.New(rand.NewPCG(seed, 3))
	earliest := 0.15 // a part shorter than two pieces is not found
	if unmarked {
		earliest = 0.7
	}
	tp.wait(3*random.Float64(), random.IntN(2) == 0)
	for range 1 + random.IntN(5) {
		stop := 0
		if random.IntN(4) == 0 { // in the first recorded sweep; without a mark, not so early that it cannot be found
			first := tp.stimulus.Sweeps(firstHeard(way))[0]
			stop = first.Start + int((earliest+(0.8-earliest)*random.Float64())*float64(first.Len))
		}
		tp.play(20*random.Float64()-20, stop)
		tp.wait(6*random.Float64(), random.IntN(2) == 0)
	}
	name := fmt.Sprintf("seed %d", seed)
	plays, err := playsOf(tp.recording(), tp.stimulus)
	require.NoError(t, err, name)
	require.Len(t, plays, len(tp.starts), name)
	fs := float64(tp.rate)
	for i, p := range plays {
		start := p.Start
		if sides := float64(tp.stimulus.Sweeps(sweep.Right)[0].Start-tp.stimulus.Sweeps(sweep.Left)[0].Start) / fs; way == 2 && unmarked &&
			math.Abs(start-sides-float64(tp.starts[i])/fs) < 0.005 { // without a recording of the left side it cannot be recognised as the right side
			start -= sides
		}
		assert.InDelta(t, float64(tp.starts[i])/fs, start, 0.005, "%s, play %d; the matches are 0.2 ms apart, and headphones delay", name, i+1)
		if stop := tp.stops[i]; stop > 0 {
			assert.False(t, p.Whole(), "%s, play %d", name, i+1)
			assert.InDelta(t, float64(stop)/fs, p.CutShort, 0.12, "%s, play %d; two pieces of 50 ms, and decay", name, i+1)
			continue
		}
		assert.True(t, p.Whole(), "%s, play %d: %v", name, i+1, p.Findings)
		take, err := p.Take(1, firstHeard(way))
		if assert.NoError(t, err, name) {
			assert.InDelta(t, float64(tp.starts[i])/fs, p.From+take.Start, 0.005, "%s, play %d; as above", name, i+1)
		}
	}
}

func TestPlaysSayWhatWasCutShort(t *testing.T) {
	tp := tapeOf(t, 3, 0, false)
	fs, sweeps := float64(tp.rate), tp.stimulus.Sweeps(sweep.Left)
	tp.wait(2, false)
	tp.play(0, 0)
	tp.wait(1, false)
	tp.play(0, sweeps[0].Start-int(0.1*fs)) // after the mark
	tp.wait(1.5, true)
	tp.play(-6, 0)
	r := tp.recording()
	plays, err := playsOf(r, tp.stimulus)
	require.NoError(t, err)
	require.Len(t, plays, 3)
	assert.Equal(t, []string{"evening.wav (1st of 3)", "evening.wav (2nd of 3)", "evening.wav (3rd of 3)"},
		[]string{plays[0].Recording.Name, plays[1].Recording.Name, plays[2].Recording.Name})
	assert.Equal(t, []bool{true, false, true}, []bool{plays[0].Whole(), plays[1].Whole(), plays[2].Whole()})
	require.Len(t, plays[1].Findings, 1)
	assert.Regexp(t, `^evening.wav: 2nd play is cut short at \d+\.\d\d s; leave it out, or play the stimulus`, plays[1].Findings[0].String())
	assert.Less(t, plays[1].Recording.Duration(), tp.stimulus.Duration()/2)

	// The recorder was started in the first sweep, and stopped in the last.
	late := tp.starts[0] + sweeps[0].Start + sweeps[0].Len/3
	end := tp.starts[2] + tp.stimulus.Sweeps(sweep.Right)[0].Start + sweeps[0].Len/2
	cut := *r
	cut.Channels = [][]float64{r.Channels[0][late:end], r.Channels[1][late:end]}
	plays, err = playsOf(&cut, tp.stimulus)
	require.NoError(t, err)
	require.Len(t, plays, 3)
	assert.Zero(t, plays[0].CutShort)
	assert.Less(t, plays[0].Start, 0.0)
	assert.Contains(t, plays[0].Findings[0].What, "1st play had begun")
	assert.InDelta(t, cut.Duration(), plays[2].CutShort, 0.12, "two pieces of 50 ms")
}

func TestPlaysOfARecordingWithoutTheStimulus(t *testing.T) {
	tp := tapeOf(t, 1, 0, false)
	tp.wait(20, true)
	_, err := playsOf(tp.recording(), tp.stimulus)
	require.ErrorIs(t, err, response.ErrNoPeak)
	assert.ErrorContains(t, err, "capture: evening.wav: ")
	assert.ErrorContains(t, err, "the stimulus was not found in 20.00 s of recording; check that the stimulus named here")

	for _, broken := range []float64{math.NaN(), math.Inf(1)} {
		r := tp.recording()
		r.Channels[0][1000] = broken // in a buffer; a file with such a sample is not read
		_, err = playsOf(r, tp.stimulus)
		assert.ErrorIs(t, err, response.ErrNoPeak)
	}

	still := &capture.Recording{Name: "still.wav", SampleRate: tp.rate, Channels: [][]float64{make([]float64, 10*tp.rate)}}
	_, err = playsOf(still, tp.stimulus)
	assert.ErrorIs(t, err, response.ErrSilent)
	_, err = playsOf(&capture.Recording{Name: "nothing.wav", SampleRate: tp.rate}, tp.stimulus)
	assert.ErrorIs(t, err, response.ErrTooShort)
	still.SampleRate = 44100
	_, err = playsOf(still, tp.stimulus)
	assert.ErrorContains(t, err, "recorded at 44100 Hz, the stimulus was made for 12000 Hz")
	assert.Panics(t, func() {
		playsOf(&capture.Recording{SampleRate: tp.rate, Channels: [][]float64{{1}, {1, 2}}}, tp.stimulus)
	})
}

// The response of each seating, cut out of one recording, equals the rig's own curve.
func TestResponsesOfPlaysAgreeWithTheRig(t *testing.T) {
	race.Skip(t)
	tp := tapeOf(t, 6, 4, false) // no drift: seed % 3 = 0
	tp.rig.Room, tp.rig.Spill = rig.Noise{}, rig.Spill{}
	tp.play(0, 0)
	tp.wait(2.2, true)
	tp.play(0, 0)
	plays, err := playsOf(tp.recording(), tp.stimulus)
	require.NoError(t, err)
	require.Len(t, plays, 2)
	d, err := response.NewDeconvolver(tp.stimulus.Sweep(), response.DeconvolverConfig{Longest: placement.TakeDuration(tp.stimulus)})
	require.NoError(t, err)
	var transfers []*response.Transfer
	for _, p := range plays {
		take, err := p.Take(1, sweep.Left)
		require.NoError(t, err)
		mean, _ := take.Average()
		h, err := d.Impulse(mean)
		require.NoError(t, err)
		w, err := h.Window(0, 0)
		require.NoError(t, err)
		transfers = append(transfers, w.Transfer())
	}
	alone, err := transfers[1].Divide(transfers[0])
	require.NoError(t, err)
	for _, f := range []float64{200, 500, 1000, 2000, 4000} {
		want := tp.rig.Truth(tp.headphones, rig.Left, 2, f)
		got := alone.At(f)
		assert.InDelta(t, 20*math.Log10(math.Hypot(real(want), imag(want))), 20*math.Log10(math.Hypot(real(got), imag(got))), 0.1, "dB at %v Hz; noise of −95 dBFS and the window", f)
	}
}

func BenchmarkPlays(b *testing.B) {
	tp := tapeOf(b, 1, 0, false)
	for range 8 {
		tp.play(0, 0)
		tp.wait(4, true)
	}
	r := tp.recording()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := playsOf(r, tp.stimulus); err != nil {
			b.Fatal(err)
		}
	}
}
