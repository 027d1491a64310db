package placement_test

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// delayOf returns the time in seconds at which the sweep of a take begins, found by deconvolution,
// less its nominal time.
func delayOf(t *testing.T, d *response.Deconvolver, take *placement.Take) float64 {
	mean, _ := take.Average()
	h, err := d.Impulse(mean)
	require.NoError(t, err)
	delay, err := h.Delay()
	require.NoError(t, err)
	return delay - 0.05 // a take begins 50 ms before its sweep
}

func TestTakeFindsEachSideWhereverTheRecorderStarted(t *testing.T) {
	race.Skip(t)
	single := stimulus(t, sweep.StimulusConfig{})
	d, err := response.NewDeconvolver(single.Sweep(), response.DeconvolverConfig{Longest: placement.TakeDuration(single)})
	require.NoError(t, err)
	for _, repeats := range []int{1, 3} {
		st := stimulus(t, sweep.StimulusConfig{Repeats: repeats})
		for seed := range uint64(2) {
			if !long.Enabled() && seed > 0 {
				break
			}
			r := recordedWith(st, 0, 30, seed)
			mono := &capture.Recording{Name: "mono.wav", SampleRate: 48000, Channels: [][]float64{make([]float64, r.Len())}}
			for i := range mono.Channels[0] {
				mono.Channels[0][i] = (r.Channels[0][i] + r.Channels[1][i]) / 2
			}
			for _, c := range []struct {
				name    string
				r       *capture.Recording
				channel int
				side    sweep.Side
			}{
				{"left of two channels", r, 1, sweep.Left},
				{"right of two channels", r, 2, sweep.Right},
				{"left of a mono mix", mono, 1, sweep.Left},
				{"right of a mono mix", mono, 1, sweep.Right},
			} {
				take, err := attempt(c.r, st).Take(c.channel, c.side)
				require.NoError(t, err, c.name)
				assert.Len(t, take.Sweeps, repeats)
				assert.InDelta(t, 0, delayOf(t, d, take), 0.003, "%s; locating is to a few milliseconds", c.name)
				assert.InDelta(t, float64(1000+371*seed)/48000, take.Start, 0.003, "%s; as above", c.name)
				assert.Greater(t, len(take.Silence), 4800, "a tenth of a second of silence at least")
				assert.Less(t, rms(take.Silence), 0.02, "noise 30 dB below a sweep of −15 dBFS rms, and no sweep")
			}
		}
	}
}

// In a recording that was trimmed to its first and last sound, the silence between the marks gives
// the noise. The expected value is the noise that was added.
func TestTrimmedRecordingHasSilenceInside(t *testing.T) {
	st := stimulus(t, sweep.StimulusConfig{})
	r := recordedWith(st, 0, 30, 0)
	marks := st.Find(sweep.Mark)
	for k, x := range r.Channels {
		r.Channels[k] = x[1000+marks[0].Start : 1000+marks[1].Start+marks[1].Len]
	}
	for channel, side := range []sweep.Side{sweep.Left, sweep.Right} {
		take, err := attempt(r, st).Take(channel+1, side)
		require.NoError(t, err)
		assert.Greater(t, len(take.Silence), 4800, "a tenth of a second at least")
		noise := st.Sweep().Amplitude() / math.Sqrt2 * math.Pow(10, -30.0/20)
		assert.InEpsilon(t, noise, rms(take.Silence), 0.05, "%v; 10 000 samples give 1 %%; the rest is the decay", side)
	}
}

// Somebody speaks before the stimulus, 20 dB above the noise: the noise is that of another silence.
func TestSilenceInWhichSomebodySpeaksIsNotTheNoise(t *testing.T) {
	st := stimulus(t, sweep.StimulusConfig{})
	noise := st.Sweep().Amplitude() / math.Sqrt2 * math.Pow(10, -60.0/20)
	for name, k := range map[string]int{"before": 0, "after": len(st.Find(sweep.Silence)) - 1} {
		r := recordedWith(st, 0, 60, 0)
		spoken := st.Find(sweep.Silence)[k]
		for i := range min(spoken.Len, r.Len()-1000-spoken.Start) {
			r.Channels[0][1000+spoken.Start+i] += 10 * math.Sqrt2 * noise * math.Sin(2*math.Pi*200*float64(i)/48000)
		}
		take, err := attempt(r, st).Take(1, sweep.Left)
		require.NoError(t, err)
		assert.InEpsilon(t, noise, rms(take.Silence), 0.05, "%s; 10 000 samples give 1 %%; the rest is the decay", name)
	}
}

