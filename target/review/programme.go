package review

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/response/level"
	"example.com/earnest/response/programme"
	"example.com/earnest/response/programme/excerpt"
	"example.com/earnest/response/programme/loudness"
	"example.com/earnest/sweep"
)

// Material is a piece of music or speech, recorded both ways.
type Material struct {
	Name string
	Kind string // "music", "speech" or "effects"
	Side string // that Through is of: "left" or "right"; empty means the first that was measured
	// Seating in which it was recorded, for a bench without a stimulus: a seating begins with the first
	// piece that names it. If it is empty, the first recording of a piece and side is of the first seating,
	// the second of the second, and so on.
	Seating string
	// Direct is the recording through the interface alone, Through that through the headphones.
	Direct, Through Channel
	// Excerpt says what is cut out to be compared by ear; nil means nothing.
	Excerpt *excerpt.Config
}

// Programme is what a piece of material says.
type Programme struct {
	Name string
	Kind string // "music", "speech" or "effects"
	Side string // "left" or "right"; empty means the first that was measured
	// Seating in which it was recorded, where the response is from material alone.
	Seating string
	// Comparison is nil where the recordings could not be compared; Refused then says why.
	Comparison *programme.Comparison
	Refused    error
	// Sweep is what the sweep says of the same side in the first seating, with the microphone left
	// in as it is in the material; no points where that side was not measured.
	Sweep response.Curve
	// Agreement of the two; nil where either is missing.
	Agreement *programme.Agreement
	// Spectrogram has both recordings over time; nil where they were not compared.
	Spectrogram *programme.Spectrogram
	// DirectLoudness and ThroughLoudness are those of the stretch that both recordings share, in
	// LUFS; NaN where it is too soft to have one.
	DirectLoudness, ThroughLoudness float64
	// Excerpts can be compared by ear; nil where the material asks for none or was not compared.
	Excerpts *Excerpts
	// Residuals is what no steady linear filter explains of it, by third octaves, with what noise and
	// the distortion by the sweep would leave; nil without a sweep.
	Residuals []Residual
	// Findings are about the recordings.
	Findings []response.Finding
	// Level of the sound under the cup as it was recorded, the microphone's response and
	// Config.Field taken off, and how long that may be heard by each rule; nil without a calibrator.
	// No time is allowed for a level that is not known.
	Level     *level.SoundLevel
	Allowance []level.Allowance

	powers *powerSpectra // of the direct recording; nil without a sweep
}

// material is a piece that was compared, with what is still needed of its recordings.
type material struct {
	*Programme
	seating  int    // its place among the seatings, from 1; 0 beside a stimulus
	name     string // of the recording through the headphones, and its channel
	channel  int
	rate     int    // Hz
	fromRate int    // Hz, the lower rate of a recording that was resampled, or 0
	print    string // of the samples through the headphones
}

// Play adds a piece of music or speech, and compares its recordings; it keeps no more of them than those
// of the last piece. Without a stimulus the response is from such pieces alone: those of one seating and
// side are combined by their uncertainties, and seatings are averaged as those of a stimulus are.
func (p *Pair) Play(m Material) error {
	missing := func(c Channel) bool { return c.Recording == nil && c.Err == nil }
	if missing(m.Direct) || missing(m.Through) {
		return fmt.Errorf("review: %s needs two recordings, direct and through the headphones", m.Name)
	}
	played := &material{}
	if p.bench.config.Stimulus == nil {
		m.Side = cmp.Or(m.Side, sweep.Left.String())
		played.seating = p.seatingOf(&m)
	}
	var err error
	var aligned *programme.Alignment // another channel of the same recordings needs no search
	if p.last.Direct.Recording == m.Direct.Recording && p.last.Through.Recording == m.Through.Recording {
		aligned = p.lastAligned
	}
	p.last = Material{} // whose recordings are let go of, unless they are those of this piece
	if played.Programme, err = p.bench.programme(m, aligned); err != nil {
		return err
	}
	p.last, p.lastAligned = m, nil
	if played.Comparison != nil {
		p.lastAligned = played.Comparison.Alignment
	}
	if r := m.Through.Recording; r != nil {
		played.name, played.channel, played.rate = r.Name, m.channel(m.Through), cmp.Or(resampledFrom(r), r.SampleRate)
		played.fromRate = lowestRate(resampledFrom(m.Direct.Recording), resampledFrom(r))
		if x, err := r.Channel(played.channel); err == nil && played.seating > 0 {
			played.print = statistic.Fingerprint(x)
		}
	}
	p.materials = append(p.materials, played)
	return nil
}

