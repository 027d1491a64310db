package coverage

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/target/review"
)

// chain is what plays and records: an interface with a low and a high end of its own, and a
// recorder whose clock runs faster by a factor.
type chain struct {
	levels levels // zero if nil
	clock  float64
}

// recorded returns a recording by the chain's clock.
func (s *session) recorded(x []float64) []float64 {
	if s.chain.clock == 0 {
		return x
	}
	return stretched(x, s.chain.clock)
}

// stretched returns a recording by a clock that is faster by a factor, by sinc interpolation under
// a Hann window of 64 samples.
func stretched(x []float64, faster float64) []float64 {
	const half = 32
	out := make([]float64, len(x))
	for i := range out {
		at := float64(i) / (1 + faster)
		first := int(at) - half + 1
		u := at - float64(first)
		sin, turn := math.Sin(math.Pi*u), cmplx.Rect(1, -math.Pi/half)
		window := cmplx.Rect(0.5, math.Pi*u/half)
		for k := first; k < first+2*half; k++ {
			switch {
			case k < 0 || k >= len(x):
			case math.Abs(u) < 1e-9:
				out[i] += x[k]
			default:
				out[i] += (0.5 + real(window)) * sin / (math.Pi * u) * x[k]
			}
			u, sin, window = u-1, -sin, window*turn
		}
	}
	return out
}

// TestIntervalsOfDelays draws reviews of the group delay, through an interface with a group delay of
// its own and on two clocks. The right answer is the mean over all seatings of the group delay of
// the pair, over a third of an octave, re the peak of the impulse response.
func TestIntervalsOfDelays(t *testing.T) {
	if *leveled == few {
		long.Skip(t)
	}
	b, err := newBench(25600)
	require.NoError(t, err)
	drawLevels(t, b, "delays", [2]float64{-65, -75}, [2]float64{-40, -45}, (*session).runDelays)
}

// runDelays draws, measures and counts a review of group delays.
func (s *session) runDelays() (draw, error) {
	s.chain = chain{shelf(between(s.Rand, 5, 15), between(s.Rand, -20, 0)).plus(1, peak(between(s.Rand, 9000, 15000), 1, 2*s.NormFloat64())),
		1e-6 * between(s.Rand, -100, 100)}
	b, _, err := s.begin()
	if err != nil {
		return nil, err
	}
	r, _, _, err := s.measure(b, "pair", s.device, s.seatings, func(*review.Pair, [2][]levels, [2]levels) error { return nil })
	if err != nil {
		return nil, err
	}
	d := draw{}
	var true [2]map[float64]float64
	for k, side := range r.Sides() {
		true[k] = s.delays(s.unplaced(k), side.Seatings[0].Transfer.Valid)
		s.delay(d, fmt.Sprintf("group delay, %d seatings", min(s.seatings, 4)), side.GroupDelay, true[k])
	}
	for f, v := range true[1] {
		true[0][f] -= v
	}
	s.delay(d, "group delay, left less right", r.DelayDifference, true[0])
	return d, nil
}

func (s *session) delay(d draw, name string, c response.Curve, truth map[float64]float64) {
	half := response.Curve{Frequency: c.Frequency, Level: c.HalfWidth(0.95), Valid: c.Valid}
	for band, at := range places {
		for _, f := range at {
			if v, known := truth[f], c.At(f); !math.IsNaN(known) {
				d.holds(interval, name+", "+band, known-half.At(f), known+half.At(f), v)
			}
		}
	}
}

// delays returns the mean over seatings of the group delay in ms at the places.
func (s *session) delays(seatings []levels, valid response.Band) map[float64]float64 {
	n := 2 * (s.phase.Bins() - 1)
	bin := float64(s.rate) / float64(n)
	const finer = 4
	plan, out := fft.NewPlan(finer*n), map[float64]float64{}
	for _, l := range seatings {
		h := s.minimumPhase(l)
		long := make([]complex128, plan.Bins())
		for k, v := range h {
			if valid.Contains(float64(k) * bin) {
				long[k] = v
			}
		}
		x := plan.Inverse(nil, long)
		for i := range x {
			x[i] = math.Abs(x[i])
		}
		top := floats.MaxIdx(x)
		a, c := x[(top+len(x)-1)%len(x)], x[(top+1)%len(x)]
		at := float64(top) + (a-c)/2/(a-2*x[top]+c)
		if 2*top > len(x) {
			at -= float64(len(x))
		}
		peak := at / finer / float64(s.rate)
		for _, frequencies := range places {
			for _, f := range frequencies {
				low, high := int(math.Ceil(max(valid.Low, f*math.Pow(2, -1./6))/bin)), int(min(valid.High, f*math.Pow(2, 1./6))/bin)
				var sum float64
				for k := low; k <= high; k++ {
					sum -= cmplx.Phase(h[k+1]*cmplx.Conj(h[k-1])) / (4 * math.Pi * bin)
				}
				if high < low {
					out[f] = math.NaN()
					continue
				}
				out[f] += 1e3 * (sum/float64(high-low+1) - peak) / float64(len(seatings))
			}
		}
	}
	return out
}
