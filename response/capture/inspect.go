package capture

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// InspectOptions says what a recording is said to be. The zero value is music, speech or anything else.
type InspectOptions struct {
	// Stimulus that was played; nil for anything else.
	Stimulus *sweep.Stimulus
	// Direct says that this is the interface patched into itself, not headphones and a microphone.
	Direct bool
	// Sides says which side each channel records: sweep.Left, sweep.Right, or 0 for a channel that nothing was
	// connected to. Nil means left and right of two channels, and either side of any other number.
	Sides []sweep.Side
	// SampleRate of the session in Hz; 0 means that of the stimulus, or any.
	SampleRate int
}

// Inspection is a recording, and what it is said to be.
type Inspection struct {
	Recording *Recording
	InspectOptions
}

// Inspect says whether a recording of the stimulus, or of music or speech, is fit to use. The recording is only read.
//
// Where the stimulus is known, severity follows from what a fault does to the response that is computed from the
// recording: what moves it by less than 0.1 dB does not make the recording unfit. The predictions are for one sweep in the window that
// response.Impulse.Window takes unless told otherwise; a longer window lets in more noise and hum. A response is to be believed within
// Measured.Valid, no further.
//
//	kind              found from                                         unfit
//	NoSamples         no samples; NaN, infinity                          always
//	WrongRate         another sample rate than the session's; clocks     always
//	                  that differ by 450 ppm
//	Clipping          4 samples within 1.5 steps of full scale, three    with a stimulus; else from 1 in 100 000
//	                  quarters of those within 6 steps
//	FlatTops          24 samples within a ten-thousandth (2 steps, 8     with a stimulus; else never
//	                  times the noise) of the highest, three quarters
//	                  of those within four times that
//	LowLevel          peak below 1000 steps; stimulus: noise moves the   below 100 steps; in half of the sweep's
//	                  response by 0.1 dB; else peak below −40 dBFS, or   octaves; below −60 dBFS
//	                  35 dB above the noise of its pauses
//	DCOffset          0.001 of full scale (−60 dBFS)                     moves the response by 0.1 dB; else 0.1 of the peak
//	MainsHum          a note where it can be seen; moves the response    0.1 dB; −30 dB
//	                  by 0.03 dB; else −50 dB re the programme
//	DroppedSamples    a jump of 10 times the local prediction error,     with a stimulus; standing still
//	                  and 80 dB below the peak (50 without a stimulus);
//	                  standing still for 32 samples; a sweep 1 ms off
//	                  its place between the marks
//	RepeatedSamples   16 samples to 0.25 s twice in a row, bit for bit   always
//	Clicks            as a jump, but 1 to 8 samples mend it              moves the response by 0.1 dB
//	SilentChannel     below −80 dBFS; noise alone; spill alone           always
//	SwappedSides      the other side's sweep in a channel                always
//	OppositePolarity  the sides correlate below −0.6; programme, −0.8;   with a stimulus, two channels
//	                  a note for all of a direct recording
//	SameRecording     equal to 0.001 %, or the same noise (0.9)          always
//	CopiedChannel     as that; or the same sweep at the same time        with a stimulus
//	CutTail           the end stands 10 dB above the noise, or is not    with a stimulus; else a note
//	                  there; a note where the closing mark is missing
//	NoSweep           the best match is less than 26 dB above others     always
//	Disturbance       below the sweep stands 10 dB more than in the      moves the response by 0.1 dB
//	                  silences, and moves the response by 0.03 dB
//	Wow               the speed wavers at one rate to 20 Hz, six         moves the response by 0.1 dB
//	                  times what noise would do, and moves the
//	                  response by 0.03 dB
//	Resampled,        the spectrum falls by 30 dB within a sixth of an   with a stimulus
//	LossyCodec        octave, below 0.9 of half the sample rate
//
// What cannot be known is not found: sound during the sweep's upper half only, or as loud in the silences; hum and noise where the recording holds no quiet stretch of 0.1 s (hum: 0.25 s), swapped sides in a
// single channel of a stimulus without marks, a block that is missing from noise, a jump by whole periods of the sweep or within
// 6 ms of its ends, clicks where tops are cut off, a speed that wavers less than once while the sweep goes from 200 Hz to 2 kHz.
func Inspect(r *Recording, o InspectOptions) *Report {
	return InspectSet([]Inspection{{r, o}})
}

