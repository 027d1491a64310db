package capture

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/fft"
	"example.com/earnest/sweep"
)

// ErrUnmarked is returned where the clocks cannot be compared, for want of
// two timing marks.
var ErrUnmarked = errors.New("no timing marks to compare clocks by")

// Clock is how a recorder's clock runs against the player's.
type Clock struct {
	// Drift in parts per million: above zero the recorder's clock is the
	// faster, and the recording the longer.
	Drift float64
	// Uncertainty is the standard uncertainty of Drift from noise, in parts
	// per million.
	Uncertainty float64
}

// MaxDrift is the largest drift, in parts per million, that is taken for one:
// crystals of separate devices differ by less than 100 (common practice). A
// larger one is another sample rate, or another stimulus.
const MaxDrift = 300

// Clock compares the two clocks by the time between the stimulus's marks, in
// one channel. Both marks come through the same headphones and microphone, so
// their own delay, which one sweep cannot tell from a drift, cancels: the
// stretch around the second is aligned with that around the first by the
// maximum of their cross-correlation, over the band of the mark.
//
// Errors: ErrChannel; ErrUnmarked for a stimulus without marks or a recording
// in which one is missing; response.ErrNoPeak where there is no stimulus; a
// drift beyond MaxDrift.
func (r *Recording) Clock(st *sweep.Stimulus, channel int, side sweep.Side) (Clock, error) {
	x, err := r.Channel(channel)
	if err != nil {
		return Clock{}, err
	}
	fail := func(err error) (Clock, error) {
		return Clock{}, fmt.Errorf("capture: %s: channel %d: %w", r.Name, channel, err)
	}
	marks := st.Find(sweep.Mark)
	if len(marks) < 2 {
		return fail(ErrUnmarked)
	}
	start, err := locate(x, st, side)
	if err != nil {
		return fail(err)
	}
	first, last := marks[0], marks[len(marks)-1]
	// Around each mark: the drift allowed for, the coarse start, and decay.
	fs := r.SampleRate
	slack := fs/50 + int(MaxDrift*1e-6*float64(st.Len()))
	a := within(x, start+first.Start-slack, start+first.Start+first.Len+fs/4)
	b := within(x, start+last.Start-slack, start+last.Start+last.Len+fs/4)
	if len(a) != len(b) || len(a) < first.Len+slack {
		return fail(fmt.Errorf("%w: the recording begins after the first or ends before the second", ErrUnmarked))
	}
	shift, sigma, match := align(a, b, fs)
	if match < 0.5 {
		return fail(fmt.Errorf("%w: the two stretches where they should stand match by %.0f %%", ErrUnmarked, 100*match))
	}
	between := float64(last.Start - first.Start)
	c := Clock{Drift: 1e6 * shift / between, Uncertainty: 1e6 * sigma / between}
	if math.Abs(c.Drift) > MaxDrift {
		return fail(fmt.Errorf("the clocks differ by %.0f parts per million, more than crystals do; check the sample rates of player and recorder", c.Drift))
	}
	return c, nil
}

// align returns by how many samples b comes later than a, the standard
// uncertainty of that from what the two do not share, and the normalised
// correlation, in the band of the timing mark.
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
		pa := real(sa[k])*real(sa[k]) + imag(sa[k])*imag(sa[k])
		w := 2 * math.Pi * float64(k) / float64(plan.Len())
		ea += pa
		eb += real(sb[k])*real(sb[k]) + imag(sb[k])*imag(sb[k])
		slope += w * w * pa
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
	shift = refine(cross, float64(best), plan.Len())
	peak := correlation(cross, shift, plan.Len())
	match = peak / math.Sqrt(ea*eb)
	// What is left after the best fit is the noise of both; a delay fitted to a
	// signal s in noise of power σ² has the variance σ²/Σ(s')² (least squares).
	// The transform is longer than the stretch, so its bins are not independent.
	bins := float64(len(cross)) * (sweep.MarkHigh - sweep.MarkLow) / (float64(sampleRate) / 2)
	residual := max(0, ea+eb-2*peak) / bins * float64(plan.Len()) / float64(len(a))
	return shift, math.Sqrt(residual / (2 * slope)), match
}

// correlation is the sum over bins of Re C exp(jωτ), at a lag in samples.
func correlation(cross []complex128, lag float64, n int) float64 {
	var sum float64
	for k, c := range cross {
		if c != 0 {
			sum += real(c * cmplx.Rect(1, 2*math.Pi*float64(k)*lag/float64(n)))
		}
	}
	return sum
}

// refine moves a lag to where the correlation is stationary, by Newton's method
// on its derivative.
func refine(cross []complex128, lag float64, n int) float64 {
	for range 8 {
		var first, second float64
		for k, c := range cross {
			if c != 0 {
				w := 2 * math.Pi * float64(k) / float64(n)
				v := c * cmplx.Rect(1, w*lag)
				first -= w * imag(v)
				second -= w * w * real(v)
			}
		}
		if second >= 0 {
			return lag
		}
		step := first / second
		lag -= max(-0.5, min(0.5, step))
		if math.Abs(step) < 1e-6 {
			break
		}
	}
	return lag
}
