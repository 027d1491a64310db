package placement

import (
	"math"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/sweep"
)

const (
	// slightlyOff is the largest share by which the distance of repeats may be off.
	slightlyOff = 0.01
	// repeatStanding is the level in dB by which the match of a recording with itself, one repeat
	// later, must stand above the values around it; noise reaches 17 dB.
	repeatStanding = 20
	// ratesAgree is the largest difference of the ratios that two distances give.
	ratesAgree = 1e-4
)

// rateByRepeats returns the rate in Hz at which a channel was recorded, by the distance of the
// repeats of the sweep, or 0 if it does not stand out or the stimulus has fewer than three. A clock
// that is off by a few tenths of a per cent moves the last of many repeats too far to be found. It
// moves twice the distance by twice as much, which lost samples do not.
func (ref *reference) rateByRepeats(x []float64) int {
	repeats := ref.stimulus.Sweeps(sweep.Left)
	if len(repeats) < 3 {
		return 0
	}
	apart := float64(repeats[1].Start-repeats[0].Start) / float64(ref.step)
	thin := search.Thin(x, ref.step)
	for i := len(thin) - 1; i > 0; i-- { // the bass would hide the rest
		thin[i] -= thin[i-1]
	}
	if float64(len(thin)) < 3*apart {
		return 0
	}
	plan := fft.NewPlan(fft.FastLen(len(thin) + int(3*apart)))
	bins := plan.Forward(nil, thin)
	for k, v := range bins {
		bins[k] = complex(fft.Power(v), 0)
	}
	match := plan.Inverse(nil, bins)
	one, two := farther(match, apart), farther(match, 2*apart)
	if !(math.Abs(one-two) < ratesAgree) {
		return 0
	}
	return int(math.Round(float64(ref.stimulus.Signal().SampleRate()) * two))
}

// farther looks for the distance near apart at which a recording matches itself. It returns the
// ratio of that distance to apart, within slightlyOff of 1, or NaN if none stands out.
func farther(match []float64, apart float64) float64 {
	first, last := int(apart*(1-slightlyOff)), int(apart*(1+slightlyOff))+1
	some := match[first : last+1]
	best := search.Strongest(some, 0, len(some))
	if best <= 0 || best == len(some)-1 || !(search.Standing(some, best, len(some)) >= repeatStanding) {
		return math.NaN()
	}
	return (float64(first) + search.Peak(some, best)) / apart
}