// InspectSet inspects recordings that belong together, each as Inspect does, and finds what only shows between them: a
// recording that was given twice.
//
// Channels of one recording that differ in length panic.
func InspectSet(set []Inspection) *Report {
	for _, s := range set {
		for _, x := range s.Recording.Channels {
			if len(x) != s.Recording.Len() {
				panic("capture: channels differ in length")
			}
		}
	}
	all := make([]*examination, len(set))
	references, plans := newReferences(set), &fft.Cache{}
	var wait sync.WaitGroup
	for i, s := range set {
		all[i] = &examination{Inspection: s, ref: references[s.Stimulus], plans: plans}
		wait.Go(all[i].run)
	}
	wait.Wait()
	report := &Report{}
	for _, e := range all {
		report.Channels = append(report.Channels, e.measured()...)
	}
	compareSet(all)
	for _, e := range all {
		slices.SortStableFunc(e.findings, func(a, b response.Finding) int { return int(b.Severity) - int(a.Severity) })
		report.Findings = append(report.Findings, e.findings...)
	}
	return report
}

// Measured is what was measured of a channel.
type Measured struct {
	Recording string // its name
	Channel   int    // counted from 1
	// Peak in dBFS peak and Level in dBFS rms; −Inf for silence.
	Peak, Level float64
	// Noise in dBFS rms, hum included, from the silence of the stimulus or the longest quiet stretch; NaN where there is none.
	Noise float64
	// Offset is the DC offset, full scale being 1.
	Offset float64
	// Start is the time in seconds at which the stimulus begins; NaN if it was not found.
	Start float64
	// Side that the channel holds; 0 if it is not known.
	Side sweep.Side
	// Valid is where noise moves the response of one sweep by less than 0.1 dB, around 1 kHz; empty if it is not known.
	Valid response.Band
}

// examination is an inspection under way.
type examination struct {
	Inspection
	ref      *reference // nil without a stimulus
	plans    *fft.Cache
	channels []*channel
	findings []response.Finding
}

// channel is what the detectors know of a channel.
type channel struct {
	*examination
	number int // counted from 1
	x      []float64
	fs     float64
	levels
	step   float64     // of quantisation; 0 if there is none
	mute   bool        // there is nothing in it
	broken []int       // where blocks are repeated or held, in samples
	jumped bool        // something is missing, or too much
	cutOff bool        // its tops are
	stray  bool        // it holds only what spills over from another channel
	placed *placement  // of the stimulus; nil if there is none
	lone   int         // where a mark begins, in samples, if there is one but no sweep; else 0
	quiet  [][]float64 // stretches in which nothing is played
	still  *spectrum   // of the quiet, once it is known
	swept  *spectrum   // of the sweep, once it is known
	valid  response.Band
	cutoff float64 // in Hz, above which there is nothing; 0 if there is none
	found  []response.Finding
}

// run looks for everything that one recording shows.
func (e *examination) run() {
	if !e.usable() {
		return
	}
	e.rate()
	e.each((*channel).listen)
	e.settleSides()
	e.each((*channel).examine)
	for _, c := range e.channels {
		e.findings = append(e.findings, c.found...)
	}
	e.absent()
	e.swapped()
	e.polarity()
	e.copied()
	if e.Recording.LengthUnstated {
		e.add(response.Finding{Kind: LengthUnstated, Time: nowhere, Duration: nowhere,
			What:   "the header leaves the length open, so nothing tells whether the end is missing",
			Remedy: "let the recorder finish its file, or compare its length with that of what was played"})
	}
}

