package review

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/distortion"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/response/level"
	"example.com/earnest/sweep"
)

// mostOffLevel is the largest accepted difference in dB between recorded and played level of a
// sweep, relative to the stimulus's own sweeps. Headphones compress by less before they distort
// badly (common practice).
const mostOffLevel = 3

// askLevel measures a sweep at another level. A sweep recorded at the loudness of another level of
// the stimulus is taken for that one, so the order of playing does not matter.
func (b *Bench) askLevel(f *Further, u use, part sweep.Part, take *placement.Take,
	microphone *level.Calibration) error {
	st := b.config.Stimulus
	rate := float64(u.recording.SampleRate)
	lead := int(0.05 * rate)
	gap := int(placement.TakeDuration(st).Seconds()*rate) - st.Sweep().Len() - lead
	x, err := u.parts.Cut(u.channel, part, lead, gap)
	if err != nil {
		return err
	}
	if clipped(x[lead : lead+part.Len]) {
		return errClipped
	}
	own := take.Sweeps[0]
	off := b.louder(x, own) - (part.Level - st.Level())
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
	c := distortion.Config{Silence: take.Silence, MaxFrequency: b.config.MaxFrequency}
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

// louder returns the level in dB of one recording of a sweep relative to another, from 200 Hz to 2
// kHz.
func (b *Bench) louder(x, than []float64) float64 {
	s := b.config.Stimulus.Sweep()
	rms := func(x []float64) (sum float64) {
		rate := float64(s.SampleRate())
		for _, v := range x[int(s.TimeAt(200)*rate):int(s.TimeAt(2000)*rate)] {
			sum += v * v
		}
		return sum
	}
	return 10 * math.Log10(rms(x)/rms(than))
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
// floor. It leaves out a level that is not in the direct recording, except that of the stimulus.
func (f *Further) levelsAgainst(direct *Further, b *Bench, reading *Reading) {
	if len(reading.Harmonics.Orders) == 0 || direct == nil {
		return
	}
	sets := []*distortion.HarmonicSet{reading.Harmonics}
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
			sets = append(sets, with)
		}
	}
	if len(sets) > 1 {
		f.Levels, _ = distortion.NewLevelSeries(sets...) // no error: one sweep, each level once
	}
}

// MaxLevel is the highest level at which total harmonic distortion stays below a limit.
type MaxLevel struct {
	// Frequency of the fundamental in Hz, and the limit relative to it in Percent.
	Frequency, Percent float64
	// Played is the level of the sweep in dBFS peak, Output that of the fundamental as recorded in
	// dBFS peak, and Sound the same in dB SPL, NaN without a calibrator.
	Played, Output, Sound float64
	// Err is distortion.ErrNotReached if the distortion is below the limit at the highest level
	// played, and ErrExceeded if it is above it at the lowest; the levels are then the highest or
	// lowest played. With any other error they are not known.
	Err error
}

// limits are the distortions in % for which the highest level is given.
var limits = []float64{1, 3, 10}

// MaxLevels returns the highest levels at thirds of an octave from 50 Hz to 8 kHz, from the first
// seating in which levels were played; nil if there is none.
func (s *Side) MaxLevels() []MaxLevel {
	r := s.withLevels()
	if r == nil {
		return nil
	}
	return slices.Clone(r.maxLevels())
}

// computeMaxLevels returns the highest levels of one seating; nil if no levels were played in it.
func (r *Reading) computeMaxLevels() (all []MaxLevel) {
	if r.Further == nil || r.Further.Levels == nil {
		return nil
	}
	for _, percent := range limits {
		for _, f := range response.LogGrid(50, 8000, 3) {
			m := MaxLevel{Frequency: f, Percent: percent, Sound: math.NaN()}
			m.Played, m.Output, m.Err = r.Further.Levels.MaxLevel(f, percent)
			m.Sound = r.soundLevel(response.Figure{Value: m.Output}, f)
			all = append(all, m)
		}
	}
	return all
}

// LevelsAt returns distortion against level at f Hz by rising level, from the first seating in
// which levels were played; nil if there is none.
func (s *Side) LevelsAt(f float64) []distortion.LevelPoint {
	r := s.withLevels()
	if r == nil {
		return nil
	}
	points := r.Further.Levels.At(f)
	for i := range points {
		points[i].THD.Level = r.soundLevel(response.Figure{Value: points[i].Output}, f)
	}
	return points
}

// withLevels returns the first seating in which levels were played; nil if there is none.
func (s *Side) withLevels() *Reading {
	i := slices.IndexFunc(s.Seatings, func(r *Reading) bool { return r.Further != nil && r.Further.Levels != nil })
	if i < 0 {
		return nil
	}
	return s.Seatings[i]
}
