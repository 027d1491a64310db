package distortion

import (
	"math"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
)

// Noise says how the noise in a reading scatters, and how well it is known.
//
// The power R² that is read where noise of power N² is added to what the device does, h², has a
// known distribution: with n degrees of freedom in the noise and k in what is known of its power,
// R²/N² is a noncentral F variable of n and k degrees and noncentrality λ = n h²/N². What the
// reading says of the device is what λ can be. For one line, n = 2, it is Rice's distribution (Bell
// System Technical Journal 23, 1944, from memory).
type Noise struct {
	// Degrees of freedom of the noise in the reading: 2 for one line. 0 stands for a reading that is
	// no root mean square, such as a peak: its noise is not taken off.
	Degrees float64
	// Known are the degrees of freedom with which the floor is known; 0 stands for so many that it
	// does not matter.
	Known float64
	// Rig is the share of the floor's power that is no noise but the rig's own distortion: not taken
	// off, since the phase in which it stands is not known, but a part of the uncertainty.
	Rig float64
	// Reference is the relative standard uncertainty of what the reading is relative to.
	Reference float64
}

// sure is the relative uncertainty from which on an amplitude is as good as Gaussian.
const sure = 0.16

// told is the ratio of powers by which a reading must exceed its floor to be the device's: 6 dB.
const told = 4

// relative is the relative standard uncertainty of the amplitude √(R² − N²), whose power over that of
// the noise is p.
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

// amplitude returns the amplitude h, for N = 1, with which a reading of a power of x or less has a
// probability; given that it was told, that is, above a least power, or whatever it is for 0. It is
// 0 where the probability is less even for h = 0.
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
	// A floor that is known with few degrees may be several times too low.
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

// interval returns the lowest and the highest amplitude, over the one that was read, √(R² − N²), that
// a reading of a power x, which was told, being above a least power, allows with a probability. Far
// above the noise that is Student's interval. It holds among the readings that are told: those that
// the noise has lifted over the margin do not spoil it.
func (n Noise) interval(x, least, probability float64) (low, high float64) {
	tail := (1 - probability) / 2
	if u := n.relative(x - 1); u < sure {
		return 1 - u*n.coverage(1-tail), 1 + u*n.coverage(1-tail)
	}
	// Just above the margin both ends would lie below what was read.
	read := math.Sqrt(x - 1)
	return min(1, n.amplitude(x, least, 1-tail)/read), max(1, n.amplitude(x, least, tail)/read)
}

// coverage is the one-sided quantile of an amplitude far above the noise.
func (n Noise) coverage(probability float64) float64 {
	return response.Figure{DegreesOfFreedom: n.Known}.Coverage(probability)
}
