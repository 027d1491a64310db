package response

import (
	"math"

	"example.com/earnest/internal/statistic"
	"example.com/earnest/smoothing"
)

// Outlier is a curve that differs from the others.
type Outlier struct {
	// Index of the curve.
	Index int
	// Distance is its rms distance in dB from the median curve, every octave weighing the same, and
	// Usual the median of that distance over all curves.
	Distance, Usual float64
	// Band is the octave in which it differs most, and Deviation the mean level there in dB above
	// the median curve: a leak under the cushion shows as a deficit in the lowest octaves.
	Band      Band
	Deviation float64
}

// A curve is an outlier if its distance is more than oddFactor times the usual one and more than
// oddLeast dB.
const (
	oddFactor = 3
	oddLeast  = 0.5
)

// outliers returns the curves whose rms distance from the median curve is more than three times the
// median of these distances. A single outlier does not move the median. Of two curves neither can
// be called an outlier.
//
// Simulated with ten independent octaves: where all octaves scatter alike, one set of three in 300
// has a curve called odd by chance and hardly any larger set; where the lowest and the highest
// scatter five times as much as the middle, 1 set of three in 20 and 1 larger set in 40.
func outliers(grid Curve, levels [][]float64) []Outlier {
	if len(levels) < 3 {
		return nil
	}
	weights, middle := grid.octaveWeights(), make([]float64, len(grid.Frequency))
	distances, column := make([]float64, len(levels)), make([]float64, len(levels))
	var total float64
	for i := range middle {
		for k := range levels {
			column[k] = levels[k][i]
		}
		middle[i] = statistic.Median(column)
		if math.IsNaN(middle[i]) {
			continue
		}
		total += weights[i]
		for k, v := range column {
			distances[k] += weights[i] * (v - middle[i]) * (v - middle[i])
		}
	}
	for k := range distances {
		distances[k] = math.Sqrt(distances[k] / total)
	}
	usual := statistic.Median(distances)
	var odd []Outlier
	for k, d := range distances {
		if d > oddLeast && d > oddFactor*usual {
			o := Outlier{Index: k, Distance: d, Usual: usual}
			o.Band, o.Deviation = furthest(grid, levels[k], middle)
			odd = append(odd, o)
		}
	}
	return odd
}

// furthest returns the octave of the grid's valid band over which a curve's mean difference from
// the middle is largest, and that difference in dB.
func furthest(grid Curve, level, middle []float64) (Band, float64) {
	difference := grid
	difference.Level = make([]float64, len(level))
	for i := range level {
		difference.Level[i] = level[i] - middle[i]
	}
	n := len(grid.Frequency)
	span := grid.Valid.Intersect(Band{grid.Frequency[0], grid.Frequency[n-1]})
	bands, err := smoothing.Bands(1, span.Low, span.High)
	if err != nil { // nothing is known
		return Band{}, math.NaN()
	}
	var where Band
	most := math.NaN()
	for _, b := range bands {
		octave := Band{b.Low, b.High}
		if v := difference.MeanOver(octave); !math.IsNaN(v) && !(math.Abs(v) <= math.Abs(most)) {
			where, most = octave, v
		}
	}
	return where, most
}
