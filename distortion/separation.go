package distortion

import (
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/earnest/internal/duration"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// ErrOrders means that more harmonics are asked for than a deconvolution has room for, or a sweep
// can separate.
var ErrOrders = errors.New("more harmonics than can be separated")

// The ends of the window of order n, as parts of the distance to its neighbours in time. They were
// tested on exact harmonics: wider windows let the neighbours in.
const (
	shareBefore = 0.4  // of the way to order n+1, which is earlier
	shareAfter  = 0.55 // of the way to order n−1, which is later
	untapered   = 0.75 // of the part after the peak that the window does not taper
)

// defaultDecay is the decay for which a sweep has to leave room if none is stated: headphones ring
// for less, except at their lowest frequencies.
const defaultDecay = 10 * time.Millisecond

// mostOrders is the highest order that is separated, however slow the sweep is.
const mostOrders = 100

// chooseOrders sets the number of orders.
func (c *Config) chooseOrders(sep *response.Deconvolved) error {
	separable := MaxOrders(sep.Sweep, c.Decay)
	if c.Orders == 0 {
		c.Orders = max(2, min(sep.Orders, separable))
	}
	s := sep.Sweep
	switch {
	case c.Orders < 2:
		return fmt.Errorf("distortion: %w: order %d asked for; harmonics count from 2", ErrOrders, c.Orders)
	case c.Orders > sep.Orders:
		return fmt.Errorf("distortion: %w: order %d asked for, but the deconvolution has room for %d; "+
			"make the deconvolver with more Orders",
			ErrOrders, c.Orders, sep.Orders)
	case c.Orders > separable:
		return fmt.Errorf("distortion: %w: order %d asked for, "+
			"a sweep of %.3g s separates up to %d where the device rings for %v; "+
			"make the sweep at least %.2g s long or ask for fewer",
			ErrOrders, c.Orders, s.Duration(), separable, c.Decay, MinDuration(s.Start(), s.Stop(), c.Orders, c.Decay).Seconds())
	}
	return nil
}

// MaxOrders returns the highest harmonic that a sweep separates from the one below it if each rings
// for a decay. Order n comes L ln(n/(n−1)) before order n−1, and its window is flat over 0.41 of
// that time, so
//
//	0.41 L ln(n/(n−1)) ≥ decay.
//
// It is 1 if the sweep separates none, and at most 100.
func MaxOrders(s *sweep.Sweep, decay time.Duration) int {
	n := 1
	for n < mostOrders && roomFor(s.TimeConstant(), n+1) >= decay.Seconds() {
		n++
	}
	return n
}

// MinDuration returns the shortest sweep from start to stop Hz that separates the harmonics up to
// orders if each rings for a decay, so that MaxOrders returns at least as many. Half of
// ln(stop/start)/start is added, since a synchronised sweep may be a little shorter than asked for;
// the whole of it is the shortest sweep that can be made.
//
// It panics unless 0 < start < stop, orders is at least 2 and decay above 0.
func MinDuration(start, stop float64, orders int, decay time.Duration) time.Duration {
	if !(start > 0 && stop > start && orders >= 2 && decay > 0) {
		panic("distortion: a sweep rises from above 0 Hz, orders count from 2 and a decay is above zero")
	}
	span := math.Log(stop / start)
	constant := decay.Seconds() / roomFor(1, orders)
	return duration.Of(span*max(constant+0.5/start, 1/start)) + time.Microsecond
}

// roomFor returns the time in seconds for which order n may ring in a sweep of time constant L.
func roomFor(timeConstant float64, n int) float64 {
	return untapered * shareAfter * timeConstant * math.Log(float64(n)/float64(n-1))
}

// orderWindow returns the window of the n-th harmonic before and after its place.
func orderWindow(s *sweep.Sweep, n int) (before, after time.Duration) {
	earlier := s.HarmonicAdvance(n+1) - s.HarmonicAdvance(n)
	later := s.HarmonicAdvance(n) - s.HarmonicAdvance(n-1)
	return duration.Of(shareBefore * earlier), duration.Of(shareAfter * later)
}

// windowBandwidth returns the equivalent noise bandwidth of a window in Hz: the mean of its squared
// weights over the square of their mean and its length (F. J. Harris, Proc. IEEE 66(1), 1978). A
// raised-cosine taper has the mean 1/2 and the mean square 3/8. So where the tapers reduce the mean
// by 1/2 of their length, they reduce the mean square by 5/8.
func windowBandwidth(before, after time.Duration) float64 {
	square := taper.WindowPower(before, after)
	mean := 1 - 0.8*(1-square)
	return square / (mean * mean * (before + after).Seconds())
}

// believable returns the band of the fundamental in which the ends of the sweep do not disturb the
// harmonics. A harmonic is itself a sweep, and its spectrum ripples at its ends over a width
// proportional to 1/√(f L), f L being the cycles that a sweep spends in an e-fold. Measured on
// exact harmonics of sweeps of 2 to 10 s, the error is up to 0.5 dB within half of these 2.2
// widths, and less than 0.1 dB beyond them.
func believable(s *sweep.Sweep) response.Band {
	const widths = 2.2
	return response.Band{
		Low:  s.Start() * (1 + widths/math.Sqrt(s.Start()*s.TimeConstant())),
		High: s.Stop() / (1 + widths/math.Sqrt(s.Stop()*s.TimeConstant())),
	}
}
