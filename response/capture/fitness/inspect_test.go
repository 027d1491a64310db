package fitness_test

import (
	"bytes"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/sweep"
)

// steady returns a recording of the short stimulus with noise of −95 dBFS and no fault.
func steady(t testing.TB, unmarked bool) *trial {
	d := newTrial(2, trialStimulus(t, unmarked), true)
	d.rig.Hum, d.rig.DC, d.rig.Drift, d.rig.Latency, d.rig.ThroughGain = rig.Hum{}, 0, 0, 1000.5, -6
	d.rig.Noise, d.rig.Room = rig.Noise{Level: -100}, rig.Noise{Level: -97}
	d.start, d.bits = 1000, 24
	d.channels = d.rig.Through(d.headphones, 0, d.stimulus.Channels())
	return d
}

// middle returns a sample in the middle of the left sweep.
func (d *trial) middle() int {
	s := d.stimulus.Sweeps(sweep.Left)[0]
	return d.start + s.Start + s.Len/2
}

// The levels of the sweep and the noise are chosen so that the least levels at which a fault is
// found can be stated.
func TestEachFaultIsFoundFromItsLevelOn(t *testing.T) {
	race.Skip(t)
	white := func(level float64) func(*trial) {
		return func(d *trial) {
			random := rand.New(rand.NewPCG(1, 1))
			for _, x := range d.channels {
				for i := range x {
					x[i] += math.Pow(10, level/20) * random.NormFloat64()
				}
			}
		}
	}
	from := func(add func(*trial)) func(*trial) { // the middle of the right sweep
		return func(d *trial) {
			s := d.stimulus.Sweeps(sweep.Right)[0]
			begins := d.start + s.Start + s.Len/2
			var before [][]float64
			for _, x := range d.channels {
				before = append(before, slices.Clone(x[:begins]))
			}
			add(d)
			for k := range before {
				copy(d.channels[k], before[k])
			}
		}
	}
	mix := func(level float64) func(*trial) {
		return func(d *trial) {
			left, right := slices.Clone(d.channels[0]), slices.Clone(d.channels[1])
			floats.AddScaled(d.channels[0], math.Pow(10, level/20), right)
			floats.AddScaled(d.channels[1], math.Pow(10, level/20), left)
		}
	}
	notch := func(gain float64) func(*trial) {
		return func(d *trial) {
			d.headphones.Left.Filters = append(slices.Clone(d.headphones.Left.Filters), rig.Peak(1000, 20, gain))
			d.channels = d.rig.Through(d.headphones, 0, d.stimulus.Channels())
		}
	}
	whistle := func(frequency, level float64) func(*trial) {
		return func(d *trial) {
			d.channels = rig.AddHum(d.channels, rig.Hum{Frequency: frequency, Level: level}, d.rate)
		}
	}
	wander := func(by float64) func(*trial) { // along half a period of a cosine
		return func(d *trial) {
			for _, x := range d.channels {
				for i := range x {
					x[i] += 0.01 + by*math.Cos(math.Pi*float64(i)/float64(len(x)))/2
				}
			}
		}
	}
	hum := func(frequency, level float64) func(*trial) {
		return func(d *trial) {
			d.channels = rig.AddHum(d.channels, rig.Hum{Frequency: frequency, Level: level, Harmonics: []float64{-6, -10}}, d.rate)
		}
	}
	for _, c := range []struct {
		name        string
		kind        response.FindingKind
		severity    response.Severity
		after       bool
		fault, less func(*trial) // a fault that is found, and a slightly smaller one that is not; nil means none at all
	}{
		{"clipping by 0.3 dB", fitness.Clipping, response.Unfit, false,
			func(d *trial) { d.channels = rig.Clip(d.channels, 0.3-d.peak()) },
			func(d *trial) { d.channels = rig.Quieten(d.channels, d.peak()+0.01) }},
		{"flat tops by 0.3 dB", fitness.FlatTops, response.Unfit, false,
			func(d *trial) { d.channels = rig.FlatTop(d.channels, d.peak()-0.3) },
			func(d *trial) { d.channels = rig.FlatTop(d.channels, d.peak()) }},
		{"flat tops by 1 dB under noise of −75 dBFS", fitness.FlatTops, response.Unfit, false,
			func(d *trial) { d.channels = rig.FlatTop(d.channels, d.peak()-1); white(-75)(d) }, white(-75)},
		{"too soft for 16 bits", fitness.LowLevel, response.Warning, false,
			func(d *trial) { d.bits = 16; d.channels = rig.Quieten(d.channels, d.peak()+31) },
			func(d *trial) { d.bits = 16; d.channels = rig.Quieten(d.channels, d.peak()+28) }},
		{"so soft that 16 bits repeat a period of the sweep", fitness.LowLevel, response.Unfit, false,
			func(d *trial) { d.bits = 16; d.channels = rig.Quieten(d.channels, d.peak()+54) }, nil},
		{"noise of −67 dBFS", fitness.LowLevel, response.Warning, false, white(-67), white(-75)},
		{"a notch of 50 dB at 1 kHz", fitness.LowLevel, response.Warning, false, notch(-50), notch(-15)},
		{"noise of −40 dBFS", fitness.LowLevel, response.Unfit, false, white(-40), nil},
		{"noise of −60 dBFS from the last sweep on", fitness.LowLevel, response.Warning, false, from(white(-60)), from(white(-75))},
		{"offset of 0.0011", fitness.DCOffset, response.Note, false,
			func(d *trial) { d.channels = rig.AddDC(d.channels, 0.0011) },
			func(d *trial) { d.channels = rig.AddDC(d.channels, 0.0009) }},
		{"offset of 0.01 that wanders by 0.02", fitness.DCOffset, response.Unfit, false, wander(0.02), wander(0.001)},
		{"hum of −40 dBFS at 50 Hz", fitness.MainsHum, response.Unfit, false, hum(50, -40), hum(50, -95)},
		{"hum of −40 dBFS at 60 Hz", fitness.MainsHum, response.Unfit, false, hum(60, -40), hum(60, -95)},
		{"a whistle of −50 dBFS at 3 kHz", fitness.SteadyTone, response.Warning, false, whistle(3000, -50), whistle(3000, -90)},
		{"whistles of −60 dBFS at 1 kHz and its multiples", fitness.SteadyTone, response.Warning, false, func(d *trial) {
			for k := range 15 {
				whistle(1000*float64(k+1), -60)(d)
			}
		}, nil},
		{"8 samples missing from a sweep", fitness.DroppedSamples, response.Unfit, true,
			func(d *trial) { d.channels = rig.DropBlock(d.channels, d.middle(), 8) }, nil},
		{"20 ms missing from silence", fitness.DroppedSamples, response.Unfit, true,
			func(d *trial) {
				gap := d.start + d.stimulus.Sweeps(sweep.Left)[0].Start - 1000
				d.channels = rig.DropBlock(d.channels, gap, d.rate/50)
			}, nil},
		{"64 zero samples in a sweep", fitness.DroppedSamples, response.Unfit, true,
			func(d *trial) { clear(d.channels[0][d.middle() : d.middle()+64]) }, nil},
		{"16 samples twice", fitness.RepeatedSamples, response.Unfit, true,
			func(d *trial) { d.channels = rig.RepeatBlock(d.channels, d.middle(), 16) }, nil},
		{"a click of −60 dBFS in the sweep", fitness.Clicks, response.Warning, true,
			func(d *trial) { d.channels[0][d.middle()] += 0.001 },
			func(d *trial) { d.channels[0][d.middle()] += 0.00002 }},
		{"a click of 0 dBFS", fitness.Clicks, response.Unfit, true,
			func(d *trial) { d.channels[0][d.middle()/4] = 0.999 }, nil},
		{"a channel of zeros", fitness.SilentChannel, response.Unfit, false, func(d *trial) { clear(d.channels[1]) }, nil},
		{"a driver that is dead", fitness.SilentChannel, response.Unfit, false, func(d *trial) {
			d.headphones.Right.Gain = -120
			d.rig.Spill.Level = -30
			d.channels = d.rig.Through(d.headphones, 0, d.stimulus.Channels())
		}, nil},
		{"left and right swapped", fitness.SwappedSides, response.Unfit, true, func(d *trial) { d.channels = rig.Swap(d.channels) }, nil},
		{"the other side in a file of one channel", fitness.SwappedSides, response.Unfit, true, func(d *trial) {
			d.channels, d.options.Sides = d.channels[1:], []sweep.Side{sweep.Left}
		}, func(d *trial) { d.channels, d.options.Sides = d.channels[:1], []sweep.Side{sweep.Left} }},
		{"a player that mixes to mono", fitness.MixedSides, response.Warning, true, func(d *trial) {
			mix(0)(d)
			d.channels, d.options.Sides = d.channels[1:], []sweep.Side{sweep.Right}
		}, func(d *trial) { d.channels, d.options.Sides = d.channels[1:], []sweep.Side{sweep.Right} }},
		{"crossfeed of −10 dB", fitness.MixedSides, response.Warning, true, mix(-10), mix(-30)},
		{"one side inverted", fitness.OppositePolarity, response.Warning, true, func(d *trial) { d.channels = rig.Invert(d.channels, rig.Right) }, nil},
		{"a direct recording inverted", fitness.OppositePolarity, response.Note, true, func(d *trial) {
			d.options.Direct = true
			d.channels = rig.Invert(rig.Invert(d.channels, rig.Left), rig.Right)
		}, nil},
		{"a channel copied", fitness.CopiedChannel, response.Unfit, true, func(d *trial) { d.channels[1] = slices.Clone(d.channels[0]) }, nil},
		{"a channel copied by a lead", fitness.CopiedChannel, response.Unfit, false,
			func(d *trial) { d.channels[1] = slices.Clone(d.channels[0]); white(-90)(d) }, nil},
		{"stopped in the sweep", fitness.CutTail, response.Unfit, true,
			func(d *trial) { d.channels = rig.CutTail(d.channels, len(d.channels[0])-d.middle()) }, nil},
		{"stopped in the decay of a hall", fitness.CutTail, response.Unfit, true, func(d *trial) {
			s := d.stimulus.Sweeps(sweep.Right)[0]
			end := d.start + s.Start + s.Len
			random := rand.New(rand.NewPCG(1, 2))
			for i := end; i < len(d.channels[1]); i++ { // 60 dB in 0.5 s
				d.channels[1][i] += 0.05 * random.NormFloat64() * math.Pow(10, -3*float64(i-end)/float64(d.rate)/0.5)
			}
			d.channels = rig.CutTail(d.channels, len(d.channels[0])-end-d.rate/10)
		}, func(d *trial) {
			s := d.stimulus.Sweeps(sweep.Right)[0]
			d.channels = rig.CutTail(d.channels, len(d.channels[0])-d.start-s.Start-s.Len-d.rate/10)
		}},
		{"music where the sweep should be", fitness.NoSweep, response.Unfit, false,
			func(d *trial) { d.channels = rig.Music(d.rate, 4, 1) }, nil},
		{"the recording made at 8 kHz", fitness.Resampled, response.Unfit, true,
			func(d *trial) { d.channels = rig.CutTreble(d.channels, 3800, d.rate) },
			func(d *trial) { d.channels = rig.CutTreble(d.channels, 5700, d.rate) }},
		{"played through a coder", fitness.LossyCodec, response.Unfit, false, func(d *trial) {
			d.channels = d.rig.Through(d.headphones, 0, rig.CutTreble(d.stimulus.Channels(), 3800, d.rate))
		}, nil},
		{"another sample rate", fitness.WrongRate, response.Unfit, true, func(d *trial) { d.rate = 44100 }, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			inspect := func(fault func(*trial)) *fitness.Report {
				d := steady(t, false)
				if fault != nil && !c.after {
					fault(d)
				}
				r := d.recording(t)
				if fault != nil && c.after {
					d.channels = r.Channels
					fault(d)
					r.Channels, r.SampleRate = d.channels, d.rate
				}
				return inspected(r, d.options)
			}
			report := inspect(c.fault)
			found := report.Of(c.kind)
			require.NotEmpty(t, found, "%v", report.Findings)
			assert.Equal(t, c.severity, found[0].Severity, "%v", found)
			assert.Equal(t, c.severity < response.Unfit, report.Err() == nil, "%v", report.Findings)
			for _, f := range report.AtLeast(response.Warning) {
				assert.Equal(t, c.kind, f.Kind, "nothing else is wrong: %v", f)
			}
			assert.Empty(t, inspect(c.less).AtLeast(response.Warning), "a little less")
		})
	}
}

