package review

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/parallel"
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

// Material is a piece of music or speech, recorded direct and through the headphones.
type Material struct {
	Name string
	Kind string // "music", "speech" or "effects"
	Side string // side of Through: "left" or "right"; empty means the first measured
	// Seating in which it was recorded, for a bench without a stimulus: a seating begins with the
	// first piece that names it. If it is empty, the first recording of a piece and side belongs to
	// the first seating, the second to the second, and so on.
	Seating string
	// Direct is the recording through the interface alone, and Through the one through the
	// headphones.
	Direct, Through Channel
	// Excerpt sets what is cut out to be compared by ear; nil means nothing.
	Excerpt *excerpt.Config
}

// channel returns the number of a channel, by default that of the side.
func (m Material) channel(c Channel) int {
	switch {
	case c.Number != 0:
		return c.Number
	case m.Side == sweep.Right.String() && c.Recording != nil && len(c.Recording.Channels) == 2:
		return 2
	}
	return 1
}

// Programme holds the results of one piece of material.
type Programme struct {
	Name string
	Kind string // "music", "speech" or "effects"
	Side string // "left" or "right"; empty means the first that was measured
	// Seating in which it was recorded, if the response comes from material alone.
	Seating string
	// Comparison is nil if the recordings could not be compared; Refused then says why.
	Comparison *programme.Comparison
	Refused    error
	// Sweep is the sweep's response of the same side in the first seating, less the microphone's
	// error, as in Comparison. It has no points if that side was not measured.
	Sweep response.Curve
	// Agreement of the two; nil if either is missing.
	Agreement *programme.Agreement
	// Spectrogram has both recordings over time; nil if they were not compared.
	Spectrogram *programme.Spectrogram
	// DirectLoudness and ThroughLoudness are the loudness in LUFS of the part that both recordings
	// share; NaN if it is too soft to have one.
	DirectLoudness, ThroughLoudness float64
	// Excerpts can be compared by ear; nil if the material asks for none or was not compared.
	Excerpts *Excerpts
	// Residuals is the part that no steady linear filter explains, by third octaves, with the
	// residual expected from noise and from the distortion measured with the sweep; nil without a
	// sweep.
	Residuals []Residual
	// FilterBefore says by how much in dB harmonics vary with frequency, from 50 Hz to 4 kHz,
	// beyond what a filter behind the nonlinearity explains; NaN if too little is known. A filter
	// before it makes them vary, and the predicted residual too low.
	FilterBefore float64
	// Findings are about the recordings.
	Findings []response.Finding
	// Level of the sound under the cup during the recording, corrected for the microphone's error
	// and Config.Field, and the permitted listening time by each rule; nil without a calibrator. A
	// level that is not known gives no permitted time.
	Level     *level.SoundLevel
	Allowance []level.Allowance

	powers *powerSpectra // of the direct recording; nil without a sweep
}

// ErrExchanged is the error for a piece whose direct recording and recording through the headphones
// are exchanged.
var ErrExchanged = errors.New(
	"review: its two recordings are exchanged: they give the inverse of the sweep's response; name the " +
		"recording straight through the interface as direct")

// exchanged reports whether the response from the material is the inverse of the sweep's. Its rms
// distance from the inverse, over third octaves, must be less than a third of that from the sweep's
// response and at least 1 dB smaller.
func (p *Programme) exchanged() bool {
	var as, upsideDown []float64
	for _, b := range p.Comparison.Bands(3) {
		if s := p.Sweep.At(b.Centre); !math.IsNaN(s + b.Difference) {
			// Both are corrected as if the microphone had made them.
			twice := 0.0
			if c := p.Comparison.Config.Correction; c != nil {
				twice = 2 * c.At(b.Centre)
			}
			as, upsideDown = append(as, b.Difference-s), append(upsideDown, b.Difference+s-twice)
		}
	}
	if len(as) < 3 {
		return false
	}
	far := stat.PopStdDev(as, nil)
	return far > 1 && stat.PopStdDev(upsideDown, nil) < far/3
}

