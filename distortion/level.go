package distortion

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Errors of LevelSeries.MaxLevel, which never extrapolates.
var (
	// ErrNotReached means that the distortion is under the limit even at the highest level played.
	// How much louder the device could go is not known.
	ErrNotReached = errors.New("the limit of distortion was not reached")
	// ErrExceeded means that at the lowest level played the distortion, or its bound, is above the
	// limit.
	ErrExceeded = errors.New("the limit of distortion is exceeded at the lowest level")
)

// LevelSeries is the distortion of one device against level, from the same sweep at several levels.
// Raise the level in steps from the lowest, with the headphones off your head, and stop at the
// first sign of strain: more may harm the headphones, and certainly the ears.
type LevelSeries struct {
	sets []*HarmonicSet // by ascending level
}

// NewLevelSeries combines sets, in any order, that were measured at different levels of one sweep
// at one gain of the recording. It needs at least two levels, none twice; sets of different sweeps
// give ErrOtherSweep. The series keeps the figures of the sets and none of their spectra, which
// take far more memory.
func NewLevelSeries(sets ...*HarmonicSet) (*LevelSeries, error) {
	if len(sets) < 2 {
		return nil, fmt.Errorf("distortion: %d level; give the sets of at least two levels", len(sets))
	}
	s := &LevelSeries{}
	for _, hs := range sets {
		s.sets = append(s.sets, hs.figures())
	}
	slices.SortStableFunc(s.sets, func(a, b *HarmonicSet) int {
		switch d := a.Sweep.Level() - b.Sweep.Level(); {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	for i, hs := range s.sets[1:] {
		before := s.sets[i]
		switch {
		case !sameSweep(before, hs) || !slices.Equal(before.Fundamental, hs.Fundamental):
			return nil, fmt.Errorf("distortion: %w: at %g dBFS and at %g dBFS; "+
				"change nothing but the level, and measure all with one Config",
				ErrOtherSweep, before.Sweep.Level(), hs.Sweep.Level())
		case before.Sweep.Level() == hs.Sweep.Level():
			return nil, fmt.Errorf("distortion: two sets at %g dBFS; give one for each level", hs.Sweep.Level())
		}
	}
	return s, nil
}

// At returns one point per level at the fundamental f Hz, by rising level.
func (s *LevelSeries) At(f float64) []LevelPoint {
	points := make([]LevelPoint, len(s.sets))
	lowest, lowestU := s.sets[0].linearAt(f)
	for i, hs := range s.sets {
		linear, u := hs.linearAt(f)
		p := s.point(hs, f)
		p.Compression = response.Figure{Value: linear - lowest, Uncertainty: math.Hypot(u, lowestU), Unit: "dB"}
		if i == 0 {
			p.Compression.Uncertainty = 0 * u // zero by definition if the noise is known, else NaN
		}
		for _, o := range hs.Orders {
			p.Orders = append(p.Orders, o.At(f))
		}
		points[i] = p
	}
	return points
}

// point returns the point of one level without compression and orders.
func (s *LevelSeries) point(hs *HarmonicSet, f float64) LevelPoint {
	linear, _ := hs.linearAt(f)
	return LevelPoint{Played: hs.Sweep.Level(), Output: hs.Sweep.Level() + linear, THD: hs.THD(f)}
}

// Compression returns the deviation in dB from the gain at the lowest level, against frequency, at
// a level in dBFS peak that is one of those played. It is empty at any other level.
func (s *LevelSeries) Compression(played float64) response.Curve {
	i := slices.IndexFunc(s.sets, func(hs *HarmonicSet) bool { return hs.Sweep.Level() == played })
	if i < 0 {
		return response.Curve{}
	}
	first, hs := s.sets[0], s.sets[i]
	c := response.Curve{
		Frequency: slices.Clone(hs.Fundamental),
		Level:     make([]float64, len(hs.Fundamental)),
		Reference: fmt.Sprintf("linear from %g dBFS", first.Sweep.Level()),
	}
	if hs.LinearUncertainty != nil && first.LinearUncertainty != nil {
		c.Uncertainty = make([]float64, len(c.Level))
	}
	for k := range c.Level {
		c.Level[k] = hs.Linear[k] - first.Linear[k]
		if c.Uncertainty != nil && i > 0 { // at the lowest level it is 0 dB by definition
			c.Uncertainty[k] = math.Hypot(hs.LinearUncertainty[k], first.LinearUncertainty[k])
		}
	}
	c.Valid = known(c.Frequency, c.Level)
	return c
}

// MaxLevel returns the highest level at the fundamental f Hz up to which total harmonic distortion
// relative to the fundamental stays below a limit in percent: the level of the sweep as played and
// that of the fundamental as recorded, both in dBFS peak. Both are interpolated in dB between two
// levels played. A louder stretch in which the distortion falls
// below the limit again does not count. A reading below its floor counts with its bound. common is
// the standard uncertainty in dB of both levels from what is the same in every seating: the rig's
// own distortion, and the causes of HarmonicSet.Unsure.
//
// The error is ErrNotReached or ErrExceeded if the limit lies outside the levels played, with the
// level at that end. MaxLevel also returns an error if the distortion is not known, or if the limit
// is not above zero.
func (s *LevelSeries) MaxLevel(f, percent float64) (played, output, common float64, err error) {
	unknown := math.NaN()
	if !(percent > 0) || math.IsInf(percent, 0) {
		return unknown, unknown, unknown, fmt.Errorf("distortion: a limit of %v %%; give a percentage above zero", percent)
	}
	points := make([]LevelPoint, len(s.sets))
	excess := make([]float64, len(points)) // dB over the limit
	for i, hs := range s.sets {
		points[i] = s.point(hs, f)
		p := points[i]
		excess[i] = decibel.OfAmplitude(p.THD.AtMost() / percent)
		if math.IsNaN(excess[i]) || math.IsNaN(p.Output) {
			return unknown, unknown, unknown,
				fmt.Errorf("distortion: at %s and %g dBFS the distortion is not known; choose a frequency inside the valid band",
					response.FormatFrequency(f), p.Played)
		}
		if excess[i] < 0 {
			continue
		}
		if i == 0 {
			return p.Played, p.Output, unknown, fmt.Errorf("distortion: %w: %.3g %% wanted, %v at %g dBFS; start lower",
				ErrExceeded, percent, p.THD.Reading, p.Played)
		}
		q := points[i-1]
		x := excess[i-1] / (excess[i-1] - excess[i])
		slope := (excess[i] - excess[i-1]) / (p.Played - q.Played)
		common = decibel.PerNeper * p.THD.common() / slope
		return q.Played + x*(p.Played-q.Played), q.Output + x*(p.Output-q.Output), common, nil
	}
	last := points[len(points)-1]
	return last.Played, last.Output, unknown,
		fmt.Errorf("distortion: %w: %.3g %% wanted, %v at the highest level, %g dBFS; it holds up to there at least",
			ErrNotReached, percent, last.THD.Reading, last.Played)
}

// LevelPoint is the result at one frequency and one level.
type LevelPoint struct {
	// Played is the level of the sweep in dBFS peak.
	Played float64
	// Output is the level of the fundamental as recorded, in dBFS peak.
	Output float64
	// Compression is the gain of the fundamental in dB relative to its gain at the lowest level
	// played: below zero if the device compresses. Its uncertainty is that from noise, not known
	// without a silence.
	Compression response.Figure
	// THD is total harmonic distortion relative to the fundamental.
	THD THD
	// Orders are the harmonics from the second, in dB relative to the fundamental.
	Orders []Reading
}

// figures returns the set without its spectra.
func (hs *HarmonicSet) figures() *HarmonicSet {
	out := *hs
	out.linear, out.noise, out.silence, out.unsure = spectrum{}, nil, nil, nil
	out.Orders = slices.Clone(hs.Orders)
	for i := range out.Orders {
		o := &out.Orders[i]
		o.spectrum, o.noise, o.rig = nil, nil, nil
	}
	return &out
}

// linearAt returns the linear response at f Hz and its uncertainty, both in dB.
func (hs *HarmonicSet) linearAt(f float64) (level, uncertainty float64) {
	c := response.Curve{
		Frequency: hs.Fundamental, Level: hs.Linear, Uncertainty: hs.LinearUncertainty,
		Valid: response.AllFrequencies,
	}
	return c.At(f), c.UncertaintyAt(f)
}
