package review

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// mostOffLevel is the largest accepted difference in dB between recorded and played level of a
// sweep, relative to the stimulus's own sweeps. Headphones compress by less before they distort
// badly (common practice).
const mostOffLevel = 3

// MaxLevel is the highest level at which total harmonic distortion stays below a limit.
type MaxLevel struct {
	// Frequency of the fundamental in Hz, and the limit relative to it in Percent.
	Frequency, Percent float64
	// Played is the level of the sweep in dBFS peak, Sound that of the fundamental at the
	// microphone in dB SPL, not known without a calibrator. Both are means over the seatings.
	Played, Sound response.Figure
	// Err is distortion.ErrNotReached if the distortion is below the limit at the highest level
	// played in at least one seating: the mean over the seatings is then this level or a higher
	// one. It is distortion.ErrExceeded if the distortion is above the limit at the lowest level in
	// at least one seating: the mean is then this level or a lower one. With any other error the
	// levels are not known.
	Err error
}

// limits are the distortions in % for which the highest level is given.
var limits = []float64{1, 3, 10}

// maxLevel is the highest level in one seating, as played in dBFS and in dB SPL, and the standard
// uncertainty in dB that it has in common with the other seatings.
type maxLevel struct {
	played, sound, common float64
	err                   error
}

// askLevel measures a sweep at another level. A sweep recorded at the loudness of another level of
// the stimulus is taken for that one, so the order of playing does not matter.
func (b *Bench) askLevel(f *Further, u use, part sweep.Part, s swept, microphone *level.Calibration) error {
	st := b.config.Stimulus
	x, lead, err := b.cutSweep(u, part)
	if err != nil {
		return err
	}
	if clipped(x[lead : lead+part.Len]) {
		return errClipped
	}
	off := b.loudness(x) - part.Level - s.gain
	at := part.Level
	if !(math.Abs(off) < mostOffLevel) {
		at = math.NaN()
		for _, other := range st.Parts() {
			if other.Kind == sweep.BothSweeps && math.Abs(part.Level+off-other.Level) < mostOffLevel {
				at = other.Level
			}
		}
		if math.IsNaN(at) {
			return fmt.Errorf("it was recorded %+.1f dB from its played level, relative to the sweeps "+
				"before; change no gain while the stimulus plays", off)
		}
		f.note(u, part, fmt.Sprintf(
			"the %v was recorded at the level of the one at %.4g dBFS and is taken for it: the levels were "+
				"played in another order",
			part, at))
	}
	if slices.ContainsFunc(f.sets, func(hs *distortion.HarmonicSet) bool { return hs.Sweep.Level() == at }) {
		return errors.New("a sweep at that level is already there")
	}
	d, err := b.deconvolverAt(at)
	if err != nil {
		return err
	}
	separated, err := d.Separate(x)
	if err != nil {
		return err
	}
	c := distortion.Config{Silence: s.silence, MaxFrequency: b.config.MaxFrequency}
	if microphone != nil {
		c.Correction = microphone.Correction()
	}
	set, err := distortion.Harmonics(separated, c)
	if err == nil {
		f.sets = append(f.sets, set)
	}
	return err
}

// note adds a finding about a part that is used.
func (f *Further) note(u use, part sweep.Part, what string) {
	one := doubt(u.recording.Name, PartLeftOut, response.Note)
	one.Channel, one.Time, one.What = u.channel, u.parts.At(part), what
	f.findings = append(f.findings, one)
}

// cutSweep cuts a sweep out of the further parts, from lead samples before it on, as long as a
// take.
func (b *Bench) cutSweep(u use, part sweep.Part) (x []float64, lead int, err error) {
	rate := float64(u.recording.SampleRate)
	lead = int(0.05 * rate)
	after := int(placement.TakeDuration(b.config.Stimulus).Seconds()*rate) - b.config.Stimulus.Sweep().Len() - lead
	x, err = u.parts.Cut(u.channel, part, lead, after)
	return x, lead, err
}

// gainBySweeps returns the median level in dB of the sweeps at other levels, re those played; NaN
// if the recording holds none.
func (b *Bench) gainBySweeps(u use) float64 {
	var gains []float64
	for _, part := range b.config.Stimulus.Parts() {
		if part.Kind == sweep.BothSweeps {
			if x, _, err := b.cutSweep(u, part); err == nil {
				gains = append(gains, b.loudness(x)-part.Level)
			}
		}
	}
	return statistic.Median(gains)
}

// loudness returns the level in dB of the recording of a sweep from 200 Hz to 2 kHz.
func (b *Bench) loudness(x []float64) float64 {
	s := b.config.Stimulus.Sweep()
	rate := float64(s.SampleRate())
	return decibel.OfPower(statistic.MeanSquare(x[int(s.TimeAt(200)*rate):int(s.TimeAt(2000)*rate)]))
}