// Somebody speaks before the stimulus, or in one of its silences: the noise under the sweeps does
// not change.
func TestAVoiceInASilenceIsNoFaultOfTheRecorder(t *testing.T) {
	race.Skip(t)
	for name, k := range map[string]int{"before the stimulus": 0, "after the left sweep": 2} {
		d := steady(t, false)
		still := d.stimulus.Find(sweep.Silence)[k]
		voice := rig.Speech(d.rate, float64(still.Len)/float64(d.rate), 1)
		for c, x := range d.channels {
			for i, v := range voice[0][:still.Len] {
				fade := math.Sin(math.Pi * float64(i) / float64(still.Len)) // not cut off at the ends
				x[still.Start+i+1000] += 0.02 * float64(2-c) * fade * v
			}
		}
		assert.Empty(t, inspected(d.recording(t), d.options).AtLeast(response.Warning), name)
	}
}

// A notch divides the band that is clear of the noise.
func TestNoiseLeavesBandsBesideANotch(t *testing.T) {
	d := steady(t, false)
	d.headphones.Left.Filters = append(slices.Clone(d.headphones.Left.Filters), rig.Peak(1000, 20, -50))
	d.channels = d.rig.Through(d.headphones, 0, d.stimulus.Channels())
	found := inspected(d.recording(t), d.options).Of(fitness.LowLevel)
	require.Len(t, found, 1)
	assert.Regexp(t, `for a response to 0\.1 dB outside [\d.]+ Hz–(8|9)\d\d Hz and 1\.\d+ kHz–`, found[0].What)
}