func rms(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

// A recording that was trimmed to its last sound may miss a hundredth of a second of it.
func TestTakeOfATrimmedRecording(t *testing.T) {
	st := stimulus(t, sweep.StimulusConfig{})
	r := recordedWith(st, 0, 60, 1)
	left := st.Sweeps(sweep.Left)[0]
	start := 0
	for missing, fits := range map[int]bool{0: true, 400: true, 600: false} { // samples; 480 are a hundredth of a second
		p, err := placement.Locate(r, st)
		require.NoError(t, err)
		whole, err := p.Take(1, sweep.Left)
		require.NoError(t, err)
		start = int(math.Round(whole.Start * 48000))
		short := &capture.Recording{Name: "trimmed.wav", SampleRate: 48000, Channels: [][]float64{slices.Clone(r.Channels[0][:start+left.Start+left.Len-missing])}}
		p, err = placement.Locate(short, st)
		require.NoError(t, err)
		_, err = p.Take(1, sweep.Left)
		if fits {
			assert.NoError(t, err, "%d samples", missing)
		} else {
			assert.ErrorIs(t, err, capture.ErrTruncated, "%d samples", missing)
		}
	}
}

func TestTakeOfARecordingWithoutTheStimulus(t *testing.T) {
	st := stimulus(t, sweep.StimulusConfig{})
	r := recordedWith(st, 0, 60, 1)

	for _, c := range []struct {
		name    string
		r       *capture.Recording
		channel int
		is      error
		says    string
	}{
		{"a channel that is not there", r, 3, capture.ErrChannel, "test.wav"},
		{"noise alone", noisy(st, [][]float64{make([]float64, st.Len())}, 20, 1), 1, response.ErrNoPeak, "channel 1"},
		{"silence", &capture.Recording{Name: "still.wav", SampleRate: 48000, Channels: [][]float64{make([]float64, st.Len())}}, 1, response.ErrSilent, "still.wav"},
		{"too short", &capture.Recording{Name: "short.wav", SampleRate: 48000, Channels: [][]float64{slices.Clone(r.Channels[0][:30000])}}, 1, response.ErrTooShort, "short.wav"},
		{"cut in the sweep", &capture.Recording{Name: "cut.wav", SampleRate: 48000, Channels: [][]float64{slices.Clone(r.Channels[0][:1000+371+st.Sweeps(sweep.Left)[0].Start+80000])}}, 1, capture.ErrTruncated, "record until after the last silence"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := attempt(c.r, st).Take(c.channel, sweep.Left)
			require.ErrorIs(t, err, c.is)
			assert.Contains(t, err.Error(), c.says)
		})
	}
	slow := *r
	slow.SampleRate = 44100
	_, err := attempt(&slow, st).Take(1, sweep.Left)
	assert.ErrorContains(t, err, "recorded at 44100 Hz, the stimulus was made for 48000 Hz")
	assert.Panics(t, func() { attempt(r, st).Take(1, 0) })
}

// The search is coarse, so a sweep of another band may pass it. Deconvolution then gives no peak.
func TestAnotherSweepIsRefused(t *testing.T) {
	st := stimulus(t, sweep.StimulusConfig{})
	other, err := sweep.New(sweep.Config{Duration: 3 * time.Second, Start: 50, Stop: 15000})
	require.NoError(t, err)
	r := noisy(st, [][]float64{append(other.Samples(), make([]float64, 200000)...)}, 60, 1)
	take, err := attempt(r, st).Take(1, sweep.Left)
	if err == nil {
		var d *response.Deconvolver
		d, err = response.NewDeconvolver(st.Sweep(), response.DeconvolverConfig{Longest: placement.TakeDuration(st)})
		require.NoError(t, err)
		_, err = d.Separate(take.Sweeps[0])
	}
	assert.ErrorIs(t, err, response.ErrNoPeak)
}

// TestTakeHoldsNoOffset adds a constant, which must change nothing in a take, also where the
// recording ends before the take does and the rest of it is zero.
func TestTakeHoldsNoOffset(t *testing.T) {
	st := stimulus(t, sweep.StimulusConfig{})
	plain := recordedWith(st, 0, 60, 0)
	last := st.Sweeps(sweep.Right)[0]
	for _, length := range []int{plain.Len(), 1000 + last.Start + last.Len + 500} {
		var takes [2]*placement.Take
		for i, offset := range []float64{0, 0.05} {
			r := &capture.Recording{Name: "offset.wav", SampleRate: plain.SampleRate, Channels: make([][]float64, 2)}
			for k, x := range plain.Channels {
				r.Channels[k] = slices.Clone(x[:length])
				floats.AddConst(offset, r.Channels[k])
			}
			var err error
			takes[i], err = attempt(r, st).Take(2, sweep.Right)
			require.NoError(t, err)
		}
		assert.InDeltaSlice(t, takes[0].Sweeps[0], takes[1].Sweeps[0], 1e-12, "full scale; rounding")
	}
}