// deconvolverAt returns the deconvolver of the sweep at another level.
func (b *Bench) deconvolverAt(at float64) (*response.Deconvolver, error) {
	b.levels.Lock()
	defer b.levels.Unlock()
	if d := b.deconvolvers[at]; d != nil {
		return d, nil
	}
	d, err := response.NewDeconvolver(b.config.Stimulus.Sweep().AtLevel(at), response.DeconvolverConfig{
		Longest: placement.TakeDuration(b.config.Stimulus), Orders: orders, Like: b.deconvolver,
	})
	if err == nil {
		b.deconvolvers[at] = d
	}
	return d, err
}

// levelsAgainst makes the level series, with the interface's own distortion at each level in the
// floor. It leaves out a level that is not in the direct recording, except that of the stimulus,
// which is not known if the side's sweep is cut off.
func (f *Further) levelsAgainst(direct *Further, b *Bench, reading *Reading) {
	if direct == nil {
		return
	}
	var sets []*distortion.HarmonicSet
	if reading.Harmonics != nil {
		if len(reading.Harmonics.Orders) == 0 {
			return
		}
		sets = append(sets, reading.Harmonics.Unsure(b.shared(reading.side).apart))
	}
	for _, hs := range f.sets {
		i := slices.IndexFunc(direct.sets,
			func(d *distortion.HarmonicSet) bool { return d.Sweep.Level() == hs.Sweep.Level() })
		if i < 0 {
			continue
		}
		share := hs.WithRig
		if b.config.SubtractInterface {
			share = hs.Subtract
		}
		if with, err := share(direct.sets[i]); err == nil {
			sets = append(sets, with.Unsure(b.shared(reading.side).apart))
		}
	}
	if len(sets) > 1 {
		f.Levels, _ = distortion.NewLevelSeries(sets...) // no error: one sweep, each level once
	}
	f.sets = nil // their spectra take more memory than all the rest
}

// computeMaxLevels returns the highest levels of one seating, limit by limit and in each frequency
// by frequency; nil if no levels were played in it.
func (r *Reading) computeMaxLevels() (all []maxLevel) {
	if r.Further == nil || r.Further.Levels == nil {
		return nil
	}
	for _, percent := range limits {
		for _, f := range maxLevelGrid() {
			played, output, common, err := r.Further.Levels.MaxLevel(f, percent)
			all = append(all, maxLevel{played, r.soundLevel(response.Figure{Value: output}, f), common, err})
		}
	}
	return all
}

// maxLevels computes Side.MaxLevels.
func (s *Side) maxLevels() (all []MaxLevel) {
	lowest, highest := s.lowestLevel(), s.highestLevel()
	seatings := slices.DeleteFunc(s.withLevels(),
		func(r *Reading) bool { return r.lowestLevel() > lowest || r.highestLevel() < highest })
	if len(seatings) == 0 {
		return nil
	}
	grid := maxLevelGrid()
	for i, percent := range limits {
		for k, f := range grid {
			var each []maxLevel
			for _, r := range seatings {
				each = append(each, r.maxLevels()[i*len(grid)+k])
			}
			all = append(all, s.meanMaxLevel(f, percent, each))
		}
	}
	return all
}

// meanMaxLevel returns the mean over the seatings.
func (s *Side) meanMaxLevel(f, percent float64, each []maxLevel) MaxLevel {
	m := MaxLevel{Frequency: f, Percent: percent, Played: response.NotKnown("dBFS"),
		Sound: response.NotKnown(level.SoundPressure), Err: each[0].err}
	var notReached, exceeded error
	var common float64
	var played, sound []response.Figure
	for _, one := range each {
		switch {
		case errors.Is(one.err, distortion.ErrNotReached):
			notReached = one.err
		case errors.Is(one.err, distortion.ErrExceeded):
			exceeded = one.err
		case one.err != nil:
			continue
		}
		of := func(v float64, unit string) response.Figure {
			return response.Figure{Value: v, Uncertainty: math.NaN(), Unit: unit} // not known from one
		}
		common += one.common
		played, sound = append(played, of(one.played, "dBFS")), append(sound, of(one.sound, level.SoundPressure))
	}
	if len(played) == 0 {
		return m
	}
	if m.Err = cmp.Or(notReached, exceeded); notReached != nil && exceeded != nil {
		m.Err = fmt.Errorf("review: at %s the distortion of one seating is above %g %% at the lowest level, and that of "+
			"another below it at the highest; play levels that are further apart", response.FormatFrequency(f), percent)
		return m
	}
	shared := response.Component{Cause: response.Cause{Name: "microphone and rig", CommonTo: response.OneRig},
		Effects: []float64{common / float64(len(played))}}
	if m.Played = meanFigure(played, "dBFS"); m.Played.Budget != nil {
		m.Played = append(m.Played.Budget, shared).Figure(m.Played.Value, "dBFS")
	}
	if m.Err != nil { // a bound, which has no interval
		m.Played = response.Figure{Value: m.Played.Value, Uncertainty: math.NaN(), Unit: m.Played.Unit}
	}
	if sound := meanFigure(sound, level.SoundPressure); sound.Known() {
		relative := slices.DeleteFunc(slices.Clone(s.Response().Figure(f).Budget),
			func(c response.Component) bool { return c.Name == response.ScatterOfSeatings })
		if sound.Budget != nil {
			relative = append(relative, shared)
		}
		m.Sound = append(s.withLevels()[0].absolute(relative), sound.Budget...).Figure(sound.Value, sound.Unit)
	}
	return m
}