func (e *examination) each(do func(*channel)) {
	var wait sync.WaitGroup
	for _, c := range e.channels {
		wait.Go(func() { do(c) })
	}
	wait.Wait()
}

// listen finds out how loud the channel is, and where the stimulus is.
func (c *channel) listen() {
	c.levels = levelsOf(c.x, c.fs)
	c.step = stepOf(c.x, c.Recording.Format)
	if c.mute = c.isMute(); !c.mute {
		c.locate()
	}
}

// examine looks for everything that one channel shows by itself.
func (c *channel) examine() {
	if c.mute || c.stray {
		return
	}
	c.quiet = c.quietStretches()
	c.clipping()
	c.flatTops()
	c.offset()
	c.mains()
	c.repeats()
	c.held()
	c.breaks()
	c.timing()
	if whole := c.tail(); whole {
		c.treble()
		c.tooLow()
		if c.placed != nil {
			c.disturbed()
			c.wow()
		}
	}
}

// usable tells whether there is anything to look at, and splits it into channels.
func (e *examination) usable() bool {
	r := e.Recording
	if r.Len() == 0 || r.SampleRate < 1 {
		e.add(response.Finding{Kind: NoSamples, Severity: response.Unfit, What: "there are no samples in it", Remedy: "check that the recorder was armed, and record again"})
		return false
	}
	for k, x := range r.Channels {
		for i, v := range x {
			if v-v != 0 {
				e.add(response.Finding{Kind: NoSamples, Severity: response.Unfit, Channel: k + 1, Time: float64(i) / float64(r.SampleRate),
					What:   fmt.Sprintf("%s is not a number at %s", e.label(k+1), clock(float64(i)/float64(r.SampleRate))),
					Remedy: "export the recording again"})
				return false
			}
		}
	}
	for k, x := range r.Channels {
		if e.side(k+1) == 0 && e.Sides != nil {
			continue
		}
		e.channels = append(e.channels, &channel{examination: e, number: k + 1, x: x, fs: float64(r.SampleRate)})
	}
	return true
}

// side that a channel is said to record; 0 if nothing is said.
func (e *examination) side(number int) sweep.Side {
	switch {
	case number <= len(e.Sides):
		return e.Sides[number-1]
	case e.Sides == nil && len(e.Recording.Channels) == 2:
		return [...]sweep.Side{sweep.Left, sweep.Right}[number-1]
	}
	return 0
}

// label names a channel.
func (e *examination) label(number int) string {
	switch n := len(e.Recording.Channels); {
	case number == 0 || n == 1:
		return "the recording"
	case n == 2:
		return [...]string{"left channel", "right channel"}[number-1]
	}
	return fmt.Sprintf("channel %d", number)
}

// add completes a finding and keeps it.
func (e *examination) add(f response.Finding) {
	f.Recording = e.Recording.Name
	e.findings = append(e.findings, f)
}

// add completes a finding about a channel; What begins with the verb.
func (c *channel) add(f response.Finding) {
	f.Recording, f.Channel = c.Recording.Name, c.number
	f.What = c.label(c.number) + " " + f.What
	c.found = append(c.found, f)
}

// unfitIf is response.Unfit or response.Warning.
func unfitIf(b bool) response.Severity {
	if b {
		return response.Unfit
	}
	return response.Warning
}

// nowhere is the place in time of what has none.
var nowhere = math.NaN()

// clock writes a time in seconds.
func clock(t float64) string { return fmt.Sprintf("%.2f s", t) }

func (e *examination) measured() []Measured {
	var out []Measured
	for _, c := range e.channels {
		m := Measured{Recording: e.Recording.Name, Channel: c.number, Peak: decibels(c.peak), Level: decibels(c.rms), Noise: math.NaN(),
			Offset: c.mean, Start: math.NaN(), Valid: c.valid}
		if len(c.quiet) > 0 {
			m.Noise = decibels(rmsOf(c.quiet))
		}
		if c.placed != nil {
			m.Side = c.placed.side
			m.Start = c.placed.start / c.fs
		}
		out = append(out, m)
	}
	return out
}