func TestFindingsSayWhereAndHowMuch(t *testing.T) {
	d := steady(t, false)
	clicked := d.recording(t)
	at := d.middle()
	clicked.Channels[0][at] += 0.05
	f := inspected(clicked, d.options).Of(fitness.Clicks)
	require.Len(t, f, 1)
	assert.Equal(t, 1, f[0].Channel)
	assert.InDelta(t, float64(at)/float64(d.rate), f[0].Time, 0.001, "64 samples are looked at at a time, the place is found to a few")
	assert.InDelta(t, 20*math.Log10(0.05), f[0].Figures["level"].Value, 0.1, "what the sweep's own prediction error adds")

	dropped := steady(t, false).recording(t)
	dropped.Channels = rig.DropBlock(dropped.Channels, at, 240)
	f = inspected(dropped, d.options).Of(fitness.DroppedSamples)
	require.NotEmpty(t, f)
	assert.InDelta(t, float64(at)/float64(d.rate), f[0].Time, 0.002, "as above")
	assert.InDelta(t, 0.020, f[0].Figures["missing"].Value, 0.001, "the two halves of a sweep are found to a fraction of a millisecond")
	assert.Contains(t, f[0].What, "are missing")

	for _, mains := range []float64{50, 60} {
		d := steady(t, false)
		d.channels = rig.AddHum(d.channels, rig.Hum{Frequency: mains, Level: -50}, d.rate)
		f = inspected(d.recording(t), d.options).Of(fitness.MainsHum)
		require.NotEmpty(t, f)
		assert.Equal(t, mains, f[0].Figures["mains"].Value)
		assert.InDelta(t, -53.01, f[0].Figures["level"].Value, 0.5, "rms; up to 0.5 dB between the bins of a short stretch")
	}

	repeated := steady(t, false).recording(t)
	repeated.Channels = rig.RepeatBlock(repeated.Channels, at, 128)
	f = inspected(repeated, d.options).Of(fitness.RepeatedSamples)
	require.NotEmpty(t, f)
	assert.Equal(t, 128.0, f[0].Figures["length"].Value)
	assert.InDelta(t, float64(at+128)/float64(d.rate), f[0].Time, 1e-9, "exact")

	cut := steady(t, false).recording(t)
	cut.Channels = rig.CutTreble(cut.Channels, 3900, d.rate)
	f = inspected(cut, d.options).Of(fitness.Resampled)
	require.NotEmpty(t, f)
	assert.InEpsilon(t, 3900, f[0].Figures["cutoff"].Value, 0.03, "bands of a twenty-fourth of an octave")
	assert.Equal(t, 8000.0, f[0].Figures["made at"].Value)
}

