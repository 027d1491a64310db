package fitness_test

import (
	"bytes"
	"flag"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/rig"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/internal/testing/race"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// By default the random recordings are short and at a low rate, so that there can be many; -full
// gives them realistic lengths.
var (
	fullSize = flag.Bool("full", false, "full-size random recordings, at 48 kHz: a few minutes")
	trialsOf = flag.Int("trials", 100, "random recordings")
)

func trialStimulus(t testing.TB, unmarked bool) *sweep.Stimulus {
	t.Helper()
	sweeping := sweep.Config{Start: 50, Stop: 5300, Duration: 900 * time.Millisecond, SampleRate: 12000, Level: -9}
	layout := sweep.StimulusConfig{Silence: 400 * time.Millisecond, Gap: 300 * time.Millisecond, Unmarked: unmarked}
	if *fullSize {
		sweeping, layout = sweep.Config{Level: -9, Duration: 4 * time.Second}, sweep.StimulusConfig{Unmarked: unmarked}
	}
	s, err := sweep.New(sweeping)
	require.NoError(t, err)
	layout.Sweep = s
	st, err := sweep.NewStimulus(layout)
	require.NoError(t, err)
	return st
}

// trial is one random recording.
type trial struct {
	seed       uint64
	random     *rand.Rand
	rig        rig.Rig
	headphones rig.Headphones
	stimulus   *sweep.Stimulus
	start      int // sample at which the stimulus begins
	bits       int // 16, 24, or 0 for float
	channels   [][]float64
	options    said
	rate       int // sample rate in the recording's header
}

func (d *trial) between(low, high float64) float64 { return low + (high-low)*d.random.Float64() }

func newTrial(seed uint64, stimulus *sweep.Stimulus, quick bool) *trial {
	d := &trial{seed: seed, random: rand.New(rand.NewPCG(seed, 200)), stimulus: stimulus, rate: stimulus.Sweep().SampleRate()}
	top := stimulus.Sweep().Stop()
	d.headphones = rig.Headphones{Name: fmt.Sprint("invented ", seed)}
	driver := rig.Driver{
		Filters: []rig.Filter{
			rig.HighPass(d.between(10, 30), 0.7),
			rig.LowShelf(d.between(80, 200), 0.7, d.between(-3, 5)),
			rig.Peak(d.between(0.1, 0.3)*top, d.between(0.7, 2), d.between(-4, 4)),
			rig.Peak(d.between(0.3, 0.9)*top, d.between(2, 4), d.between(-5, 4)),
		},
		Delay:       time.Duration(d.between(20, 60) * float64(time.Microsecond)),
		Reflections: []rig.Reflection{{Delay: time.Duration(d.between(100, 400) * float64(time.Microsecond)), Level: d.between(-40, -24)}},
	}
	right := driver
	right.Gain = d.between(-1, 1)
	right.Filters = append([]rig.Filter{rig.Peak(d.between(0.05, 0.5)*top, 1, d.between(-1, 1))}, driver.Filters...)
	if !quick {
		driver.Distortion = rig.NewPolynomial(-12, d.between(-75, -55), d.between(-85, -65), -100, -110)
		right.Distortion = driver.Distortion
	}
	d.headphones.Left, d.headphones.Right = driver, right
	d.rig = rig.Rig{
		Name: "simulated", SampleRate: d.rate, Seed: seed,
		Interface:   rig.Interface{Filters: []rig.Filter{rig.HighPass(3, 0.71)}},
		Latency:     d.between(20, 5000),
		Drift:       d.between(-100, 100) * float64(min(1, seed%3)), // in every third the clocks agree
		ThroughGain: d.between(-14, 1),
		Noise:       rig.Noise{Level: d.between(-115, -95), Pink: 0.2},
		Room:        rig.Noise{Level: d.between(-105, -88), Pink: d.between(0, 0.7)},
		Hum:         rig.Hum{Frequency: []float64{50, 60}[d.random.IntN(2)], Level: d.between(-115, -102), Harmonics: []float64{-8, -5, -12}},
		DC:          d.between(-1e-4, 1e-4),
		Spill:       rig.Spill{Level: d.between(-60, -40), Filters: []rig.Filter{rig.LowPass(1500, 0.6)}},
	}
	d.start = int(d.rig.Latency)
	d.bits = []int{0, 16, 24}[d.random.IntN(3)]
	d.options.Stimulus = stimulus
	d.channels = d.rig.Through(d.headphones, 0, stimulus.Channels())
	return d
}

func (d *trial) peak() float64 {
	top := 0.0
	for _, x := range d.channels {
		for _, v := range x {
			top = max(top, math.Abs(v))
		}
	}
	return 20 * math.Log10(top)
}

// inSweep returns a sample in the left or right sweep, not at its ends.
func (d *trial) inSweep() int {
	side := []sweep.Side{sweep.Left, sweep.Right}[d.random.IntN(2)]
	s := d.stimulus.Sweeps(side)[0]
	return d.start + s.Start + int(d.between(0.05, 0.95)*float64(s.Len))
}

// recording returns the recorder's file, read again.
func (d *trial) recording(t testing.TB) *capture.Recording {
	t.Helper()
	r := &capture.Recording{Name: fmt.Sprintf("trial %d.wav", d.seed), SampleRate: d.rate, Channels: d.channels}
	if d.bits == 0 {
		return r
	}
	for _, x := range d.channels {
		for i, v := range x {
			x[i] = min(v, 1-math.Ldexp(1, 1-d.bits)) // converters stop one step below full scale
		}
	}
	var file bytes.Buffer
	require.NoError(t, capture.Encode(&file, r, capture.WriteConfig{Format: capture.Format{Bits: d.bits}, Seed: d.seed}))
	back, err := capture.Decode(&file, r.Name, capture.ReadConfig{})
	require.NoError(t, err)
	return back
}

type trialFault struct {
	name  string
	kinds []response.FindingKind // any of these counts as found
	after bool                   // the fault is behind the converter, so that its samples are not rounded again
	spoil func(*trial)
}

// trialFaults spoil a recording at random, from the stated level on.
var trialFaults = []trialFault{
	{"clipped by 0.3 to 6 dB", []response.FindingKind{fitness.Clipping}, false, func(d *trial) {
		d.channels = rig.Clip(d.channels, -d.peak()+d.between(0.3, 6))
	}},
	{"flat tops 0.3 to 4 dB below its peak", []response.FindingKind{fitness.FlatTops}, false, func(d *trial) {
		d.channels = rig.FlatTop(d.channels, d.peak()-d.between(0.3, 4))
	}},
	{"60 to 70 dB too soft in 16 bits", []response.FindingKind{fitness.LowLevel}, false, func(d *trial) {
		d.bits = 16
		d.channels = rig.Quieten(d.channels, d.peak()+d.between(60, 70))
	}},
	{"noise of −50 to −40 dBFS", []response.FindingKind{fitness.LowLevel}, false, func(d *trial) {
		sigma := math.Pow(10, d.between(-50, -40)/20)
		for _, x := range d.channels {
			for i := range x {
				x[i] += sigma * d.random.NormFloat64()
			}
		}
	}},
	{"offset of 0.002 to 0.05", []response.FindingKind{fitness.DCOffset}, false, func(d *trial) {
		d.channels = rig.AddDC(d.channels, d.between(0.002, 0.05)*float64(1-2*d.random.IntN(2)))
	}},
	{"hum of −60 to −40 dBFS", []response.FindingKind{fitness.MainsHum}, false, func(d *trial) {
		d.channels = rig.AddHum(d.channels, rig.Hum{Frequency: d.rig.Hum.Frequency, Level: d.between(-60, -40), Harmonics: []float64{-10, -6, -20}}, d.rate)
	}},
	{"32 to 2000 samples dropped from a sweep", []response.FindingKind{fitness.DroppedSamples}, true, func(d *trial) {
		d.channels = rig.DropBlock(d.channels, d.inSweep(), 32+d.random.IntN(1969))
	}},
	{"16 to 2000 samples repeated", []response.FindingKind{fitness.RepeatedSamples}, true, func(d *trial) {
		d.channels = rig.RepeatBlock(d.channels, d.inSweep(), 16+d.random.IntN(1985))
	}},
	{"clicks of −45 to −10 dBFS", []response.FindingKind{fitness.Clicks}, false, func(d *trial) {
		d.channels = rig.Click(d.channels, 1+d.random.IntN(8), d.between(-45, -10), d.seed)
	}},
	{"a channel of zeros", []response.FindingKind{fitness.SilentChannel}, false, func(d *trial) {
		clear(d.channels[d.random.IntN(2)])
	}},
	{"a channel of noise", []response.FindingKind{fitness.SilentChannel}, false, func(d *trial) {
		x := d.channels[d.random.IntN(2)]
		for i := range x {
			x[i] = 1e-4 * d.random.NormFloat64()
		}
	}},
	{"left and right swapped", []response.FindingKind{fitness.SwappedSides}, true, func(d *trial) { d.channels = rig.Swap(d.channels) }},
	{"one side inverted", []response.FindingKind{fitness.OppositePolarity}, false, func(d *trial) {
		d.channels = rig.Invert(d.channels, rig.Side(d.random.IntN(2)))
	}},
	{"one channel copied to the other", []response.FindingKind{fitness.CopiedChannel}, false, func(d *trial) {
		k := d.random.IntN(2)
		d.channels[1-k] = append([]float64(nil), d.channels[k]...)
	}},
	{"stopped in a sweep", []response.FindingKind{fitness.CutTail}, true, func(d *trial) {
		d.channels = rig.CutTail(d.channels, len(d.channels[0])-d.inSweep())
	}},
	{"music in place of the sweep", []response.FindingKind{fitness.NoSweep}, false, func(d *trial) {
		d.channels = d.rig.Through(d.headphones, 0, rig.Music(d.rate, d.stimulus.Duration(), d.seed))
	}},
	{"nothing above half to three quarters of the sweep", []response.FindingKind{fitness.Resampled, fitness.LossyCodec}, false, func(d *trial) {
		d.channels = rig.CutTreble(d.channels, d.between(0.5, 0.75)*d.stimulus.Sweep().Stop(), d.rate)
	}},
	{"labelled with another rate", []response.FindingKind{fitness.WrongRate}, true, func(d *trial) { d.rate = 44100 }},
}

// Recordings with random delay, drift, noise, hum and gain, every second one with a fault. Every
// fault is found. In a hundred clean ones at most one warning is false. If the report calls a
// recording fit, the response computed from it is within 0.1 dB of the known response of the
// simulated headphones.
func TestRandomRecordings(t *testing.T) {
	race.Skip(t)
	trials := *trialsOf
	if !long.Enabled() {
		trials = min(trials, 8)
	}
	marked, unmarked := trialStimulus(t, false), trialStimulus(t, true)
	deconvolver, err := response.NewDeconvolver(marked.Sweep(), response.DeconvolverConfig{Longest: placement.TakeDuration(marked)})
	require.NoError(t, err)
	var lock sync.Mutex
	var alarms []string
	var fit, missed int
	worst := 0.0
	t.Run("all", func(t *testing.T) {
		for seed := range uint64(trials) {
			t.Run(fmt.Sprint(seed), func(t *testing.T) {
				t.Parallel()
				stimulus := marked
				if seed%5 == 4 {
					stimulus = unmarked
				}
				d := newTrial(seed, stimulus, seed%8 != 0)
				fault := "none"
				var kinds []response.FindingKind
				var spoil trialFault
				if seed%2 == 1 {
					f := trialFaults[seed/2%uint64(len(trialFaults))]
					fault, kinds = f.name, f.kinds
					if !f.after {
						f.spoil(d)
					}
					spoil = f
				}
				recording := d.recording(t)
				if spoil.after {
					d.channels, d.rate = recording.Channels, recording.SampleRate
					spoil.spoil(d)
					recording.Channels, recording.SampleRate = d.channels, d.rate
				}
				report := inspected(recording, d.options)
				found := kinds == nil
				for _, k := range kinds {
					for _, f := range report.Of(k) {
						// an offset that does not change moves nothing
						found = found || f.Severity >= response.Warning || k == fitness.DCOffset
					}
				}
				assert.True(t, found, "%s: %v", fault, report.Findings)
				lock.Lock()
				defer lock.Unlock()
				if !found {
					missed++
				}
				for _, f := range report.AtLeast(response.Warning) {
					if kinds == nil {
						alarms = append(alarms, f.String())
					}
				}
				if report.Err() == nil {
					fit++
					off := d.error(t, deconvolver, recording, report)
					worst = max(worst, off)
					assert.Less(t, off, 0.1, "dB: %s is called fit, and so must be right: %v", fault, report.Findings)
				}
			})
		}
	})
	assert.LessOrEqual(t, len(alarms), max(1, trials/200), "in %d clean recordings: %s", trials/2, strings.Join(alarms, "\n"))
	assert.Greater(t, fit, trials/2-2, "the clean ones at least")
	t.Logf("%d of %d fit, %d faults missed, %d false, the response off by at most %.3f dB", fit, trials, missed, len(alarms), worst)
}

// error returns the largest error in dB of the response computed from a recording, against that of
// the rig.
func (d *trial) error(t *testing.T, deconvolver *response.Deconvolver, through *capture.Recording, report *fitness.Report) float64 {
	direct := &capture.Recording{Name: "direct.wav", SampleRate: d.rig.SampleRate, Channels: d.rig.Direct(d.stimulus.Channels())}
	worst := 0.0
	for k, side := range []sweep.Side{sweep.Left, sweep.Right} {
		transfer := func(r *capture.Recording) *response.Transfer {
			take, err := takeOf(r, d.stimulus, k+1, side)
			require.NoError(t, err)
			s, err := deconvolver.Separate(take.Sweeps[0])
			require.NoError(t, err)
			w, err := s.Linear.Window(0, 0)
			require.NoError(t, err)
			return w.Transfer()
		}
		h, err := transfer(through).Divide(transfer(direct))
		require.NoError(t, err)
		valid := h.Valid.Intersect(report.Channels[k].Valid)
		require.GreaterOrEqual(t, valid.Octaves(), 4.0)
		level := h.Magnitude().Level
		for i, f := range h.Frequencies() {
			if i%4 == 0 && valid.Contains(f) { // the bins are closer than the resolution of the window
				truth := cmplx.Abs(d.rig.Truth(d.headphones, rig.Side(k), 0, f))
				worst = max(worst, math.Abs(level[i]-20*math.Log10(truth)))
			}
		}
	}
	return worst
}
