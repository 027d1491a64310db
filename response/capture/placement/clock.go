package placement

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/delay"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// ErrUnmarked means that the clocks cannot be compared, because two timing marks are not there.
var ErrUnmarked = errors.New("no timing marks to compare clocks by")

// Clock compares the two clocks by the time between the stimulus's marks, in the channel that holds
// the sweep of a side. Without two marks it uses the time between the first and the last repeat of
// the sweep. Both sounds come through the same headphones and microphone, so their delay, which one
// sweep cannot tell from a drift, cancels. The shift is the maximum of the cross-correlation of the
// stretches around the two, over the band of the mark.
//
// Errors: capture.ErrChannel; ErrUnmarked for a stimulus without marks, or a recording in which one
// is missing, if there are no repeats; response.ErrNoPeak if the stimulus was not found; unequal
// sample rates; a drift beyond capture.MaxDrift.
func (p *Placement) Clock(channel int, side sweep.Side) (capture.Clock, error) {
	x, err := p.Recording.Channel(channel)
	if err != nil {
		return capture.Clock{}, err
	}
	marks, repeats := p.Stimulus.Find(sweep.Mark), p.Stimulus.Sweeps(side)
	if len(marks) < 2 && len(repeats) < 2 {
		return capture.Clock{}, p.about(channel, ErrUnmarked)
	}
	start, err := p.start(channel, side)
	if err != nil {
		return capture.Clock{}, err
	}
	c, err := p.clockBetween(marks, x, start, p.Recording.SampleRate/4)
	if errors.Is(err, ErrUnmarked) {
		c, err = p.clockBetween(repeats, x, start, 0)
	}
	if err != nil {
		return capture.Clock{}, p.about(channel, err)
	}
	return c, nil
}

// clockBetween compares the clocks by the first and the last of equal sounds, each with after
// samples that follow it, in a channel in which the stimulus begins at start.
func (p *Placement) clockBetween(sounds []sweep.Segment, x []float64, start, after int) (c capture.Clock, err error) {
	if len(sounds) < 2 {
		return c, ErrUnmarked
	}
	first, last := sounds[0], sounds[len(sounds)-1]
	// The stretch around each allows for the drift, the coarse start, and the decay.
	fs := p.Recording.SampleRate
	slack := fs/50 + int(capture.MaxDrift*1e-6*float64(p.Stimulus.Len()))
	a := search.Within(x, start+first.Start-slack, start+first.Start+first.Len+after)
	b := search.Within(x, start+last.Start-slack, start+last.Start+last.Len+after)
	if len(a) != len(b) || len(a) < first.Len+slack {
		return c, fmt.Errorf("%w: the recording begins after the first or ends before the second", ErrUnmarked)
	}
	shift, sigma, match := align(a, b, fs)
	if match < 0.5 {
		return c, fmt.Errorf("%w: the two stretches where they should stand match by %.0f %%", ErrUnmarked, 100*match)
	}
	between := float64(last.Start - first.Start)
	c = capture.Clock{Drift: 1e6 * shift / between, Uncertainty: 1e6 * sigma / between}
	if math.Abs(c.Drift) > capture.MaxDrift {
		return c, fmt.Errorf("the clocks differ by %.0f parts per million, more than crystals do; "+
			"check the sample rates of player and recorder", c.Drift)
	}
	return c, nil
}

// align returns the number of samples by which b comes later than a, its standard uncertainty from
// the part that the two do not share, and the normalised correlation, in the band of the timing
// mark.
func align(a, b []float64, sampleRate int) (shift, sigma, match float64) {
	plan := fft.NewPlan(fft.FastLen(2 * len(a)))
	sa, sb := plan.Forward(nil, a), plan.Forward(nil, b)
	cross := make([]complex128, len(sa))
	var ea, eb, slope float64
	for k := range cross {
		f := plan.Frequency(k, float64(sampleRate))
		if f < sweep.MarkLow || f > sweep.MarkHigh {
			continue
		}
		cross[k] = sb[k] * cmplx.Conj(sa[k])
		w := 2 * math.Pi * float64(k) / float64(plan.Len())
		ea += fft.Power(sa[k])
		eb += fft.Power(sb[k])
		slope += w * w * fft.Power(sa[k])
	}
	lags := plan.Inverse(nil, cross)
	best := 0
	for i, v := range lags {
		if v > lags[best] {
			best = i
		}
	}
	if best > plan.Len()/2 {
		best -= plan.Len()
	}
	shift, _ = delay.Peak(cross, plan.Len(), float64(best))
	peak, _, _ := delay.At(cross, plan.Len(), shift)
	match = peak / math.Sqrt(ea*eb)
	// The residual of the best fit is the noise of both. A delay fitted to a signal s in noise of
	// power σ² has the variance σ²/Σ(s')² (least squares). The transform is longer than the
	// stretch, so its bins are not independent.
	bins := float64(len(cross)) * (sweep.MarkHigh - sweep.MarkLow) / (float64(sampleRate) / 2)
	residual := max(0, ea+eb-2*peak) / bins * float64(plan.Len()) / float64(len(a))
	return shift, math.Sqrt(residual / (2 * slope)), match
}