// The predicted effect of hum and of noise on the response equals the measured one.
func TestMeasurementsOfAChannel(t *testing.T) {
	d := steady(t, false)
	report := inspected(d.recording(t), d.options)
	require.Len(t, report.Channels, 2)
	for k, m := range report.Channels {
		assert.Equal(t, k+1, m.Channel)
		assert.Equal(t, []sweep.Side{sweep.Left, sweep.Right}[k], m.Side)
		assert.InDelta(t, 1000.5/float64(d.rate), m.Start, 0.0005, "to the delay of the headphones")
		assert.InDelta(t, -95.2, m.Noise, 1, "powers of −97 and −100 dBFS, less what the interface's high-pass takes")
		assert.Less(t, math.Abs(m.Offset), 1e-5)
		assert.Equal(t, 50.0, m.Valid.Low)
		assert.InEpsilon(t, 5300, m.Valid.High, 0.03)
	}
	assert.NoError(t, report.Err())
}

func TestNotFooled(t *testing.T) {
	race.Skip(t)
	full, err := sweep.New(sweep.Config{Start: 20, Duration: 2e9, SampleRate: 48000})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: full, Silence: 5e8, Gap: 4e8})
	require.NoError(t, err)
	low, err := sweep.New(sweep.Config{Start: 20, Duration: 2e9, SampleRate: 48000, Level: -3})
	require.NoError(t, err)
	lower, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: low, Silence: 5e8, Gap: 4e8})
	require.NoError(t, err)
	stored := func(channels [][]float64, bits int) *capture.Recording {
		for _, x := range channels {
			for i, v := range x {
				x[i] = min(v, 1-math.Ldexp(1, 1-bits))
			}
		}
		var file bytes.Buffer
		require.NoError(t, capture.Encode(&file, &capture.Recording{SampleRate: 48000, Channels: channels},
			capture.WriteConfig{Format: capture.Format{Bits: bits}, NoDither: true}))
		r, err := capture.Decode(&file, "x.wav", capture.ReadConfig{})
		require.NoError(t, err)
		return r
	}
	tone := make([]float64, 96000)
	squares := make([]float64, 96000)
	random := rand.New(rand.NewPCG(1, 9))
	for i := range tone {
		tone[i] = 0.9*math.Sin(2*math.Pi*float64(i)/48) + 1e-5*random.NormFloat64()
		note := float64(i % 12000)
		squares[i] = 0.6*math.Exp(-note/6000)*math.Copysign(1, math.Sin(2*math.Pi*110*math.Exp2(float64(i/12000)/12)*float64(i)/48000)) + 1e-4*random.NormFloat64()
	}
	for name, c := range map[string]struct {
		r       *capture.Recording
		o       said
		not     []response.FindingKind
		anyKind bool // no finding of any kind
	}{
		"a sweep to full scale in 16 bits": {stored(st.Channels(), 16), said{Stimulus: st, Direct: true}, nil, true},
		"a sweep to full scale in 24 bits": {stored(st.Channels(), 24), said{Stimulus: st, Direct: true}, nil, true},
		"the tops of a sweep in 8 bits": {stored(lower.Channels(), 8), said{Stimulus: lower, Direct: true},
			[]response.FindingKind{fitness.FlatTops, fitness.Clipping, fitness.DroppedSamples, fitness.RepeatedSamples}, false},
		"a steady tone of 48 samples": {stored([][]float64{tone}, 24), said{}, nil, true},
		"square waves that die away":  {stored([][]float64{squares}, 24), said{}, []response.FindingKind{fitness.FlatTops, fitness.Clipping}, false},
	} {
		t.Run(name, func(t *testing.T) {
			report := inspected(c.r, c.o)
			if c.anyKind {
				assert.Empty(t, report.AtLeast(response.Warning))
			}
			for _, k := range c.not {
				assert.Empty(t, report.Of(k))
			}
		})
	}
}

