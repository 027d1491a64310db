package sweep

import (
	"fmt"
	"math"
	"slices"
	"time"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/taper"
)

// Question is a measurement of a stimulus besides the response.
type Question string

// Part is an additional part of a stimulus, after its sweeps: the signal for one of the Questions,
// or a timing mark before one. Start counts from the beginning of the stimulus.
type Part struct {
	Segment
	Asks Question // empty for a mark
	// Level is the peak level in dBFS: that of the sweep for a mark and for sweeps, and that of the
	// sum for several tones.
	Level float64
	// Tones are played at once, on both sides; nil for a mark and for sweeps.
	Tones []Tone
	// Period is the number of samples after which a multitone repeats; 0 for one tone and for two.
	Period int
}

// String returns the signal and its level: "tone of 1000 Hz at -12 dBFS".
func (p Part) String() string {
	at := fmt.Sprintf(" at %.4g dBFS", p.Level)
	switch {
	case len(p.Tones) == 1:
		return fmt.Sprintf("tone of %g Hz", p.Tones[0].Frequency) + at
	case len(p.Tones) == 2:
		return fmt.Sprintf("tones of %g Hz and %g Hz", p.Tones[0].Frequency, p.Tones[1].Frequency) + at
	case len(p.Tones) > 2:
		return fmt.Sprintf("%d tones from %.4g Hz to %.4g Hz",
			len(p.Tones), p.Tones[0].Frequency, p.Tones[len(p.Tones)-1].Frequency) + at
	}
	if p.Asks == AskGain {
		return "falling " + p.Kind.String() + at
	}
	return p.Kind.String() + at
}

// Settled returns the samples at which the steady stretch of tones begins and ends, counted from
// the first sample of the part. It leaves out the fades, the settling of the device, and 50 ms at
// the end.
func (p Part) Settled(sampleRate int) (from, to int) {
	return max(p.Period, sampleRate/4), p.Len - sampleRate/20
}

// Rising returns the short rising sweep that a part of AskGain plays backwards. Its band is that of
// the stimulus's sweep s. Rising returns nil for any other part.
func (p Part) Rising(s *Sweep) *Sweep {
	if p.Asks != AskGain {
		return nil
	}
	shortest := math.Log(s.stop/s.start) / s.start // one period in each e-fold
	short, err := New(Config{Start: s.start, Stop: s.stop, SampleRate: s.sampleRate, Level: p.Level,
		Duration: time.Duration(max(fallSeconds, shortest) * float64(time.Second))})
	if err != nil {
		panic(err) // the stimulus's own sweep has the same ends and rate
	}
	return short
}

// samples returns the signal of the part on each side that plays, with full scale 1.
func (p Part) samples(s *Sweep) []float64 {
	if p.Kind == Mark {
		return s.Mark()
	}
	if p.Asks == AskGain {
		x := p.Rising(s).Samples()
		slices.Reverse(x)
		return x
	}
	if len(p.Tones) == 0 {
		return s.AtLevel(p.Level).Samples()
	}
	x, rate := make([]float64, p.Len), float64(s.sampleRate)
	repeats := p.Len
	if p.Period > 0 {
		repeats = p.Period
	}
	fade := toneFade * rate
	for i := range x {
		if i < repeats {
			x[i] = at(p.Tones, float64(i), rate)
		} else {
			x[i] = x[i-repeats]
		}
	}
	for i := range min(int(fade), len(x)) {
		w := taper.Rise((float64(i) + 0.5) / fade)
		x[i] *= w
		x[len(x)-1-i] *= w
	}
	return x
}

// Tone is one of the tones of a part: Amplitude · sin(2π Frequency t + Phase).
type Tone struct {
	Frequency, Amplitude, Phase float64 // Hz, full scale 1, radians
}

// layer places parts one after another.
type layer struct {
	st    *Stimulus
	rate  float64
	level float64
	marks []int
}

// rest adds a silence of a length in seconds.
func (l *layer) rest(seconds float64) { l.st.whole += int(math.Round(seconds * l.rate)) }

// add adds a part, and a rest after it.
func (l *layer) add(p Part, rest float64) {
	p.Start = l.st.whole
	l.st.parts = append(l.st.parts, p)
	l.st.whole += p.Len
	l.rest(rest)
}

// mark adds a timing mark at a place where no two pairs of marks have the same distance, within
// 0.15 s. Any two marks can then be identified.
func (l *layer) mark() {
	apart := map[int]bool{}
	unit := int(0.15 * l.rate)
	for i, a := range l.marks {
		for _, b := range l.marks[:i] {
			for near := -1; near <= 1; near++ {
				apart[(a-b)/unit+near] = true
			}
		}
	}
	for slices.ContainsFunc(l.marks, func(m int) bool { return apart[(l.st.whole-m)/unit] }) {
		l.rest(0.1)
	}
	l.marks = append(l.marks, l.st.whole)
	l.add(Part{Segment: Segment{Kind: Mark, Len: l.st.sweep.markLen()}, Level: l.level}, toneRest)
}