// measureLevel sets the level of the material under the cup and the permitted listening time.
func (p *Programme) measureLevel(through Channel, b *Bench) error {
	x, rate, err := through.samples(1)
	if err != nil {
		return err
	}
	sound, err := level.Meter{SampleRate: rate, Sensitivity: *b.sensitivity,
		Correction: b.soundCorrection(rate, p.Side)}.Measure(x)
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

// material is a compared piece with the data of its recordings that are still needed.
type material struct {
	*Programme
	seating  int    // number of the seating, from 1; 0 if there is a stimulus
	name     string // of the recording through the headphones, and its channel
	channel  int
	rate     int    // Hz
	fromRate int    // Hz, the lower rate of a recording that was resampled, or 0
	print    string // of the samples through the headphones
}

// Play adds a piece of music or speech and compares its recordings. It keeps only the recordings of
// the last piece. Without a stimulus the response comes from such pieces alone: the pieces of one
// seating and side are averaged with weights from their uncertainties, and seatings are averaged
// like those of a stimulus.
func (p *Pair) Play(m Material) error {
	missing := func(c Channel) bool { return c.Recording == nil && c.Err == nil }
	if missing(m.Direct) || missing(m.Through) {
		return fmt.Errorf("review: %s needs two recordings, direct and through the headphones", m.Name)
	}
	p.forgetSamples()
	played := &material{}
	if p.bench.config.Stimulus == nil {
		m.Side = cmp.Or(m.Side, sweep.Left.String())
		played.seating = p.seatingOf(&m)
	}
	var err error
	var aligned *programme.Alignment // known already for another channel of the same recordings
	if p.last.Direct.Recording == m.Direct.Recording && p.last.Through.Recording == m.Through.Recording {
		aligned = p.lastAligned
	}
	p.last = Material{} // frees the recordings of the last piece, unless they are those of this one
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

// programme compares the recordings of a piece. A piece that cannot be compared is kept with the
// reason.
func (b *Bench) programme(m Material, aligned *programme.Alignment) (*Programme, error) {
	out := &Programme{Name: m.Name, Kind: m.Kind, Side: m.Side, Seating: m.Seating, DirectLoudness: math.NaN(),
		ThroughLoudness: math.NaN()}
	var set fitness.Set
	var inspected [2][]response.Finding
	for i, c := range []Channel{m.Direct, m.Through} {
		if c.Err != nil {
			continue
		}
		placed, err := placement.Locate(c.Recording, nil)
		if err != nil {
			return nil, err
		}
		number := m.channel(c)
		found := set.Inspect(placed, fitness.Config{Sides: inspectedWith(number, len(c.Recording.Channels))}).Findings
		found = slices.DeleteFunc(found, func(f response.Finding) bool {
			// One recording may hold both, each in its channel.
			return f.Channel != 0 && f.Channel != number || f.Kind == fitness.SameRecording && m.channel(m.Direct) != number
		})
		inspected[i] = found
		if i == 0 || b.config.UseUnfit { // in the direct recording, flat tops may belong to the material
			continue
		}
		if b.config.Stimulus != nil { // beside a sweep, what clips still has figures, with a warning
			found = slices.DeleteFunc(slices.Clone(found), func(f response.Finding) bool { return f.Kind != fitness.SameRecording })
		}
		out.Refused = unfitError(found)
	}
	if out.Refused == nil {
		out.Refused = b.compare(m, aligned, out)
	}
	if out.Comparison != nil {
		inspected = withoutMaterial(inspected, out.Comparison.Alignment)
	}
	out.Findings = slices.Concat(inspected[0], inspected[1])
	if b.sensitivity == nil || m.Through.Err != nil {
		return out, nil
	}
	m.Through.Number = m.channel(m.Through)
	if err := out.measureLevel(m.Through, b); err != nil {
		out.Findings = append(out.Findings, unusable(m.Through.name(), "its level is not known", err))
	}
	return out, nil
}

// compare sets the results that need both recordings.
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
	config := programme.Config{Rig: b.config.Rig, Band: response.Band{High: b.config.MaxFrequency}, Alignment: aligned}
	if microphone := b.microphoneOf(sideOf(m.Side)); microphone != nil {
		config.Correction = microphone.Correction()
	}
	c, err := programme.Compare(direct, through, config)
	if swapped(m, c, err, through, config) {
		err = errSwapped
	}
	if err != nil {
		return fmt.Errorf("%s: %w", m.Name, err)
	}
	c.Findings = append(c.Findings, detectMixedPiece(m, c, direct, through)...)
	a, st, errs := c.Alignment, b.config.Stimulus, make([]error, 2)
	steps := []func(){ // the longest first
		func() {
			if st != nil && st.Sweep() != nil {
				out.powers = newPowerSpectra(direct, a.From, a.To)
			}
		},
		func() { out.Spectrogram = programme.NewSpectrogram(direct, through, a) },
		func() { out.DirectLoudness, errs[0] = loudnessOf(direct, a.From, a.To) },
		func() { out.ThroughLoudness, errs[1] = loudnessOf(through, a.From+a.Delay, a.To+a.Delay) },
		func() { out.Excerpts = cutExcerpts(m, c, direct, through) },
	}
	parallel.Do(len(steps), func(i int) { steps[i]() })
	if err := cmp.Or(errs...); err != nil {
		out.powers, out.Spectrogram, out.Excerpts = nil, nil, nil
		return err
	}
	if s := out.Spectrogram; s != nil && slices.ContainsFunc(slices.Concat(c.Findings, s.Findings), makesWaver) {
		s.Findings = slices.DeleteFunc(s.Findings, func(f response.Finding) bool { return f.Kind == programme.Wavering })
	}
	out.Comparison = c
	return nil
}

// side returns the side of a name, the first measured side if the name is empty, or nil if there is
// none.
func (r *Results) side(name string) *Side {
	for _, s := range r.Sides() {
		if name == "" || s.Name == name {
			return s
		}
	}
	return nil
}

// agree compares the material with the sweep.
func (b *Bench) agree(r *Results, p *Programme) error {
	side := r.side(p.Side)
	if side == nil || p.Comparison == nil {
		return nil
	}
	first := side.Seatings[0]
	smoothed, err := first.Transfer.Smoothed(b.frequency, Smoothing)
	if err != nil {
		return err
	}
	if p.Sweep, err = b.withoutMicrophone(smoothed, first.side); err != nil {
		return err
	}
	p.Agreement, err = p.Comparison.Agreement(p.Sweep)
	if err == nil && p.exchanged() {
		*p = Programme{Name: p.Name, Kind: p.Kind, Side: p.Side, Findings: p.Findings, Sweep: p.Sweep,
			Refused:        ErrExchanged,
			DirectLoudness: math.NaN(), ThroughLoudness: math.NaN()}
	}
	return err
}

// soundCorrection returns the correction in dB that is added to levels of sound on a side: minus the
// microphone's error and minus Config.Field, with every stated component of uncertainty. It is nil
// if nothing is known and nothing is stated. A field without an uncertainty gets
// Config.Uncertainty; if that is zero, or no component covers the microphone, the uncertainty is
// not known.
func (b *Bench) soundCorrection(sampleRate int, side string) *response.Curve {
	of := sideOf(side)
	microphone, field := b.microphoneOf(of), b.config.Field
	if microphone == nil && field == nil && len(b.stated) == 0 {
		return nil
	}
	within := response.Band{Low: 1, High: float64(sampleRate) / 2}
	var known []response.Curve
	if microphone != nil {
		known = append(known, microphone.Response)
	}
	if field != nil {
		known = append(known, *field)
	}
	for _, c := range known {
		within = within.Intersect(c.Valid)
	}
	points := response.LogGrid(within.Low*(1+1e-6), within.High*(1-1e-6), PerOctave)
	points = append(append([]float64{within.Low}, points...), within.High)
	out := response.Curve{Frequency: points, Level: make([]float64, len(points)),
		Uncertainty: make([]float64, len(points)), Components: []response.CurveComponent{}, Valid: within}
	for i, f := range points {
		for _, c := range known {
			out.Level[i] -= c.At(f)
		}
	}
	out = b.withStated(out, of, nil)
	for _, s := range b.stated {
		if absolute(s.Name) {
			out = out.With(s.cause(""), func(float64) float64 { return s.Uncertainty }, math.Inf(1))
		}
	}
	covered := func(s Stated) bool { return s.Name == "rig" || s.Name == "microphone" }
	if microphone != nil && microphone.Response.Uncertainty == nil && !slices.ContainsFunc(b.stated, covered) {
		out = out.With(response.Cause{Name: "microphone"}, func(float64) float64 { return math.NaN() }, math.Inf(1))
	}
	if field != nil {
		out = out.With(response.Cause{Name: "field"}, func(f float64) float64 {
			if u := field.UncertaintyAt(f); !math.IsNaN(u) || b.config.Uncertainty == 0 {
				return u
			}
			return b.config.Uncertainty
		}, 1)
	}
	return &out
}

// sideOf returns the side of a name, the left one if the name is empty.
func sideOf(name string) sweep.Side {
	if name == sweep.Right.String() {
		return sweep.Right
	}
	return sweep.Left
}

// makesWaver reports whether a finding explains a difference that changes with the material.
func makesWaver(f response.Finding) bool {
	return f.Kind == fitness.MixedSides || f.Kind == programme.Wow || f.Kind == fitness.LevelControl
}

// inspectedWith returns the sides of the channels to inspect of a piece of which one is compared:
// both of two, since a copy or a mix shows in the pair, and that one alone of more.
func inspectedWith(number, channels int) []sweep.Side {
	if channels <= 2 || number < 1 || number > channels {
		return nil
	}
	sides := make([]sweep.Side, channels)
	sides[number-1] = fitness.EitherSide
	return sides
}

// atSamePlace is the time in seconds by which clicks of one place may differ in two recordings.
const atSamePlace = 0.005

// withoutMaterial drops the clicks and jumps that both recordings hold at the same place, direct
// and through: they are part of the material, such as a note that was cut off. It also drops those
// where one recording has no other to compare it with, which nothing is computed from.
func withoutMaterial(found [2][]response.Finding, a *programme.Alignment) (out [2][]response.Finding) {
	abrupt := func(f response.Finding) bool { return f.Kind == fitness.Clicks || f.Kind == fitness.DroppedSamples }
	for i, all := range found {
		out[i] = slices.DeleteFunc(slices.Clone(all), func(f response.Finding) bool {
			place := f.Time // in the recording through the headphones
			if i == 0 {
				place = f.Time*(1+a.Clock.Drift*1e-6) + a.Delay
			}
			if !abrupt(f) || place < a.From+a.Delay || place > a.To+a.Delay {
				return abrupt(f)
			}
			return slices.ContainsFunc(found[1-i], func(other response.Finding) bool {
				beside := other.Time
				if i == 1 {
					beside = other.Time*(1+a.Clock.Drift*1e-6) + a.Delay
				}
				return f.Kind == other.Kind && math.Abs(place-beside) < atSamePlace
			})
		})
	}
	return out
}

// errSwapped is the error for a piece recorded through the other cup.
var errSwapped = errors.New("review: left and right are swapped: what was recorded through the headphones is the other " +
	"channel of the direct recording; change over the cables or the channels, or turn the headphones round")

// If a channel leaves a residual above unexplainedByOwn dB, the other channel is tried. It counts
// as the better one if its residual is lower by betterExplainedBy dB.
const (
	unexplainedByOwn  = -25
	betterExplainedBy = 6
)

// swapped reports whether the recording through the headphones holds the other channel of a direct
// recording in stereo, given the result for its own.
func swapped(m Material, own *programme.Comparison, err error, through programme.Channel, c programme.Config) bool {
	left := math.Inf(1)
	if own != nil {
		left, c.Alignment = own.ResidualLevel, own.Alignment
	}
	if len(m.Direct.Recording.Channels) != 2 || !(left > unexplainedByOwn) ||
		err != nil && !errors.Is(err, programme.ErrDifferent) {
		return false
	}
	direct, err := programme.ChannelOf(m.Direct.Recording, 3-m.channel(m.Direct))
	if err != nil {
		return false
	}
	other, err := programme.Compare(direct, through, c)
	return err == nil && other.ResidualLevel < left-betterExplainedBy
}

// loudnessOf returns the loudness of a part in LUFS.
func loudnessOf(c programme.Channel, from, to float64) (float64, error) {
	fs := float64(c.SampleRate)
	x := c.Samples[max(0, int(from*fs)):min(len(c.Samples), int(to*fs))]
	l, err := loudness.Measure([][]float64{x}, c.SampleRate)
	return l.Integrated, err
}

// mostlyOther is the share of the residual of one channel that the other channel must explain to be
// named as its cause.
const mostlyOther = 0.5

// detectMixedPiece finds the other channel of a direct recording in stereo in the one through the
// headphones, beside its own.
func detectMixedPiece(m Material, c *programme.Comparison, direct, through programme.Channel) []response.Finding {
	if len(m.Direct.Recording.Channels) != 2 || !(c.ResidualLevel > mostResidual) {
		return nil
	}
	other, err := programme.ChannelOf(m.Direct.Recording, 3-m.channel(m.Direct))
	if err != nil {
		return nil
	}
	share := c.OtherChannel(direct, other, through)
	if !(share > mostlyOther) {
		return nil
	}
	f := doubt(through.Name, fitness.MixedSides, response.Warning)
	f.Channel = m.channel(m.Through)
	f.What = fmt.Sprintf("a part of %s, %.0f dB re the whole, is not the direct recording through any steady linear "+
		"filter, and %.0f %% of that part is its other channel: the player, a plug or a cable mixes the sides, "+
		"so levels may be off",
		m.Name, c.ResidualLevel, 100*share)
	f.Remedy = "turn off mono, crossfeed and spatial effects in the player and the system, push the plug in fully, " +
		"and record again"
	f.Figures = map[string]response.Figure{"other channel": {Value: share, Unit: "1"}}
	return []response.Finding{f}
}