func TestSetOfRecordings(t *testing.T) {
	d := steady(t, false)
	first := d.recording(t)
	again := *d
	again.rig.Seed++
	again.channels = again.rig.Through(d.headphones, 1, d.stimulus.Channels())
	second := again.recording(t)
	same := func(a, b *capture.Recording) []response.Finding {
		return inspectedSet([]*capture.Recording{a, b}, d.options, d.options).Of(fitness.SameRecording)
	}
	assert.Empty(t, same(first, second), "two recordings of the same pair")
	renamed := *first
	renamed.Name = "second.wav"
	found := same(first, &renamed)
	require.Len(t, found, 1)
	assert.Equal(t, "second.wav", found[0].Recording)
	assert.Contains(t, found[0].What, "is the same as channel 1 of "+first.Name)

	louder, trimmed, other, one := *first, *first, *first, *first
	louder.Channels = rig.Quieten(first.Channels, 3)
	trimmed.Channels = [][]float64{first.Channels[0][500:], first.Channels[1][500:]}
	assert.Len(t, same(first, &louder), 1, "saved at another level")
	assert.Len(t, same(first, &trimmed), 1, "cut to another length")
	noisy := rand.New(rand.NewPCG(4, 4))
	other.Channels = [][]float64{slices.Clone(first.Channels[0]), slices.Clone(first.Channels[1])}
	for _, x := range other.Channels {
		for i := range x {
			x[i] += 1e-7 * noisy.NormFloat64()
		}
	}
	assert.Len(t, same(first, &other), 1, "dithered anew")
	one.Channels = first.Channels[1:]
	o := d.options
	o.Sides = []sweep.Side{sweep.Left}
	report := inspectedSet([]*capture.Recording{first, &one}, d.options, o)
	assert.Len(t, report.Of(fitness.SameRecording), 1, "one channel of it as a file of its own")
	assert.Len(t, report.Of(fitness.SwappedSides), 1, "and as the other side")
}