// tones adds tones that are played at once. Their amplitudes are shares of the peak.
func (l *layer) tones(q Question, level, seconds float64, tones ...Tone) {
	for i := range tones {
		tones[i].Amplitude *= decibel.Amplitude(level)
	}
	l.add(Part{Segment: Segment{Kind: Tones, Len: int(math.Round(seconds * l.rate))}, Asks: q, Level: level, Tones: tones},
		toneRest)
}

// many adds a multitone at thirds of an octave across the sweep's band, on odd multiples of the
// repetition frequency, at least four of them apart: products of an even order then never fall on a
// tone. The phases π k²/K (D. J. Newman's, from memory) keep the peak low.
func (l *layer) many() {
	period := 1
	for period*2*5 <= int(l.rate) {
		period *= 2
	}
	base := l.rate / float64(period)
	var multiples []int
	for n := math.Ceil(10 * math.Log10(l.st.sweep.start/1000)); ; n++ {
		f := 1000 * math.Pow(10, n/10)
		if f > min(l.st.sweep.stop, 0.45*l.rate)*(1+1e-9) {
			break
		}
		k := 2*int(math.Round((f/base-1)/2)) + 1
		if len(multiples) == 0 || k >= multiples[len(multiples)-1]+4 {
			multiples = append(multiples, k)
		}
	}
	tones := make([]Tone, len(multiples))
	for i, k := range multiples {
		tones[i] = Tone{float64(k) * base, 1, math.Mod(math.Pi*float64(i*i)/float64(len(multiples)), 2*math.Pi)}
	}
	const finer = 8 // a peak between points is missed by at most 2 %, that of the highest tone alone
	var peak float64
	for i := range finer * period {
		peak = max(peak, math.Abs(at(tones, float64(i)/finer, l.rate)))
	}
	for i := range tones {
		tones[i].Amplitude = 1 / peak
	}
	p := Part{Segment: Segment{Kind: Tones, Len: int(math.Round(mostSeconds * l.rate))}, Asks: AskDistortion,
		Level: l.level, Tones: tones, Period: period}
	for i := range p.Tones {
		p.Tones[i].Amplitude *= decibel.Amplitude(p.Level)
	}
	l.add(p, toneRest)
}

const (
	toneSeconds  = 1.5  // for one tone
	toneFade     = 0.02 // at each end
	toneRest     = 0.6  // after it
	mostSeconds  = 2    // for two tones and for a multitone
	quietestStep = -18  // dB of the lowest level relative to the stimulus's own
	levelStep    = 6    // dB
	crosstalks   = 2    // sweeps per side
	fallSeconds  = 1.5  // of the falling sweep
	fallSofter   = 14   // dB
)

// The tones of a stimulus by default: octaves (the preferred frequencies of ISO 266) for
// distortion, and the tones at each level.
var (
	octaves    = []float64{31.5, 63, 125, 250, 500, 1000, 2000, 4000}
	levelTones = []float64{50, 200, 1000}
)

// pairs are two tones and their amplitudes: for modulation 60 Hz and 7 kHz, 4:1 (SMPTE RP 120, from
// memory), for the difference frequency 19 kHz and 20 kHz, 1:1 (IEC 60268-3, from memory).
var pairs = [][2]Tone{{{60, 0.8, 0}, {7000, 0.2, 0}}, {{19000, 0.5, 0}, {20000, 0.5, 0}}}

// checkParts returns an error for questions that cannot be asked.
func (c StimulusConfig) checkParts() error {
	for _, q := range c.Asks {
		if !slices.Contains(Questions(), q) {
			return fmt.Errorf("sweep: there is no question %q; choose from %v", q, Questions())
		}
	}
	for _, f := range c.Tones {
		if !(f >= 20 && f <= 0.45*float64(c.Sweep.sampleRate)) {
			return fmt.Errorf("sweep: a tone of %v Hz; choose one from 20 Hz to 0.45 of the sample rate", f)
		}
	}
	switch {
	case len(c.Tones) > 50:
		return fmt.Errorf("sweep: %d tones; choose up to 50", len(c.Tones))
	case len(c.Tones) > 0 && !slices.Contains(c.Asks, AskDistortion):
		return fmt.Errorf("sweep: tones without the question %q; add it to the questions", AskDistortion)
	case c.Louder && !slices.Contains(c.Asks, AskLevels):
		return fmt.Errorf("sweep: a louder level without the question %q; add it to the questions", AskLevels)
	case c.Louder && c.Sweep.level > -levelStep:
		return fmt.Errorf("sweep: a level %d dB above %g dBFS does not fit below full scale; "+
			"lower the level of the sweep to %d dBFS or less", levelStep, c.Sweep.level, -levelStep)
	case slices.Contains(c.Asks, AskGain) && c.Sweep.level < fallSofter-120:
		return fmt.Errorf("sweep: a sweep %d dB softer than %g dBFS; raise the level", fallSofter, c.Sweep.level)
	case len(c.Asks) > 0 && c.Unmarked:
		return fmt.Errorf("sweep: additional parts are found by the timing marks; leave the marks in")
	}
	return nil
}

