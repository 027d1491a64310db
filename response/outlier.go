package response

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/smoothing"
)

// Outlier is a curve that differs from the others.
type Outlier struct {
	// Index is that of the curve.
	Index int
	// Band is the octave in which it differs most, and Deviation its mean level there in dB above
	// that of the other curves. A leak under the cushion shows as a deficit in the lowest octaves.
	Band      Band
	Deviation float64
}

// usualScatter is the standard deviation in dB over seatings of the mean level of an octave, from
// that about 31.5 Hz on, common for pairs on plates and ears.
var usualScatter = []float64{1.5, 1, 0.6, 0.4, 0.3, 0.3, 0.4, 0.6, 0.8, 1}

const (
	usualFreedom = 4    // degrees of freedom that the usual scatter counts for
	leastScatter = 0.15 // dB; less is no reason to doubt a seating, however alike the others are
	// The scores above which one of three curves is an outlier, and one of more.
	outlierOfThree, outlierOfMore = 6.5, 5.5
	// straggler is the score above which a curve that is no outlier is a straggler.
	straggler = 3.3
)

// outliers returns the curves that lie too far from the others, and those that may. Of two neither
// can be called an outlier.
//
// In each octave the mean level of a curve is compared with those of the others, whose variance s²
// has n − 2 degrees of freedom:
//
//	z² = (mean − mean of the others)² / (v (1 + 1/(n − 1))),  v = (4 u² + (n − 2) s²)/(n + 2) + 0.15² dB²,
//
// u being the usual scatter, since two or three others give a poor estimate of it. The score is the
// larger of the rms of z over all octaves and 0.7 of the mean of the two largest.
//
// Of simulated sessions of both sides, 0.2 to 4 % have a curve that is called an outlier by chance,
// whether the scatter is normal or skewed, has heavy tails or few causes. A leak of 12 dB below 300
// Hz is named in more than 90 %. 0 to 20 % have a straggler by chance, and a leak of 10 dB at 31.5
// Hz is an outlier or a straggler in 40 to 90 %.
func outliers(grid Curve, levels [][]float64) (surely, perhaps []Outlier) {
	n := len(levels)
	span := grid.Valid.Intersect(Band{grid.Frequency[0], grid.Frequency[len(grid.Frequency)-1]})
	bands, err := smoothing.Bands(1, span.Low, span.High)
	if n < 3 || err != nil { // if nothing is known there are no bands
		return nil, nil
	}
	threshold := outlierOfMore
	if n == 3 {
		threshold = outlierOfThree
	}
	found, scores := make([]Outlier, n), make([][]float64, n)
	for _, b := range bands {
		octave, means := Band{b.Low, b.High}, make([]float64, n)
		for k, level := range levels {
			one := grid
			one.Level = level
			means[k] = one.MeanOver(octave)
		}
		for k, v := range means {
			z, deviation := apart(v, slices.Delete(slices.Clone(means), k, k+1), b.Centre)
			if math.IsNaN(z) {
				continue
			}
			if len(scores[k]) == 0 || z > slices.Max(scores[k]) {
				found[k] = Outlier{k, octave, deviation}
			}
			scores[k] = append(scores[k], z)
		}
	}
	for k, z := range scores {
		switch s := score(z); {
		case s > threshold:
			surely = append(surely, found[k])
		case s > straggler:
			perhaps = append(perhaps, found[k])
		}
	}
	return surely, perhaps
}

// apart returns |z| of a mean level among others in the octave about centre Hz, and its difference
// from their mean in dB.
func apart(v float64, others []float64, centre float64) (z, deviation float64) {
	octave := int(math.Round(math.Log2(centre/1000))) + 5
	usual := usualScatter[max(0, min(octave, len(usualScatter)-1))]
	mean, variance := stat.MeanVariance(others, nil)
	m := float64(len(others))
	variance = (usualFreedom*usual*usual+(m-1)*variance)/(usualFreedom+m-1) + leastScatter*leastScatter
	deviation = v - mean
	return math.Abs(deviation) / math.Sqrt(variance*(1+1/m)), deviation
}

// score returns the larger of the rms of z and 0.7 of the mean of the two largest.
func score(z []float64) float64 {
	if len(z) == 0 {
		return 0
	}
	z = slices.Sorted(slices.Values(z))
	two := z[max(0, len(z)-2):]
	return max(floats.Norm(z, 2)/math.Sqrt(float64(len(z))), 0.7*stat.Mean(two, nil))
}
