package distortion

import (
	"errors"
	"fmt"
	"math"
	"time"

	"example.com/earnest/internal/duration"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// ErrOrders is returned when more harmonics are asked for than a deconvolution
// has room for, or a sweep can separate.
var ErrOrders = errors.New("more harmonics than can be separated")

// Where the window of order n ends, as shares of the way to its neighbours in
// time. Tried on exact harmonics; wider ones let the neighbours in.
const (
	shareBefore = 0.4  // of the way to order n+1, which is earlier
	shareAfter  = 0.55 // of the way to order n−1, which is later
	untapered   = 0.75 // of the part after that the window leaves as it is
)

// defaultDecay is the decay that a sweep has to give room for if nothing is
// said: headphones ring less than this but at their lowest frequencies.
const defaultDecay = 10 * time.Millisecond

// mostOrders is the highest order that is worth telling from the ones beside
// it; a sweep so slow could go on.
const mostOrders = 100

// MaxOrders is the highest harmonic that a sweep separates from the one below
// it when each rings for a decay. Order n stands L ln(n/(n−1)) before order
// n−1, and what its window leaves as it is reaches 0.41 of the way there, so
//
//	0.41 L ln(n/(n−1)) ≥ decay.
//
// It is 1 when the sweep separates none, and no more than 100.
func MaxOrders(s *sweep.Sweep, decay time.Duration) int {
	n := 1
	for n < mostOrders && roomFor(s.TimeConstant(), n+1) >= decay.Seconds() {
		n++
	}
	return n
}

// roomFor is the time in seconds that order n may ring in a sweep of rate L.
func roomFor(rate float64, n int) float64 {
	return untapered * shareAfter * rate * math.Log(float64(n)/float64(n-1))
}

// MinDuration is how long a sweep from start to stop Hz has to be to separate
// the harmonics up to orders when each rings for a decay: the length at which
// MaxOrders says so. A sweep made may be a little shorter than asked for, to be
// synchronised; half of ln(stop/start)/start is added to cover that, and all
// of it is the least that can be made.
//
// It panics unless 0 < start < stop, orders is at least 2 and decay above 0.
func MinDuration(start, stop float64, orders int, decay time.Duration) time.Duration {
	if !(start > 0 && stop > start && orders >= 2 && decay > 0) {
		panic("distortion: a sweep rises from above 0 Hz, orders count from 2 and a decay lasts longer than nothing")
	}
	span := math.Log(stop / start)
	rate := decay.Seconds() / roomFor(1, orders)
	return duration.Of(span*max(rate+0.5/start, 1/start)) + time.Microsecond
}

// chooseOrders settles how many orders are taken.
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
		return fmt.Errorf("distortion: %w: order %d asked for, the deconvolution has room for %d; make the deconvolver with more Orders",
			ErrOrders, c.Orders, sep.Orders)
	case c.Orders > separable:
		return fmt.Errorf("distortion: %w: order %d asked for, a sweep of %.3g s separates up to %d where the device rings for %v; make the sweep at least %.2g s long or ask for fewer",
			ErrOrders, c.Orders, s.Duration(), separable, c.Decay, MinDuration(s.Start(), s.Stop(), c.Orders, c.Decay).Seconds())
	}
	return nil
}

// orderWindow is the window of the n-th harmonic before and after its place.
func orderWindow(s *sweep.Sweep, n int) (before, after time.Duration) {
	earlier := s.HarmonicAdvance(n+1) - s.HarmonicAdvance(n)
	later := s.HarmonicAdvance(n) - s.HarmonicAdvance(n-1)
	return duration.Of(shareBefore * earlier), duration.Of(shareAfter * later)
}

// windowBandwidth is the equivalent noise bandwidth of a window in Hz, the
// mean of its squared weights over the square of their mean and its length
// (F. J. Harris, Proc. IEEE 66(1), 1978). Of a raised-cosine taper the mean is
// 1/2 and the mean square 3/8, so each 5/8 that the tapers take from the mean
// square is 1/2 from the mean.
func windowBandwidth(before, after time.Duration) float64 {
	square := response.WindowPower(before, after)
	mean := 1 - 0.8*(1-square)
	return square / (mean * mean * (before + after).Seconds())
}

// believable is the band of the fundamental where the ends of the sweep leave
// the harmonics alone. A harmonic is a sweep itself and its spectrum ripples
// at its ends over a width that goes with 1/√(f L), the cycles that a sweep
// spends in an e-fold. Measured on exact harmonics of sweeps of 2 to 10 s, it
// is off by up to 0.5 dB within half of these 2.2 widths and by less than 0.1
// beyond them.
func believable(s *sweep.Sweep) response.Band {
	const widths = 2.2
	return response.Band{
		Low:  s.Start() * (1 + widths/math.Sqrt(s.Start()*s.TimeConstant())),
		High: s.Stop() / (1 + widths/math.Sqrt(s.Stop()*s.TimeConstant())),
	}
}
