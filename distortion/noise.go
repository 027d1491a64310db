package distortion

import (
	"math"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// Noise describes the scatter of the noise in a reading, and how well its power is known.
//
// A reading's power R² is the sum of the device's h² and noise of power N². It has a known
// distribution: with n degrees of freedom in the noise and k in the estimate of its power, R²/N² is
// a noncentral F variable of n and k degrees and noncentrality λ = n h²/N². The interval of λ for
// the reading gives that of the device. For one line, n = 2, it is Rice's distribution (Bell System
// Technical Journal 23, 1944, from memory).
type Noise struct {
	// Degrees is the number of degrees of freedom of the noise in the reading: 2 for one line. 0
	// means that the reading is not a root mean square, such as a peak: its noise is not
	// subtracted.
	Degrees float64
	// Known is the number of degrees of freedom with which the floor is known; 0 means that it is
	// known exactly.
	Known float64
	// Rig is the share of the floor's power that is the rig's own distortion. It is not subtracted,
	// since its phase is not known, but is a part of the uncertainty.
	Rig float64
	// Reference is the relative standard uncertainty of the reference of the reading.
	Reference float64

	apart float64 // share of the rig's power that does not move the reading, as in a sum
}

// moving returns the share of the floor's power that is the rig's own and moves the reading.
func (n Noise) moving() float64 { return n.Rig * (1 - n.apart) }

// sure is the relative uncertainty below which an amplitude is nearly Gaussian.
const sure = 0.16

// margin is the ratio of powers by which a reading must exceed its floor to be the device's: 6 dB.
const margin = 4

// relative returns the relative standard uncertainty of the amplitude √(R² − N²), whose power over
// that of the noise is p.
func (n Noise) relative(p float64) float64 {
	if n.Degrees == 0 {
		return math.Sqrt(1 / (2 * p))
	}
	own := 2 / n.Degrees
	if n.Known > 0 {
		own += 2 / n.Known
	}
	return math.Sqrt(own/(p*p)+4/(n.Degrees*p)) / 2
}

// amplitude returns the amplitude h, for N = 1, at which a power of x or less is read with a given
// probability. If least is not 0, the probability is conditional on a power above least. It returns
// 0 if the probability is lower even for h = 0.
func (n Noise) amplitude(x, least, probability float64) float64 {
	k := n.Known
	if k == 0 {
		k = math.Inf(1)
	}
	more := func(root float64) bool {
		lambda, below := root*root, 0.0
		if least > 0 {
			below = statistic.NoncentralF(least, n.Degrees, k, lambda)
		}
		return statistic.NoncentralF(x, n.Degrees, k, lambda)-below > probability*(1-below)
	}
	// A floor that is known with few degrees of freedom may be several times too low.
	low, high := 0.0, 4*math.Sqrt(n.Degrees*x)+12
	for high-low > 1e-4 {
		if middle := (low + high) / 2; more(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return low / math.Sqrt(n.Degrees)
}

// interval returns the lowest and the highest amplitude, relative to the one that was read, √(R² −
// N²), for a reading of power x and a probability. It is conditional on a power above least, so
// that the readings which noise has lifted over the margin do not spoil it. Far above the noise it
// is Student's interval.
func (n Noise) interval(x, least, probability float64) (low, high float64) {
	tail := (1 - probability) / 2
	if u := n.relative(x - 1); u < sure {
		return 1 - u*n.coverage(1-tail), 1 + u*n.coverage(1-tail)
	}
	// Just above the margin both ends would lie below the reading.
	read := math.Sqrt(x - 1)
	return min(1, n.amplitude(x, least, 1-tail)/read), max(1, n.amplitude(x, least, tail)/read)
}

// coverage returns the one-sided quantile of an amplitude far above the noise.
func (n Noise) coverage(probability float64) float64 {
	return response.Figure{DegreesOfFreedom: n.Known}.Coverage(probability)
}
