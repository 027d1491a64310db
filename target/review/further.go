package review

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/distortion"
	"example.com/earnest/distortion/tone"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// The kinds of findings about the parts of a stimulus that measure more than the response.
const (
	PartMissing response.FindingKind = "part missing"
	PartLeftOut response.FindingKind = "part left out"
)

// Further holds the results, for one side in one seating, of the parts of a stimulus that measure
// more than the response. A part that the recording does not hold or that cannot be read is left
// out and named in a finding.
type Further struct {
	// Held lists the questions for which the recording holds at least one part.
	Held []sweep.Question
	// Tones are steady tones, in the order in which they were played.
	Tones []SteadyTone
	// Modulation and Difference were measured with two tones; they are nil if these were not
	// recorded.
	Modulation, Difference *tone.Intermodulation
	// Many was measured with many tones at once; it is nil if these were not recorded.
	Many *tone.Multitone
	// Levels holds the sweeps at all levels, including that of the stimulus; nil if there are fewer
	// than two.
	Levels *distortion.LevelSeries
	// Crosstalk is the sound of the other side; nil if it was not recorded or if one channel holds
	// both sides.
	Crosstalk *Crosstalk
	// RubBuzz is the residue above the tenth harmonic; nil if no silence shows its floor, or if the
	// side's sweep is cut off.
	RubBuzz *distortion.Residue

	residue  []distortion.Reading      // its root mean square, with that of the interface in the floor
	sets     []*distortion.HarmonicSet // at the levels beside that of the stimulus
	findings []response.Finding
}

// leaveOut adds a finding that names a part that cannot be used.
func (f *Further) leaveOut(u use, part sweep.Part, err error) {
	one := doubt(u.recording.Name, PartLeftOut, response.Warning)
	one.Channel, one.Time, one.Duration = u.channel, u.parts.At(part), float64(part.Len)/float64(u.recording.SampleRate)
	one.What = fmt.Sprintf("the %v is left out: %v", part, strings.TrimPrefix(err.Error(), "tone: "))
	one.Remedy = "to measure it, record it again; the rest of the recording is used"
	f.findings = append(f.findings, one)
}

// mostOff is the largest accepted error of a tone's frequency on the player's clock, in parts per
// million.
const mostOff = 300

// addTone adds a steady tone. A finding says if its frequency is off, since its figures then belong
// to another frequency.
func (f *Further) addTone(r tone.Result, part sweep.Part, u use) error {
	played := part.Tones[0].Frequency
	frequency := r.Frequency.Value * (1 + 1e-6*u.parts.Clock.Drift) // on the player's clock
	if off := 1e6 * (frequency/played - 1); !(math.Abs(off) <= mostOff) {
		one := doubt(u.recording.Name, PartLeftOut, response.Warning)
		one.Channel, one.Time = u.channel, u.parts.At(part)
		one.What = fmt.Sprintf("the %v is at %.2f Hz in the recording, off by %+.0f parts per million, more "+
			"than clocks differ by; its figures belong to that frequency",
			part, frequency, off)
		one.Remedy = "play the file at its own sample rate, without changing its speed"
		f.findings = append(f.findings, one)
	}
	for _, one := range r.Findings {
		if one.Kind == tone.Clipping {
			return errClipped
		}
	}
	f.Tones = append(f.Tones, SteadyTone{Frequency: played, Played: part.Level, THD: r.THD, Orders: r.Harmonics,
		THDPlusN: r.THDPlusN, recorded: r.Level})
	return nil
}

// clone returns a copy that against may change.
func (f *Further) clone() *Further {
	out := *f
	out.Tones = slices.Clone(f.Tones)
	for i := range out.Tones {
		t := &out.Tones[i]
		t.Orders, t.THD.Contains = slices.Clone(t.Orders), slices.Clone(t.THD.Contains)
		t.THD.OutOfRange = slices.Clone(t.THD.OutOfRange)
	}
	if f.Modulation != nil {
		m := *f.Modulation
		out.Modulation = &m
	}
	if f.Difference != nil {
		d := *f.Difference
		out.Difference = &d
	}
	if f.Many != nil {
		m := *f.Many
		m.Bands = slices.Clone(m.Bands)
		out.Many = &m
	}
	if f.Crosstalk != nil {
		c := *f.Crosstalk
		c.Level.Level, c.Floor.Level = slices.Clone(c.Level.Level), slices.Clone(c.Floor.Level)
		out.Crosstalk = &c
	}
	return &out
}