// layParts places the additional parts after the last silence of the stimulus.
func (c StimulusConfig) layParts(st *Stimulus) {
	st.whole = st.length
	if len(c.Asks) == 0 {
		return
	}
	l := &layer{st: st, rate: float64(c.Sweep.sampleRate), level: c.Sweep.level}
	for _, m := range st.Find(Mark) {
		l.marks = append(l.marks, m.Start)
	}
	if slices.Contains(c.Asks, AskDistortion) {
		l.mark()
		tones := append(slices.Clone(octaves), c.Tones...)
		slices.Sort(tones)
		for _, f := range slices.Compact(tones) {
			l.tones(AskDistortion, l.level, toneSeconds, Tone{f, 1, 0})
		}
		l.many()
	}
	if slices.Contains(c.Asks, AskLevels) {
		top := 0
		if c.Louder {
			top = levelStep
		}
		for below := quietestStep; below <= top; below += levelStep {
			l.mark()
			if level := l.level + float64(below); below != 0 { // the sweeps of the stimulus have its own level
				l.add(Part{Segment: Segment{Kind: BothSweeps, Len: c.Sweep.Len()}, Asks: AskLevels, Level: level},
					c.Gap.Seconds())
			}
			for _, f := range levelTones {
				if below == 0 && slices.Contains(c.Asks, AskDistortion) &&
					(slices.Contains(octaves, f) || slices.Contains(c.Tones, f)) {
					continue // it is there already
				}
				l.tones(AskLevels, l.level+float64(below), toneSeconds, Tone{f, 1, 0})
			}
		}
	}
	if slices.Contains(c.Asks, AskModulation) {
		l.mark()
		for _, p := range pairs {
			if p[1].Frequency < 0.45*l.rate {
				l.tones(AskModulation, l.level, mostSeconds, p[:]...)
			}
		}
	}
	if slices.Contains(c.Asks, AskCrosstalk) {
		l.mark()
		for _, side := range []Kind{LeftSweep, RightSweep} {
			for range crosstalks {
				l.add(Part{Segment: Segment{Kind: side, Len: c.Sweep.Len()}, Asks: AskCrosstalk, Level: l.level},
					c.Gap.Seconds())
			}
		}
	}
	if slices.Contains(c.Asks, AskGain) {
		l.mark()
		for _, side := range []Kind{LeftSweep, RightSweep} {
			p := Part{Segment: Segment{Kind: side}, Asks: AskGain, Level: l.level - fallSofter}
			p.Len = p.Rising(l.st.sweep).Len()
			l.add(p, toneRest)
		}
	}
	l.mark()
	l.rest(c.Silence.Seconds())
}

// Parts returns the additional parts of the stimulus, in order of time, with the timing marks
// between them, or nil if there are none. They follow Len.
func (st *Stimulus) Parts() []Part { return slices.Clone(st.parts) }

// WholeLen returns the number of samples in each channel, with the additional parts.
func (st *Stimulus) WholeLen() int { return max(st.whole, st.length) }

// The questions.
const (
	AskDistortion Question = "distortion" // steady tones, one after another, and many at once
	AskLevels     Question = "levels"     // sweeps and steady tones at rising levels
	AskModulation Question = "modulation" // two tones at once, twice
	AskCrosstalk  Question = "crosstalk"  // each side alone, twice more
	// a short sweep that falls and is softer, which a device with level-dependent gain treats
	// differently
	AskGain Question = "gain"
)

// Questions returns all questions, in the order in which they are played.
func Questions() []Question {
	return []Question{AskDistortion, AskLevels, AskModulation, AskCrosstalk, AskGain}
}

// at returns the sum of tones after a number of samples.
func at(tones []Tone, samples, rate float64) (sum float64) {
	for _, t := range tones {
		cycles := t.Frequency * samples / rate
		sum += t.Amplitude * math.Sin(2*math.Pi*(cycles-math.Floor(cycles))+t.Phase)
	}
	return sum
}