func TestBadRecordingsDoNotPanic(t *testing.T) {
	st := trialStimulus(t, false)
	nan := make([]float64, 5000)
	nan[77] = math.NaN()
	for name, c := range map[string]struct {
		channels [][]float64
		rate     int
		kind     response.FindingKind
	}{
		"no channels":       {nil, 12000, fitness.NoSamples},
		"no samples":        {[][]float64{{}, {}}, 12000, fitness.NoSamples},
		"no rate":           {[][]float64{{1}}, 0, fitness.NoSamples},
		"not a number":      {[][]float64{nan}, 12000, fitness.NoSamples},
		"one sample":        {[][]float64{{0.5}}, 12000, fitness.SilentChannel},
		"a hundred samples": {[][]float64{slices.Repeat([]float64{0.5, -0.5}, 50)}, 12000, fitness.NoSweep},
		"all full scale":    {[][]float64{slices.Repeat([]float64{1, 1, -1, -1}, 5000)}, 12000, fitness.Clipping},
		"a constant":        {[][]float64{slices.Repeat([]float64{0.5}, 20000)}, 12000, fitness.SilentChannel},
	} {
		t.Run(name, func(t *testing.T) {
			for _, o := range []said{{Stimulus: st}, {SampleRate: 12000}} {
				report := inspected(&capture.Recording{Name: "bad.wav", SampleRate: c.rate, Channels: c.channels}, o)
				if o.Stimulus != nil {
					assert.NotEmpty(t, report.Of(c.kind), "%v", report.Findings)
					assert.Error(t, report.Err())
				}
			}
		})
	}
	assert.Panics(t, func() {
		inspected(&capture.Recording{SampleRate: 12000, Channels: [][]float64{{1, 2}, {1}}}, said{})
	}, "channels of unequal length are a programmer's mistake")
}

func TestLabelledWithAnotherRate(t *testing.T) {
	s, err := sweep.New(sweep.Config{Duration: 1e9, SampleRate: 44100, Level: -9, Stop: 19000})
	require.NoError(t, err)
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 5e8, Gap: 3e8})
	require.NoError(t, err)
	played, err := sweep.New(sweep.Config{Duration: 1e9, SampleRate: 48000, Level: -9, Stop: 19000})
	require.NoError(t, err)
	other, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: played, Silence: 5e8, Gap: 3e8})
	require.NoError(t, err)
	report := inspected(&capture.Recording{Name: "left.wav", SampleRate: 48000, Channels: st.Channels()}, said{Stimulus: other})
	found := report.Of(fitness.NoSweep)
	require.NotEmpty(t, found)
	assert.Contains(t, found[0].What, "as recorded at 44100 Hz and labelled 48000 Hz")
}
