package programme

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/internal/parallel"
	"example.com/earnest/response/capture"
)

// Alignment states where the direct recording lies in the recording through the headphones, and how
// certain that is.
type Alignment struct {
	// Delay is the time in seconds by which the direct recording begins later in the other one. It
	// is below zero if the other recording was started later. It is the delay in the phase beyond
	// the minimum phase of the magnitude: it contains the delay of the headphones, but not the
	// phase of their filtering. See the package's comment.
	Delay float64
	// DelayUncertainty is the standard uncertainty of Delay in seconds (k = 1), or NaN if fewer
	// than two bins of the spectrum are known. It contains noise, the scatter of the segments'
	// delays about a line, and the misfit of the phase in pieces of the band. It also contains the
	// unknown magnitude beyond the material's band, whose minimum phase resembles a delay. Other
	// excess phase, as of an all-pass or a crossover, counts only as far as it shows as misfit.
	DelayUncertainty float64
	// Clock is the rate of the recorder's clock in the recording through the headphones,
	// relative to the direct recording. If the recordings are too short to estimate it, the
	// drift is taken as zero and its uncertainty is NaN.
	Clock capture.Clock
	// Prominence is the level of the best match in dB re the rms of the correlation about it.
	Prominence float64
	// Inverted reports that the polarity is inverted. The comparison corrects it.
	Inverted bool
	// From and To bound the stretch that both share, in seconds of the direct recording.
	From, To float64
	// Segments is the number of segments from which the delay was estimated.
	Segments int

	line     line
	from, to int     // samples of the direct recording
	followed float64 // share of the segments with sound from which the delay was estimated
	wander   float64 // rms distance of their delays from a steady clock's, in seconds; 0 if noise may explain it
}

// place returns the position in samples of the other recording that corresponds to sample i of the
// direct one.
func (a *Alignment) place(i float64) float64 { return i + a.line.at(i) }

// step returns the samples of the other recording per sample of the direct one.
func (a *Alignment) step() float64 { return 1 + a.line.slope }

// shared returns the length in seconds of the stretch that both share.
func (a *Alignment) shared() float64 { return a.To - a.From }

// again aligns another channel of the same recordings, starting from the line of the first.
func (a *Alignment) again(direct, through Channel) (*Alignment, error) {
	b := &Alignment{Prominence: a.Prominence, line: a.line}
	return b, b.refine(direct, through)
}

// fewFollowed is the share of the segments up to which the match may be of a few of them, which are
// alike by chance at another speed.
const fewFollowed = 0.3

// leastShared is the shortest shared stretch that is aligned, in seconds.
const leastShared = 1

// refine estimates the delay to a fraction of a sample.
func (a *Alignment) refine(direct, through Channel) error {
	a.bound(direct, through)
	fs := float64(direct.SampleRate)
	if shared := a.shared(); shared < leastShared {
		return shortage{defaultLow, math.NaN(), max(0, shared), needed(defaultLow)}.err()
	}
	s := newSegments(direct, through, a.from, a.to)
	loud := s.used()
	if err := s.coarse(&a.line); err != nil {
		return err
	}
	slope, intercept := s.fine(&a.line)
	a.Inverted = s.sign < 0
	if drift := 1e6 * a.line.slope; math.Abs(drift) > capture.MaxDrift {
		return fmt.Errorf("programme: %s: its delay against %s moves by %.0f parts per million of the time, "+
			"more than clocks of crystals differ by: "+
			"a piece is missing or doubled, or the sample rates differ; record again without interruption, and check the rates",
			through.Name, direct.Name, drift)
	}
	a.bound(direct, through)
	a.Segments = s.used()
	a.followed = float64(a.Segments) / float64(loud)
	a.Delay, a.DelayUncertainty = a.line.at(0)/fs, intercept/fs
	a.wander = s.wander / fs
	a.Clock = capture.Clock{Drift: 1e6 * a.line.slope, Uncertainty: 1e6 * slope}
	return nil
}

// bound sets the stretch that both share.
func (a *Alignment) bound(direct, through Channel) {
	a.from = max(0, int(math.Ceil(-a.place(0)/a.step())))
	last := (float64(len(through.Samples)-1) - a.place(0)) / a.step()
	a.to = min(len(direct.Samples), int(math.Floor(last))+1)
	a.to = max(a.to, a.from)
	fs := float64(direct.SampleRate)
	a.From, a.To = float64(a.from)/fs, float64(a.to)/fs
}

// line is a delay in samples as a linear function of the sample of the direct recording.
type line struct{ lag, slope float64 }

func (l line) at(i float64) float64 { return l.lag + l.slope*i }

// alignment finds the direct recording in the other one, at the same speed.
func (t *decimated) alignment(direct, through Channel) (*Alignment, error) {
	first := t.anchor()
	if first.prominence < minProminence {
		return nil, differentError(direct, through, first.prominence, minProminence)
	}
	l, err := t.follow(first, through.Name, direct.SampleRate)
	if err != nil {
		return nil, err
	}
	if first.prominence < matchedBelow {
		if l, err = t.confirmed(l, through.Name, direct); err != nil {
			return nil, err
		}
	}
	a := &Alignment{Prominence: first.prominence, line: l}
	return a, a.refine(direct, through)
}

// checkBoth returns an error if the recordings cannot be compared at all.
func checkBoth(direct, through Channel) error {
	if direct.SampleRate != through.SampleRate {
		return fmt.Errorf("programme: %w: %s has %d Hz and %s %d Hz; "+
			"record both at one rate, or resample one (resample = true in a session)",
			ErrRate, direct.Name, direct.SampleRate, through.Name, through.SampleRate)
	}
	errs := make([]error, 2)
	both := [2]Channel{direct, through}
	parallel.Do(2, func(i int) { errs[i] = both[i].check() })
	if errs[0] != nil {
		return errs[0]
	}
	return errs[1]
}

// align finds the direct recording in the recording through the headphones.
//
// It searches the whole of the other recording for a stretch of the direct one, at a low sample
// rate. From there it follows the delay to both ends. Then it estimates the delays of segments
// spread over the shared stretch, each by generalised cross-correlation (Knapp & Carter 1976). A
// straight line through them, each weighted by its information, gives delay and drift. The
// package's comment has the formulas.
//
// Errors: ErrDifferent; ErrCut; ErrRate for another speed; ErrTooShort if both share less than a
// second; an error if the drift exceeds capture.MaxDrift.
func align(direct, through Channel) (*Alignment, error) {
	t := newDecimated(direct, through)
	a, err := t.alignment(direct, through)
	if err == nil && a.followed > fewFollowed || errors.Is(err, ErrTooShort) {
		return a, err
	}
	speed := t.anySpeed(through.Name, direct.SampleRate)
	if speed == 0 && errors.Is(err, ErrDifferent) {
		speed = t.otherSpeed()
	}
	if speed > 0 {
		err = fmt.Errorf("programme: %s: %w: it is %s at %.5g times its speed, as where a file and its label, "+
			"or player and recorder, "+
			"have different sample rates; set both alike, and record again", through.Name, ErrRate, direct.Name, speed)
		a = nil
	} else if err != nil {
		err = t.severalPieces(direct, through, err)
	}
	return a, err
}
