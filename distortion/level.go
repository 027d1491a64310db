package distortion

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
)

// Errors of LevelSeries.Highest, which never extrapolates.
var (
	// ErrNotReached: even at the highest level played the distortion is under
	// the wanted one; how much louder it could go is not known.
	ErrNotReached = errors.New("the distortion wanted was not reached")
	// ErrExceeded: at the lowest level played the distortion is, or for all
	// its floor tells may be, above the wanted one.
	ErrExceeded = errors.New("the distortion wanted is exceeded at the lowest level")
)

// LevelSeries is the same sweep at several levels through one device: its
// distortion against level. Raise the level in steps from the lowest, with the
// headphones off your head, and stop at the first sign of strain: what follows
// may harm the headphones and certainly the ears.
type LevelSeries struct {
	// Calibration in dB is added to the level of the fundamental as recorded,
	// in dBFS peak, to give LevelPoint.Output: the sound pressure level of a
	// tone that is recorded at 0 dBFS peak, for dB SPL. 0 leaves dBFS peak.
	Calibration float64

	sets []*HarmonicSet // by ascending level
}

// LevelPoint is what a device does at one frequency and one level.
type LevelPoint struct {
	// Played is the level of the sweep in dBFS peak.
	Played float64
	// Output is the level of the fundamental as recorded, in dBFS peak plus
	// the calibration.
	Output float64
	// Compression is by how much in dB the fundamental departs from what the
	// lowest level played would lead to expect: below zero where the device
	// compresses.
	Compression float64
	// CompressionUncertainty is the standard uncertainty (k = 1) of
	// Compression in dB by reason of noise; NaN when no silence was given.
	CompressionUncertainty float64
	// THD is total harmonic distortion relative to the fundamental, in dB.
	THD Figure
	// Highest is the highest order that THD contains; 0 where not even the
	// second is known.
	Highest int
	// Orders are the harmonics from the second, in dB relative to the
	// fundamental.
	Orders []Figure
}

// NewLevelSeries puts sets together, in any order, that were taken at different
// levels of one sweep at one gain of the recording. At least two levels are
// needed, none twice; sets of different sweeps give ErrOtherSweep.
func NewLevelSeries(sets ...*HarmonicSet) (*LevelSeries, error) {
	if len(sets) < 2 {
		return nil, fmt.Errorf("distortion: %d level; distortion against level needs two at least", len(sets))
	}
	s := &LevelSeries{sets: slices.Clone(sets)}
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
			return nil, fmt.Errorf("distortion: %w: at %g dBFS and at %g dBFS; change nothing but the level, and take all with one Config",
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
		thd := hs.THD(ToFundamental)
		p := LevelPoint{
			Played:                 hs.Sweep.Level(),
			Output:                 hs.Sweep.Level() + linear + s.Calibration,
			Compression:            linear - lowest,
			CompressionUncertainty: math.Hypot(u, lowestU),
			THD:                    thd.Figure(f),
			Highest:                thd.highestAt(f),
		}
		if i == 0 {
			p.CompressionUncertainty = 0 * u // by definition, where it is known at all
		}
		for _, o := range hs.Orders {
			p.Orders = append(p.Orders, hs.Figure(o.N, f))
		}
		points[i] = p
	}
	return points
}

// linearAt is the linear response at f and its uncertainty, both in dB.
func (hs *HarmonicSet) linearAt(f float64) (level, uncertainty float64) {
	c := response.Curve{
		Frequency: hs.Fundamental, Level: hs.Linear, Uncertainty: hs.LinearUncertainty,
		Valid: response.AllFrequencies,
	}
	return c.At(f), c.UncertaintyAt(f)
}

// highestAt is the lower of the highest orders at the two points beside f.
func (t THD) highestAt(f float64) int {
	if math.IsNaN(t.Figure(f).Level) {
		return 0
	}
	i, found := slices.BinarySearch(t.Fundamental, f)
	if found || i == 0 {
		return t.Highest[i]
	}
	if i == len(t.Fundamental) {
		return t.Highest[i-1]
	}
	return min(t.Highest[i-1], t.Highest[i])
}

// Compression returns the departure from linear in dB against frequency at
// each level above the lowest, by rising level.
func (s *LevelSeries) Compression() []response.Curve {
	first := s.sets[0]
	var curves []response.Curve
	for _, hs := range s.sets[1:] {
		c := response.Curve{
			Frequency: hs.Fundamental,
			Level:     make([]float64, len(hs.Fundamental)),
			Reference: fmt.Sprintf("linear from %g dBFS", first.Sweep.Level()),
		}
		if hs.LinearUncertainty != nil && first.LinearUncertainty != nil {
			c.Uncertainty = make([]float64, len(c.Level))
		}
		for i := range c.Level {
			c.Level[i] = hs.Linear[i] - first.Linear[i]
			if c.Uncertainty != nil {
				c.Uncertainty[i] = math.Hypot(hs.LinearUncertainty[i], first.LinearUncertainty[i])
			}
		}
		c.Valid = known(c.Frequency, c.Level)
		curves = append(curves, c)
	}
	return curves
}

// Limit is a level that a device can be played at.
type Limit struct {
	Played float64 // dBFS peak
	Output float64 // of the fundamental: dBFS peak plus the calibration
}

// Highest is the highest level at the fundamental f Hz up to which total
// harmonic distortion relative to the fundamental stays under limit dB (−40 dB
// is 1 %), interpolated in dB between the level below and the level above;
// louder stretches that fall under it again do not count. A figure below its
// floor counts with its bound.
//
// It gives ErrNotReached or ErrExceeded where the levels played do not tell,
// with the level at that end, and an error where the distortion is not known.
func (s *LevelSeries) Highest(f, limit float64) (Limit, error) {
	points := s.At(f)
	worst := make([]float64, len(points))
	for i, p := range points {
		worst[i] = p.THD.Level
		if p.THD.Below {
			worst[i] = p.THD.Bound()
		}
		if math.IsNaN(worst[i]) || math.IsNaN(p.Output) {
			return Limit{math.NaN(), math.NaN()}, fmt.Errorf("distortion: at %s and %g dBFS the distortion is not known; choose a frequency inside the valid band",
				response.FormatFrequency(f), p.Played)
		}
		if worst[i] < limit {
			continue
		}
		if i == 0 {
			return Limit{p.Played, p.Output}, fmt.Errorf("distortion: %w: %.1f dB wanted, %v at %g dBFS; start lower", ErrExceeded, limit, p.THD, p.Played)
		}
		q := points[i-1]
		x := (limit - worst[i-1]) / (worst[i] - worst[i-1])
		return Limit{q.Played + x*(p.Played-q.Played), q.Output + x*(p.Output-q.Output)}, nil
	}
	last := points[len(points)-1]
	return Limit{last.Played, last.Output}, fmt.Errorf("distortion: %w: %.1f dB wanted, %v at the highest level, %g dBFS; it holds up to there at least",
		ErrNotReached, limit, last.THD, last.Played)
}
