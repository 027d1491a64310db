// Package fitness says whether a recording is fit to use, what is wrong with it, where, and what to
// do. It does not repair a recording: each fault is a response.Finding, with its severity.
package fitness

import (
	"fmt"
	"slices"
	"sync"

	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// EitherSide is the side of a channel that may hold the left side, the right one, or both in turn.
const EitherSide sweep.Side = -1

// Config states the content of a recording. The zero value is for headphones and a microphone, or
// for music and speech.
type Config struct {
	// Direct states that this is the interface patched into itself, not headphones and a
	// microphone.
	Direct bool
	// Sides states the side of each channel: sweep.Left, sweep.Right, EitherSide, or 0 for a
	// channel without a connection, which is not inspected; another side panics. Nil means left and
	// right of two channels, and either side of any other number.
	Sides []sweep.Side
	// SampleRate is that of the session in Hz; 0 means that of the stimulus, or any.
	SampleRate int
}

// Set is a set of recordings that belong together and are inspected one after the other. The zero
// Set is empty. It keeps the recordings, and may be used by several goroutines at once.
type Set struct {
	lock    sync.Mutex
	earlier []*recording
	plans   fft.Cache
	swept   inverses
}

// Inspect inspects a recording as the function Inspect does, adds it to the set, and also finds
// faults that only show between recordings: one that was given before.
func (s *Set) Inspect(p *placement.Placement, c Config) *Report {
	if slices.ContainsFunc(c.Sides, func(side sweep.Side) bool { return side < EitherSide || side > sweep.Right }) {
		panic("fitness: a channel records the left side, the right one, either, or neither")
	}
	var own *Report
	if p.Stimulus != nil && p.Stimulus.Sweep() == nil { // the effects of faults are known for sweeps only
		own = (&recording{Placement: ofSignal(p.Stimulus), Config: Config{Direct: true}, plans: &s.plans,
			inverses: &s.swept}).inspect()
		plain := *p
		plain.Stimulus = nil
		p = &plain
	}
	r := &recording{Placement: p, Config: c, plans: &s.plans, inverses: &s.swept}
	report := r.inspect()
	if own != nil { // a signal that ends with a jump, or has no treble, is no fault of the recording
		report.Findings = slices.DeleteFunc(report.Findings, func(f response.Finding) bool {
			return slices.ContainsFunc(own.Findings, func(o response.Finding) bool { return o.Kind == f.Kind })
		})
	}
	s.lock.Lock()
	defer s.lock.Unlock()
	for _, e := range s.earlier {
		report.Findings = append(report.Findings, detectSameRecording(r, e)...)
	}
	s.earlier = append(s.earlier, r)
	for _, c := range r.channels {
		c.forget()
	}
	slices.SortStableFunc(report.Findings, func(a, b response.Finding) int { return int(b.Severity) - int(a.Severity) })
	return report
}

// Clone returns a set of the same recordings. Recordings added to it are not added to s.
func (s *Set) Clone() *Set {
	s.lock.Lock()
	defer s.lock.Unlock()
	return &Set{earlier: slices.Clone(s.earlier)}
}

// recording is a recording under inspection.
type recording struct {
	*placement.Placement
	Config
	plans    *fft.Cache
	inverses *inverses
	channels []*channel // less those without a connection
}

// inspect finds all faults that one recording shows by itself.
func (r *recording) inspect() *Report {
	if found := detectNoSamples(r); found != nil {
		return &Report{Findings: found}
	}
	for k := range r.Recording.Channels {
		if r.Sides == nil || k < len(r.Sides) && r.Sides[k] != 0 {
			r.channels = append(r.channels, &channel{recording: r, number: k + 1})
		}
	}
	report, found := &Report{Findings: detectWrongRate(r)}, make([][]response.Finding, len(r.channels))
	report.Channels = make([]Measured, len(r.channels))
	r.each(func(i int, c *channel) { r.channels[i] = newChannel(r, c.number) })
	r.each(func(_ int, c *channel) { c.listen() })
	r.each(func(_ int, c *channel) {
		if !c.silent && !c.crosstalkOnly {
			c.breaks = findBreaks(c)
		}
	})
	r.each(func(i int, c *channel) { found[i], report.Channels[i] = c.inspect() })
	ofChannels := slices.Concat(found...)
	// A coder that leaves the treble in moves its sound in time. A coder with a cutoff does not,
	// and lost samples may have been the treble.
	coded := slices.ContainsFunc(ofChannels, func(f response.Finding) bool {
		_, cut := f.Figures["cutoff"]
		return f.Kind == LossyCodec && !cut
	})
	if jump := detectMarkTiming(r, ofChannels); jump != nil && !coded {
		ofChannels = append(r.withoutSideEffects(ofChannels), jump...)
	}
	ofChannels = append(ofChannels, detectMovingEffect(r, ofChannels)...)
	sides := detectWrongSides(r)
	report.Findings = append(report.Findings, withoutMixedMarks(ofChannels, sides)...)
	report.Findings = append(report.Findings, slices.Concat(detectSilentOrMissing(r), sides, detectPolarity(r))...)
	if !slices.ContainsFunc(sides, func(f response.Finding) bool { return f.Kind == CopiedChannel }) {
		report.Findings = append(report.Findings, detectCopiedChannels(r)...)
	}
	report.Findings = append(r.withOffClock(report.Findings), detectUnstatedLength(r)...)
	return report
}

// each calls do for every channel, concurrently.
func (r *recording) each(do func(i int, c *channel)) {
	var wait sync.WaitGroup
	for i, c := range r.channels {
		wait.Go(func() { do(i, c) })
	}
	wait.Wait()
}

// said returns the stated side of a channel, or 0 if none is stated.
func (r *recording) said(number int) sweep.Side {
	switch {
	case number <= len(r.Sides):
		return max(0, r.Sides[number-1]) // not EitherSide
	case r.Sides == nil && len(r.Recording.Channels) == 2:
		return [...]sweep.Side{sweep.Left, sweep.Right}[number-1]
	}
	return 0
}

// label names a channel; 0 means the recording as a whole.
func (r *recording) label(number int) string {
	switch n := len(r.Recording.Channels); {
	case number == 0 || n == 1:
		return "the recording"
	case n == 2:
		return [...]string{"left channel", "right channel"}[number-1]
	}
	return fmt.Sprintf("channel %d", number)
}

// finding completes a finding about the recording.
func (r *recording) finding(f response.Finding) response.Finding {
	f.Recording = r.Recording.Name
	return f
}

// pair returns the two channels of a recording that has two, otherwise nil.
func (r *recording) pair() (a, b *channel) {
	if len(r.channels) != 2 {
		return nil, nil
	}
	return r.channels[0], r.channels[1]
}

// sought reports whether the stimulus was looked for.
func (r *recording) sought() bool {
	return r.Stimulus != nil && r.Stimulus.Sweep().SampleRate() == r.Recording.SampleRate
}

// breaks are the places at which samples are missing, repeated or held, and clicks.
type breaks struct {
	repeated, held []response.Finding
	blocks, ends   []int // the samples at which repeated blocks begin, and stillness begins and ends
	discontinuities
	dropped int // jumps that withoutBursts found
}

// withoutBursts drops the clicks and jumps that a coder or clipping produces. If the coder keeps
// the treble, jumps that turn the phase of the sweep remain: samples are missing there.
func (b *breaks) withoutBursts(treble bool) {
	b.dropped = len(b.jumps)
	b.clicks = nil
	b.jumps = slices.DeleteFunc(b.jumps, func(d discontinuity) bool { return !treble || d.turn == 0 })
}

// report returns the findings; steady reports that no samples are missing or inserted. If the gain
// moves, the gain jumps and not the time. If there are steps back and forth, the delay moves.
func (b *breaks) report(c *channel, gain bool, steps int) (found []response.Finding, steady bool) {
	switch {
	case steps > 0 && len(b.jumps) > 0: // a cutoff may have taken them
		return b.reportSteps(c, steps), false
	case gain:
		b.discontinuities, b.held, b.ends, b.dropped = discontinuities{}, nil, nil, 0
	}
	found = slices.Concat(b.repeated, b.held, b.reportJumps(c), b.reportClicks(c))
	return found, len(b.blocks)+len(b.ends)+max(len(b.jumps), b.dropped) == 0
}

// inspect finds all faults that one channel shows by itself, and returns its measurements. A fault
// that resembles many others comes first: a cut-off, then cut tops, time, level, echoes, noise.
func (c *channel) inspect() (found []response.Finding, m Measured) {
	if c.silent || c.crosstalkOnly {
		return nil, c.measured(response.Band{})
	}
	coarse, alone := detectLowBitDepth(c)
	if alone {
		return coarse, c.measured(response.Band{})
	}
	if gone := detectInterruptions(c); gone != nil {
		return gone, c.measured(response.Band{})
	}
	if steps := detectLevelSteps(c); steps != nil {
		return steps, c.measured(response.Band{})
	}
	add := func(f []response.Finding) { found = append(found, f...) }
	add(coarse)
	tail, whole := detectCutTail(c)
	var cut, images, moves []response.Finding
	var cutoff float64
	tops := slices.Concat(detectClipping(c), detectFlatTops(c))
	broken, steps := c.breaks, c.backAndForth()
	if whole && c.placed != nil && tops == nil && steps == 0 {
		images = detectImages(c)
	}
	if cut = images; whole && images == nil {
		cut, cutoff = detectBandwidth(c)
	}
	if whole && cut == nil && c.placed != nil && tops == nil && steps == 0 {
		cut = detectCoderNoise(c, broken.bursts)
	}
	add(cut)
	add(tops)
	if whole && c.placed != nil && tops == nil {
		moves = detectLevelControl(c, cut != nil && cut[0].Kind == LossyCodec)
	}
	if cut != nil || tops != nil {
		broken.withoutBursts(cut != nil && cutoff == 0 && tops == nil && images == nil)
	}
	breaks, steady := broken.report(c, moves != nil && c.gainMoves(), steps)
	add(breaks)
	add(tail)
	hum := detectHum(c)
	steadily := slices.Concat(detectDCOffset(c), hum)
	if whole {
		steadily = append(steadily, detectSteadyTones(c, hum != nil)...)
	}
	if whole {
		low, valid := detectLowLevel(c, cutoff)
		if steady && c.placed != nil {
			add(c.inspectSweep(valid, cut != nil, tops == nil, moves, steadily))
		}
		add(low)
		m = c.measured(valid)
	} else {
		m = c.measured(response.Band{})
	}
	add(steadily)
	return found, m
}

// inspectSweep finds the faults that the response to a whole sweep shows in its valid band. Faults
// of the whole recording are known by then, since a short stretch cannot distinguish them from
// sound below the sweep.
func (c *channel) inspectSweep(valid response.Band, coded, unclipped bool, moves,
	steadily []response.Finding) (found []response.Finding) {
	add := func(f []response.Finding) { found = append(found, f...) }
	add(detectWow(c, valid))
	if unclipped {
		add(detectSoftClipping(c))
	}
	if !c.late() {
		add(moves)
	}
	again := detectEcho(c)
	add(again)
	if moves == nil && again == nil && !coded && unclipped {
		explained := 0.0
		for _, f := range steadily {
			explained = max(explained, f.Figures["error"].Value)
		}
		add(detectDisturbance(c, explained))
	}
	return found
}

// Inspect reports whether a recording of the stimulus, or of music or speech, is fit to use. It
// also inspects a recording in which Locate did not find the stimulus. The recording is only read.
//
// With a known stimulus, severity follows from the effect of a fault on the response that is
// computed from the recording: an effect of less than 0.1 dB does not make the recording unfit. The
// predictions are for one sweep in the default window of response.Impulse.Window; a longer window
// lets in more noise and hum. A response is reliable within Measured.Valid only.
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
//	LowBitDepth       steps of 12 bits or fewer, and a peak below 1000   peak below 100 steps; few values
//	                  of them; at most 256 values, as of a code of
//	                  8 bits for speech
//	DCOffset          a note from 0.001 of full scale (−60 dBFS) on with its change moves the response by 0.1 dB;
//	                  a stimulus, since a take is cut out without it     else 0.1 of the peak
//	MainsHum          a note where it can be seen; moves the response    0.1 dB; −30 dB
//	                  by 0.03 dB; else −50 dB re the programme
//	SteadyTone        14 dB above the noise beside it in the silences,   never
//	                  and moves the response over a twelfth of an
//	                  octave by 0.03 dB, or is 3 % of the response
//	DroppedSamples    a jump of 10 times the local prediction error,     with a stimulus; standing still
//	                  and 80 dB below the peak (50 without a stimulus),
//	                  and 40 dB below the sweep, or with its phase;
//	                  standing still for 32 samples; a band of a sweep
//	                  one sample off its place between the marks
//	RepeatedSamples   16 samples to 0.25 s twice in a row, bit for bit   always
//	Clicks            as a jump, but 1 to 8 samples mend it              moves the response by 0.1 dB
//	SilentChannel     below −80 dBFS; noise alone; leakage alone; 20 dB  always
//	                  softer for 5 ms of the sweep than beside that,
//	                  or from there to the end
//	SwappedSides      the other side's sweep in a channel                always
//	MixedSides        that beside its own, above −20 dB re its own       two channels, from −6 dB on
//	OppositePolarity  the sides correlate below −0.6; programme, −0.8;   with a stimulus, two channels
//	                  a note for all of a direct recording
//	SameRecording     equal to 0.001 %, or the same noise (0.9)          always
//	CopiedChannel     as that; or the same sweep at the same time        with a stimulus
//	CutTail           the end stands 10 dB above the noise, or is not    with a stimulus; else a note
//	                  there; a note where the closing mark is missing
//	NoSweep           the best match is less than 26 dB above others     always
//	Disturbance       below the sweep, or late in its response, stands   moves the response by 0.1 dB
//	                  10 dB more than in the silences, does not ring
//	                  on from it, and moves the response by 0.03 dB
//	Wow               the speed wavers at one rate to 20 Hz, six         moves the response by 0.1 dB
//	                  times what noise would do, and moves the
//	                  response by 0.03 dB; six jumps, a fifth of them    always
//	                  back; a band of a sweep one sample off its place   0.1 ms
//	                  among the others
//	SoftClipping      the third harmonic is the cube of the fundamental  moves the response by 0.3 dB;
//	                  as recorded, and moves the response by 0.1 dB; or  never
//	                  follows the response at its frequency, by 0.5 dB
//	LevelStep         2 dB at once in the sweep, steady within a third   always
//	                  of that for two periods before and after
//	Fade              a mark is softer than the sweep, as LevelControl,  by 0.5 dB
//	                  and the noise of the silence at that end rises
//	                  from nothing
//	LevelControl      a mark is off the sweep by 0.15 dB and more than   by 0.5 dB
//	                  noise does; noise above 9 kHz moves with the sound
//	Echo              a peak of the cepstrum of 0.015 from 12 ms on, of    0.06
//	                  0.08 from 5 ms on; the response goes on for 0.2 s    moves it by 0.1 dB
//	                  in every octave
//	Resampled         images of the sweep, moved by 600 Hz or more,       moves the response by 0.1 dB
//	                  that move the response by 0.03 dB
//	Resampled,        the response, or the spectrum of anything else,    with a stimulus
//	LossyCodec        falls by 30 dB within a sixth of an octave, below
//	                  0.9 of half the sample rate; a coder's noise:      moves the response by 0.1 dB
//	                  before the response, 8 dB above the silence in
//	                  each octave and 15 dB in most; three bursts
//	                  through which the phase of the sweep goes on;
//	                  noise that grows with its frequency by 3 dB in
//	                  two octaves; noise in the treble that falls by
//	                  6 dB, or by 3 dB more in one band than in
//	                  another, while a mark says that no gain does
//
// Some faults cannot be found: sound during the sweep's upper half only, or as loud in the
// silences; hum and noise if the recording holds no quiet stretch of 0.1 s (hum: 0.25 s); swapped
// sides in a single channel of a stimulus without marks; a block that is missing from noise, and,
// without marks, from silence or by whole periods of the sweep; clicks in tops that are cut off; a
// speed that wavers less than once while the sweep goes from 200 Hz to 2 kHz.
func Inspect(p *placement.Placement, c Config) *Report { return new(Set).Inspect(p, c) }

// ofSignal returns a recording of the stimulus alone.
func ofSignal(st *sweep.Stimulus) *placement.Placement {
	return &placement.Placement{Recording: &capture.Recording{Name: "what was played",
		SampleRate: st.Signal().SampleRate(), Channels: st.Channels()}}
}

func findBreaks(c *channel) (b breaks) {
	b.repeated, b.blocks = detectRepeatedBlocks(c)
	b.held, b.ends = detectHeldSamples(c)
	b.discontinuities = detectDiscontinuities(c, slices.Concat(b.blocks, b.ends))
	return b
}