// against adds the interface's own distortion to the floors. It is read from the direct recording,
// and the noise in that recording is added too, since a distortion below it is not known. The pair
// passes this distortion like any other signal, so it is multiplied by the measured response.
// Without a direct recording the pair's own distortion is not known.
func (f *Further) against(direct *Further, b *Bench, reading *Reading) {
	passed, shared := reading.Response, b.shared(reading.side)
	apart := shared.apart
	for i := range f.Tones {
		t := &f.Tones[i]
		own := direct.tone(t.Frequency, t.Played)
		var orders []distortion.Reading
		for k := range t.Orders {
			h := &t.Orders[k]
			if h.Reason == "" && math.IsNaN(passed.At(h.Frequency)) {
				h.Reason, h.Reading = "the response is not known there", nothing("dB")
				t.THD.Contains = slices.DeleteFunc(t.THD.Contains, func(n int) bool { return n == h.Order })
				t.THD.OutOfRange = append(t.THD.OutOfRange, h.Order)
			}
			if h.Reason != "" {
				continue
			}
			rig := math.NaN()
			if own != nil && k < len(own.Orders) {
				rig = ownLevel(own.Orders[k].Reading) + passed.At(h.Frequency) - passed.At(t.Frequency)
			}
			h.Reading = h.Reading.WithRig(rig, apart(h.Frequency, t.Frequency))
			orders = append(orders, h.Reading)
		}
		if len(orders) > 0 {
			t.THD.Reading = distortion.Sum(orders[0], orders[1:]...).Percent()
		}
		t.THD.Frequency, t.THD.Level = t.Frequency, b.soundLevel(t.recorded, t.Frequency, reading.side)
	}
	var modulation, difference *tone.Intermodulation
	if direct != nil {
		modulation, difference = direct.Modulation, direct.Difference
	}
	if m := f.Modulation; m != nil {
		m.Second.Reading = products(m.Second, modulation, func(d *tone.Intermodulation) tone.ProductSum { return d.Second },
			passed, m.Upper.Frequency, apart)
		m.Third.Reading = products(m.Third, modulation, func(d *tone.Intermodulation) tone.ProductSum { return d.Third },
			passed, m.Upper.Frequency, apart)
		m.Total.Reading = distortion.Sum(m.Second.Reading, m.Third.Reading)
	}
	if d := f.Difference; d != nil {
		middle := (d.Lower.Frequency + d.Upper.Frequency) / 2
		d.Second.Reading = products(d.Second, difference, func(d *tone.Intermodulation) tone.ProductSum { return d.Second },
			passed, middle, apart)
		d.Third.Reading = products(d.Third, difference, func(d *tone.Intermodulation) tone.ProductSum { return d.Third },
			passed, middle, apart)
		d.Total.Reading = products(d.Total, difference, func(d *tone.Intermodulation) tone.ProductSum { return d.Total },
			passed, middle, apart)
	}
	f.manyAgainst(direct, passed, shared)
	if f.Crosstalk != nil {
		f.Crosstalk.against(direct, reading.side)
	}
	f.rubBuzzAgainst(direct, apart)
	f.levelsAgainst(direct, b, reading)
}

// tone returns the results of a tone of a direct recording, or nil if it was not recorded.
func (f *Further) tone(frequency, played float64) *SteadyTone {
	if f == nil {
		return nil
	}
	for i, t := range f.Tones {
		if t.Frequency == frequency && t.Played == played {
			return &f.Tones[i]
		}
	}
	return nil
}