// channel is the number of a channel: that of its side where none is named.
func (m Material) channel(c Channel) int {
	switch {
	case c.Number != 0:
		return c.Number
	case m.Side == sweep.Right.String() && c.Recording != nil && len(c.Recording.Channels) == 2:
		return 2
	}
	return 1
}

// programme compares a piece of material. One that cannot be compared is kept with the reason.
func (b *Bench) programme(m Material, aligned *programme.Alignment) (*Programme, error) {
	out := &Programme{Name: m.Name, Kind: m.Kind, Side: m.Side, Seating: m.Seating, DirectLoudness: math.NaN(),
		ThroughLoudness: math.NaN()}
	var set fitness.Set
	for i, c := range []Channel{m.Direct, m.Through} {
		if c.Err != nil {
			continue
		}
		placed, err := placement.Locate(c.Recording, nil)
		if err != nil {
			return nil, err
		}
		found := set.Inspect(placed, fitness.Config{}).Findings
		out.Findings = append(out.Findings, found...)
		// Of the direct recording flat tops may be the material's own.
		if b.config.Stimulus == nil && !b.config.UseUnfit && i == 1 {
			out.Refused = unfitError(found)
		}
	}
	if out.Refused == nil {
		out.Refused = b.compare(m, aligned, out)
	}
	if b.sensitivity == nil || m.Through.Err != nil {
		return out, nil
	}
	m.Through.Number = m.channel(m.Through)
	if err := out.measureLevel(m.Through, b); err != nil {
		out.Findings = append(out.Findings, unusable(m.Through.name(), "how loud it was is not known", err))
	}
	return out, nil
}

// compare sets what the two recordings give together.
func (b *Bench) compare(m Material, aligned *programme.Alignment, out *Programme) error {
	if err := cmp.Or(m.Direct.Err, m.Through.Err); err != nil {
		return err
	}
	direct, err := programme.ChannelOf(m.Direct.Recording, m.channel(m.Direct))
	if err != nil {
		return err
	}
	through, err := programme.ChannelOf(m.Through.Recording, m.channel(m.Through))
	if err != nil {
		return err
	}
	c, err := programme.Compare(direct, through,
		programme.Config{Rig: b.config.Rig, Band: response.Band{High: b.config.MaxFrequency}, Alignment: aligned})
	if err != nil {
		return fmt.Errorf("%s: %w", m.Name, err)
	}
	a := c.Alignment
	if out.DirectLoudness, err = loudnessOf(direct, a.From, a.To); err != nil {
		return err
	}
	if out.ThroughLoudness, err = loudnessOf(through, a.From+a.Delay, a.To+a.Delay); err != nil {
		return err
	}
	out.Comparison, out.Spectrogram, out.Excerpts = c, programme.NewSpectrogram(direct, through, a),
		cutExcerpts(m, c, direct, through)
	if st := b.config.Stimulus; st != nil && st.Sweep() != nil {
		out.powers = newPowerSpectra(direct, a.From, a.To)
	}
	return nil
}

// loudnessOf returns the loudness of a stretch in LUFS.
func loudnessOf(c programme.Channel, from, to float64) (float64, error) {
	fs := float64(c.SampleRate)
	x := c.Samples[max(0, int(from*fs)):min(len(c.Samples), int(to*fs))]
	l, err := loudness.Measure([][]float64{x}, c.SampleRate)
	return l.Integrated, err
}

