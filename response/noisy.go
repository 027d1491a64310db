package response

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/smoothing"
)

// noiseShare is the share of one noise in the power of each bin.
type noiseShare struct {
	Cause
	of       []float64
	relative float64 // relative standard uncertainty of the noise's power
}

// shortened describes a response cut to half the length.
type shortened struct {
	of    []float64 // power of each bin with a window of half the length, relative to that with all of it
	lost  float64   // share of the noise's power in the other half
	reach float64   // resolution of the window in Hz
}

// kernel is a way of smoothing.
type kernel struct {
	plan    func(bins, grid []float64) (*smoothing.Plan, error)
	width   func(f float64) float64 // Hz
	octaves float64                 // over which errors of the smoothed curve are correlated
	factor  float64                 // octaves, or equivalent rectangular bandwidths
	erb     bool
}

// InNoise returns the response as measured in noise. The cause names the effect of the noise: it
// belongs to one seating in a recording through headphones, and to everything on the rig in a
// direct one. The Transfer of the result, also divided by another, keeps the share of noise in the
// power of each bin, and the result with a window of half the length. Smoothed then subtracts the
// noise and states the remaining uncertainty. InNoise has no effect on a response that does not
// come from a Deconvolver, or for noise at another sample rate.
func (h *Impulse) InNoise(n *Noise, cause Cause) *Impulse {
	out := *h
	out.noise, out.cause = n, cause
	return &out
}

// WindowCause is the name of the component for the smoothing by a window of finite length.
const WindowCause = "length of the window"

// keepShares sets the shares of InNoise in the transfer.
func (h *Impulse) keepShares(t *Transfer, points int) {
	if h.noise == nil || h.by == nil || h.noise.sampleRate != h.SampleRate {
		return
	}
	t.resolution = float64(h.SampleRate) / h.energy()
	share := noiseShare{h.cause, make([]float64, len(t.Bins)), h.noise.relative()}
	first, end := t.bracketingBins()
	for k := first; k < end; k++ {
		rms := h.NoiseAt(h.noise, min(max(t.Frequency(k), t.Valid.Low), t.Valid.High))
		if p := fft.Power(t.Bins[k]); p > 0 && rms > 0 {
			share.of[k] = rms * rms / p
		}
	}
	t.noise = []noiseShare{share}
	if h.after == 0 {
		return
	}
	halved := h.halved()
	half := h.plans.Plan(points).Forward(nil, halved.Samples)
	t.short = &shortened{make([]float64, len(t.Bins)), 1 - halved.window/h.window, 1 / h.after.Seconds()}
	for k, v := range t.Bins {
		t.short.of[k] = 1
		if p := fft.Power(v); p > 0 {
			t.short.of[k] = fft.Power(half[k]) / p
		}
	}
}

// divideShares sets the shares of t divided by direct.
func (out *Transfer) divideShares(t, direct *Transfer) {
	if t.noise == nil || direct.noise == nil {
		out.noise, out.short = nil, nil // a noise that is not known is not a small one
		return
	}
	out.noise = append([]noiseShare(nil), t.noise...)
	for _, d := range direct.noise {
		of := make([]float64, len(d.of))
		for k, s := range d.of {
			// The mean of 1/|1 + z|², with z complex noise of power s, is 1 + s + 2s² + …, which is
			// too high by as much.
			of[k] = s / (1 + 2*s)
		}
		out.noise = append(out.noise, noiseShare{d.Cause, of, d.relative})
	}
	if t.short == nil || direct.short == nil {
		out.short = nil
		return
	}
	out.short = &shortened{make([]float64, len(t.Bins)), t.short.lost, t.short.reach}
	for k, s := range t.short.of {
		if out.short.of[k] = 1; direct.short.of[k] > 0 {
			out.short.of[k] = s / direct.short.of[k]
		}
	}
}