// manyAgainst is like against, for many tones. The direct recording's distortion in a band is
// relative to all its tones, and the pair changes their sum.
func (f *Further) manyAgainst(direct *Further, passed response.Curve, shared *sharedErrors) {
	if f.Many == nil {
		return
	}
	var played, through float64
	own := map[float64]float64{}
	if direct != nil && direct.Many != nil {
		for _, t := range direct.Many.Tones {
			if gain := passed.At(t.Frequency); !math.IsNaN(gain) {
				played, through = played+decibel.Power(t.AsRead), through+decibel.Power(t.AsRead+gain)
			}
		}
		for _, band := range direct.Many.Bands {
			own[band.Frequency] = ownLevel(band.Distortion) + passed.At(band.Frequency) - decibel.OfPower(through/played)
		}
	}
	var frequency, power []float64
	for _, t := range f.Many.Tones {
		frequency, power = append(frequency, t.Frequency), append(power, decibel.Power(t.AsRead))
	}
	tones := shared.on(frequency, power)
	var middle, read []float64 // of the parts
	var parts []distortion.Reading
	var along float64 // Σ of the interface's own amplitude times the one that was read
	f.Many.Bands = slices.DeleteFunc(f.Many.Bands, func(r tone.Residue) bool { return math.IsNaN(passed.At(r.Frequency)) })
	for i := range f.Many.Bands {
		band := &f.Many.Bands[i]
		if math.IsNaN(band.Distortion.AsRead) {
			continue
		}
		rig, known := own[band.Frequency]
		if !known {
			rig = math.NaN()
		}
		middle, read = append(middle, band.Frequency), append(read, decibel.Power(band.Distortion.AsRead))
		parts, along = append(parts, band.Distortion), along+decibel.Amplitude(rig+band.Distortion.AsRead)
		apart := floats.Distance(shared.on([]float64{band.Frequency}, []float64{1}), tones, 2)
		band.Distortion = band.Distortion.WithRig(rig, apart)
	}
	if len(parts) > 0 {
		// What moves the total most is the interface's own with one phase in all bands: each moves
		// it in proportion to the band's amplitude.
		rig := decibel.OfAmplitude(along / math.Sqrt(floats.Sum(read)))
		apart := floats.Distance(shared.on(middle, read), tones, 2)
		f.Many.Total.Distortion = distortion.Sum(parts[0], parts[1:]...).WithRig(rig, apart)
	}
}

// SteadyTone holds the results of a steady tone.
type SteadyTone struct {
	// Frequency in Hz and the Played level in dBFS peak, as in the stimulus.
	Frequency, Played float64
	// THD is relative to the fundamental. The interface's own distortion is in the floor, and the
	// response of the microphone is divided out. The level is not known without a calibrator.
	THD distortion.THD
	// Orders are the harmonics from the second up, in dB relative to the fundamental.
	Orders []tone.Harmonic
	// THDPlusN is the total power without the fundamental from 20 Hz to 20 kHz, as a ratio of
	// amplitudes in %. It includes the noise and distortion of the rig.
	THDPlusN response.Figure

	recorded response.Figure // dBFS of the fundamental
}

// swept is what was measured of a side's own sweeps, with which further parts are compared. If the
// sweeps are cut off, only gain and silence are known.
type swept struct {
	mean      []float64 // of averages of the sweeps; nil if they are cut off
	averages  int
	separated *response.Deconvolved // mean, separated
	harmonics *distortion.HarmonicSet
	gain      float64   // level in dB of the recorded sweeps re those played, in no particular unit
	silence   []float64 // nil if none shows the noise
}

// ask measures the further parts of a stimulus in the recording of a use.
func (b *Bench) ask(u use, s swept, microphone *level.Calibration) *Further {
	f, missing, held := &Further{}, map[sweep.Question][]string{}, map[sweep.Question]bool{}
	parts := b.config.Stimulus.Parts()
	for _, part := range parts {
		if part.Kind == sweep.Mark || part.Asks == sweep.AskCrosstalk {
			continue
		}
		err := b.askPart(f, u, part, s, microphone)
		held[part.Asks] = held[part.Asks] || err == nil
		if errors.Is(err, placement.ErrPart) && !errors.Is(err, placement.ErrPartCut) {
			missing[part.Asks] = append(missing[part.Asks], part.String())
		} else if err != nil {
			f.leaveOut(u, part, err)
		}
	}
	asks := func(q sweep.Question) (sweep.Part, bool) {
		i := slices.IndexFunc(parts, func(p sweep.Part) bool { return p.Asks == q })
		return parts[max(0, i)], i >= 0
	}
	if part, asked := asks(sweep.AskCrosstalk); asked {
		var err error
		if f.Crosstalk, err = b.askCrosstalk(u, s.silence); errors.Is(err, placement.ErrPart) {
			missing[part.Asks] = []string{"both sides alone"}
		} else if err != nil {
			f.leaveOut(u, part, err)
		}
		held[part.Asks] = err == nil
	}
	if part, asked := asks(sweep.AskDistortion); asked {
		var err error
		if f.RubBuzz, err = b.askRubBuzz(s); err != nil {
			f.leaveOut(u, part, err)
		}
	}
	for _, q := range sweep.Questions() {
		if held[q] {
			f.Held = append(f.Held, q)
		}
		if gone := missing[q]; len(gone) > 0 {
			one := doubt(u.recording.Name, PartMissing, response.Note)
			one.Channel = u.channel
			one.What = fmt.Sprintf("lacks the part of the stimulus for %s: %s", q, strings.Join(gone, ", "))
			one.Remedy = "to measure it, play the stimulus to its end in one seating and in the direct recording"
			f.findings = append(f.findings, one)
		}
	}
	return f
}