// side is the side of a name, the first that was measured for an empty one, or nil.
func (r *Results) side(name string) *Side {
	for _, s := range r.Sides() {
		if name == "" || s.Name == name {
			return s
		}
	}
	return nil
}

// agree sets the material beside the sweep.
func (r *Results) agree(p *Programme) error {
	side := r.side(p.Side)
	if side == nil || p.Comparison == nil {
		return nil
	}
	var err error
	if p.Sweep, err = side.Seatings[0].Transfer.Smoothed(grid(r.Config.band()), Smoothing); err != nil {
		return err
	}
	p.Agreement, err = p.Comparison.Agreement(p.Sweep)
	if err == nil && p.exchanged() {
		*p = Programme{Name: p.Name, Kind: p.Kind, Side: p.Side, Findings: p.Findings, Sweep: p.Sweep, Refused: ErrExchanged,
			DirectLoudness: math.NaN(), ThroughLoudness: math.NaN()}
	}
	return err
}

// ErrExchanged is why a piece of material is refused whose recordings are each other's.
var ErrExchanged = errors.New(
	"review: its two recordings are exchanged, for the response that they give is that of the sweep upside down; " +
		"name as direct what was recorded straight through the interface")

// exchanged tells whether the response from the material is that of the sweep upside down: less than a
// third as far from it, in dB rms over third octaves, and by 1 dB at least.
func (p *Programme) exchanged() bool {
	var as, upsideDown []float64
	for _, b := range p.Comparison.Bands() {
		if s := p.Sweep.At(b.Centre); !math.IsNaN(s + b.Difference) {
			as, upsideDown = append(as, b.Difference-s), append(upsideDown, b.Difference+s)
		}
	}
	if len(as) < 3 {
		return false
	}
	far := stat.PopStdDev(as, nil)
	return far > 1 && stat.PopStdDev(upsideDown, nil) < far/3
}

// measureLevel says how loud the material was under the cup, and how long that may be heard.
func (p *Programme) measureLevel(through Channel, b *Bench) error {
	x, rate, err := through.samples(1)
	if err != nil {
		return err
	}
	sound, err := level.Meter{SampleRate: rate, Sensitivity: *b.sensitivity,
		Correction: b.soundCorrection(rate)}.Measure(x)
	if err != nil {
		return err
	}
	var allowance []level.Allowance
	if !sound.A.Known() {
		p.Level = &sound
		return nil
	}
	for _, limit := range []level.Limit{level.Occupational, level.Recreational, level.RecreationalSensitive} {
		a, err := limit.Allow(sound.A)
		if err != nil {
			return err
		}
		allowance = append(allowance, a)
	}
	p.Level, p.Allowance = &sound, allowance
	return nil
}

// soundCorrection is what is added to levels of sound: minus what the microphone reads too high, and
// minus Config.Field; nil where neither is known. What does not state its uncertainty has
// Config.Uncertainty, or none that is known where that is zero.
func (b *Bench) soundCorrection(sampleRate int) *response.Curve {
	var known []response.Curve
	if b.microphone != nil {
		known = append(known, b.microphone.Response)
	}
	if b.config.Field != nil {
		known = append(known, *b.config.Field)
	}
	if len(known) == 0 {
		return nil
	}
	within := response.Band{Low: 1, High: float64(sampleRate) / 2}
	for _, c := range known {
		within = within.Intersect(c.Valid)
	}
	points := response.LogGrid(within.Low*(1+1e-6), within.High*(1-1e-6), PerOctave)
	points = append(append([]float64{within.Low}, points...), within.High)
	out := response.Curve{Frequency: points, Level: make([]float64, len(points)),
		Uncertainty: make([]float64, len(points)), Valid: within}
	for i, f := range points {
		for _, c := range known {
			u := c.UncertaintyAt(f)
			if math.IsNaN(u) && b.config.Uncertainty > 0 {
				u = b.config.Uncertainty
			}
			out.Level[i] -= c.At(f)
			out.Uncertainty[i] = math.Hypot(out.Uncertainty[i], u)
		}
	}
	return &out
}