// cells returns the number of independent values of the noise in the mean about f, for bins from
// low to high Hz, to which a band is shrunk symmetrically.
func (t *Transfer) cells(k kernel, f, low, high float64) float64 {
	w := k.width(f)
	ratio := max(1, min((w/2+math.Hypot(f, w/2))/f, f/low, high/f))
	return math.Hypot(1, f*(ratio-1/ratio)/t.resolution)
}

// withoutNoise subtracts the power of noise from a smoothed level, and adds the remaining noise and
// the smoothing by the window as components. power holds the bins' power as smoothed by the plan.
//
// With S the power without noise and N that of the noise, the mean of S + N over B independent
// cells scatters by √((2SN + N²)/B). The noise's own power is known from the number of segments in
// the silence.
func (t *Transfer) withoutNoise(c Curve, plan *smoothing.Plan, k kernel, power, bins []float64) (Curve, error) {
	first := int(math.Round(bins[0] / t.Frequency(1)))
	part := func(of []float64) []float64 {
		return floats.MulTo(make([]float64, len(power)), power, of[first:first+len(power)])
	}
	noise := make([]float64, len(power))
	for _, s := range t.noise {
		floats.Add(noise, part(s.of))
	}
	signal := plan.Mean(nil, floats.SubTo(make([]float64, len(power)), power, noise))
	for i := range signal {
		if signal[i] = positive(signal[i]); !math.IsNaN(c.Level[i]) {
			c.Level[i] = decibel.OfPower(signal[i])
		}
	}
	cells := func(f float64) float64 { return t.cells(k, f, bins[0], bins[len(bins)-1]) }
	for _, s := range t.noise {
		n := plan.Mean(nil, part(s.of))
		c = c.with(s.Cause, k.octaves, func(i int) float64 {
			return decibel.PerNeper / 2 / signal[i] * math.Hypot(math.Sqrt((2*signal[i]*n[i]+n[i]*n[i])/cells(c.Frequency[i])),
				s.relative*n[i])
		})
	}
	if t.short == nil {
		return c, nil
	}
	change, err := t.windowChange(c.Frequency, k, power, part(t.short.of), noise, bins, cells)
	return c.with(Cause{Name: WindowCause, CommonTo: OneSide}, max(k.octaves, 1./3), func(i int) float64 {
		return decibel.PerNeper / 2 * change[i] / math.Sqrt(3)
	}), err
}

// with is like With, for an uncertainty by point.
func (c Curve) with(cause Cause, octaves float64, u func(i int) float64) Curve {
	i := -1 // With goes through the frequencies in order
	return c.With(cause, func(float64) float64 { i++; return u(i) }, octaves)
}

// windowChange returns the relative change of the power, beyond that from noise, from half of the
// window to all of it. It is the largest change within the resolution of the window about f, since
// the change has opposite signs on the flanks of a resonance. Taken as the half width of a
// rectangular distribution, it covers the error of a ring that falls to half or less in that time.
func (t *Transfer) windowChange(grid []float64, k kernel, power, short, noise, bins []float64,
	cells func(f float64) float64) ([]float64, error) {
	var around []float64
	const beside = 2
	for _, f := range grid {
		for j := -beside; j <= beside; j++ {
			around = append(around, max(bins[0], min(bins[len(bins)-1], f+float64(j)/beside*t.short.reach)))
		}
	}
	plan, err := t.plan(k, around, bins)
	if err != nil {
		return nil, err
	}
	all, half, n := plan.Mean(nil, power), plan.Mean(nil, short), plan.Mean(nil, noise)
	change := make([]float64, len(grid))
	for i, f := range around {
		lost, signal := n[i]*t.short.lost, all[i]-n[i]
		difference := half[i] + lost - all[i]
		square := (difference*difference - (2*signal*lost+lost*lost)/cells(f)) / (signal * signal)
		into := &change[i/(2*beside+1)]
		*into = max(*into, math.Sqrt(max(0, square)))
	}
	return change, nil
}