// LevelsAt returns distortion against level at f Hz by rising level; nil if no levels were played.
// Each point is the mean over the seatings in which its level was recorded. Compression is relative
// to the lowest level of all: a seating that lacks it has no part in it.
func (s *Side) LevelsAt(f float64) (points []distortion.LevelPoint) {
	seatings := map[float64][]distortion.LevelPoint{} // by level
	for _, r := range s.withLevels() {
		for _, p := range r.Further.Levels.At(f) {
			if r.lowestLevel() != s.lowestLevel() {
				p.Compression = response.NotKnown("dB")
			}
			seatings[p.Played] = append(seatings[p.Played], p)
		}
	}
	for _, played := range slices.Sorted(maps.Keys(seatings)) {
		p := meanPoint(seatings[played])
		p.THD.Level = s.withLevels()[0].soundLevel(response.Figure{Value: p.Output}, f)
		points = append(points, p)
	}
	return points
}

// Compression returns the gain in dB at a level of the sweep in dBFS peak relative to that at the
// lowest level of all, against frequency: the mean over the seatings that hold both. It is empty if
// none does.
func (s *Side) Compression(played float64) response.Curve {
	var curves []response.Curve
	for _, r := range s.withLevels() {
		c := r.Further.Levels.Compression(played)
		if len(c.Frequency) > 0 && r.lowestLevel() == s.lowestLevel() {
			curves = append(curves, c)
		}
	}
	if len(curves) == 0 {
		return response.Curve{}
	}
	mean, err := response.AverageOf(curves)
	if len(curves) == 1 || err != nil { // none: the curves name no rig
		return curves[0]
	}
	return mean.Level
}

// lowestLevel returns the lowest level in dBFS peak that was recorded in any seating.
func (s *Side) lowestLevel() float64 {
	lowest := math.Inf(1)
	for _, r := range s.withLevels() {
		lowest = min(lowest, r.lowestLevel())
	}
	return lowest
}

// highestLevel is like lowestLevel, for the highest level.
func (s *Side) highestLevel() float64 {
	highest := math.Inf(-1)
	for _, r := range s.withLevels() {
		highest = max(highest, r.highestLevel())
	}
	return highest
}

// lowestLevel returns the lowest level in dBFS peak that was recorded in a seating with levels.
func (r *Reading) lowestLevel() float64 { return r.Further.Levels.At(1000)[0].Played }

// highestLevel is like lowestLevel, for the highest level.
func (r *Reading) highestLevel() float64 {
	points := r.Further.Levels.At(1000)
	return points[len(points)-1].Played
}

// withLevels returns the seatings in which levels were played.
func (s *Side) withLevels() []*Reading {
	return slices.DeleteFunc(s.withFurther(), func(r *Reading) bool { return r.Further.Levels == nil })
}

// maxLevelGrid returns thirds of an octave from 50 Hz to 8 kHz.
func maxLevelGrid() []float64 { return response.LogGrid(50, 8000, 3) }

// meanPoint returns the mean of the results of several seatings at one level.
func meanPoint(seatings []distortion.LevelPoint) distortion.LevelPoint {
	out := seatings[0]
	var thd []distortion.THD
	var orders [][]distortion.Reading
	var compression []response.Figure
	var output float64
	for _, p := range seatings {
		thd, compression = append(thd, p.THD), append(compression, p.Compression)
		output += p.Output / float64(len(seatings))
		for k, r := range p.Orders {
			if k == len(orders) {
				orders = append(orders, nil)
			}
			orders[k] = append(orders[k], r)
		}
	}
	out.Output, out.THD, out.Compression = output, distortion.MeanTHD(thd...), meanFigure(compression, "dB")
	out.Orders = make([]distortion.Reading, len(orders))
	for k, all := range orders {
		out.Orders[k] = distortion.Mean(all[0], all[1:]...)
	}
	return out
}