// askPart measures one part.
func (b *Bench) askPart(f *Further, u use, part sweep.Part, s swept, microphone *level.Calibration) error {
	if part.Asks == sweep.AskGain {
		return b.askGain(f, u, part, s)
	}
	if part.Kind != sweep.Tones {
		return b.askLevel(f, u, part, s, microphone)
	}
	x, err := u.parts.Cut(u.channel, part, 0, 0)
	if err != nil {
		return err
	}
	rate := u.recording.SampleRate
	from, to := part.Settled(rate)
	x = x[from:to]
	if clipped(x) {
		return errClipped
	}
	c := tone.Config{MaxFrequency: b.config.MaxFrequency}
	if microphone != nil {
		c.Correction = microphone.Correction()
	}
	switch lower := part.Tones[0].Frequency; len(part.Tones) {
	case 1:
		c.Frequency = lower
		r, err := tone.Analyse(x, rate, c)
		if err != nil {
			return err
		}
		return f.addTone(r, part, u)
	case 2:
		upper := part.Tones[1].Frequency
		if upper > 8*lower {
			r, err := tone.Modulation(x, rate, lower, upper, c)
			if err == nil {
				f.Modulation = &r
			}
			return err
		}
		r, err := tone.Difference(x, rate, lower, upper, c)
		if err == nil {
			f.Difference = &r
		}
		return err
	}
	frequencies := make([]float64, len(part.Tones))
	for i, t := range part.Tones {
		frequencies[i] = t.Frequency
	}
	r, err := tone.AnalyseMultitone(x, rate, part.Period, frequencies, c)
	if err == nil {
		f.Many = &r
	}
	return err
}

// soundLevel returns the level in dB SPL of a tone that was recorded at a level in dBFS, or NaN
// without a calibrator.
func (b *Bench) soundLevel(recorded response.Figure, frequency float64, side sweep.Side) float64 {
	if b.sensitivity == nil {
		return math.NaN()
	}
	v := recorded.Value - decibel.OfPower(2)
	if m := b.microphoneOf(side); m != nil {
		v += m.Correction().At(frequency)
	}
	return b.sensitivity.SPL(response.Figure{Value: v, Unit: level.RecordedLevel}).Value
}

// ownLevel returns the level to count as the interface's own distortion, from the direct recording:
// the reading or, if it is below its floor, half of its upper bound, so that noise neither hides
// distortion nor adds any.
func ownLevel(direct distortion.Reading) float64 {
	if direct.Below {
		return direct.Bound + decibel.OfAmplitude(0.5)
	}
	return direct.AsRead
}

var errClipped = errors.New("it clips, so its distortion comes from the clipping; lower the input gain")

// clipped reports whether at least four samples are at full scale. Noise on a peak that is not cut
// off rarely reaches full scale so often.
func clipped(x []float64) bool {
	const full = 1 - 1./(1<<15)
	count := 0
	for _, v := range x {
		if math.Abs(v) >= full {
			count++
		}
	}
	return count >= 4
}

// products returns the reading of intermodulation products. Its floor includes those of the direct
// recording as the pair passes them, relative to its response at a frequency.
func products(sum tone.ProductSum, direct *tone.Intermodulation, of func(*tone.Intermodulation) tone.ProductSum,
	passed response.Curve, reference float64, apart func(f, g float64) float64) distortion.Reading {
	own := math.NaN()
	if direct != nil {
		own = 0
		for _, p := range of(direct).Products {
			own += 100 * decibel.Amplitude(ownLevel(p.Reading)+passed.At(p.Frequency)-passed.At(reference))
		}
	}
	var unsure float64
	for _, p := range sum.Products {
		unsure = max(unsure, apart(p.Frequency, reference))
	}
	return sum.Reading.WithRig(own, unsure)
}
