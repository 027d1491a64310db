package smoothing

import (
	"fmt"
	"math"
	"strconv"
)

// Band is one band of a standard fractional-octave analyser, in Hz. Centre is the exact midband
// frequency, the geometric mean of Low and High, and Nominal the rounded frequency that labels the
// band.
type Band struct{ Low, Centre, High, Nominal float64 }

// finestFraction and mostBands keep a mistaken fraction or frequency from asking for all memory.
const (
	finestFraction = 1000
	mostBands      = 100_000
)

// Bands returns the bands of 1/fraction octave that cover low … high Hz, from the one that contains
// low to the one that contains high, by IEC 61260-1:2014. Each band's High is the next one's Low,
// to the last digit. With b for fraction, G = 10^(3/10) and x any whole number,
//
//	Centre = 1000 G^(x/b) for odd b, 1000 G^((2x+1)/(2b)) for even b
//	Low, High = Centre G^(∓1/(2b))
//
// Nominal is the preferred frequency of the R10 series (25, 31.5, 40, 50 …) for b = 1 and 3.
// Otherwise, from memory of the standard's Annex E: three significant digits for b = 2; for b from
// 4 to 24, three if the first digit is 1 to 4, else two. For finer bands the standard lists
// nothing; they have one digit more (b to 240) or two, enough to distinguish neighbours.
//
// The error wraps [ErrWidth] if fraction is not from 1 to 1000. It wraps [ErrGrid] unless 0 < low ≤
// high and high is finite, and if there are more than 100 000 bands from low to high.
func Bands(fraction int, low, high float64) ([]Band, error) {
	if fraction < 1 || fraction > finestFraction {
		return nil, fmt.Errorf("smoothing: fraction: %w: 1/%d octave; "+
			"give a fraction from 1 to %d, such as 3 for thirds of an octave",
			ErrWidth, fraction, finestFraction)
	}
	if !(low > 0 && low <= high) || math.IsInf(high, 1) {
		return nil, fmt.Errorf("smoothing: bands from %v to %v Hz: %w: need 0 < low ≤ high, both finite", low,
			high, ErrGrid)
	}
	first, last := bandIndices(fraction, low, high)
	if n := last - first + 1; n > mostBands {
		return nil, fmt.Errorf("smoothing: bands from %v to %v Hz: %w: %d bands of 1/%d octave, at most %d; "+
			"bring low and high nearer together",
			low, high, ErrGrid, n, fraction, mostBands)
	}
	bands := make([]Band, 0, last-first+1)
	for x := first; x <= last; x++ {
		middle := 2*x + (1 - fraction%2)
		centre := halfStep(fraction, middle)
		bands = append(bands, Band{
			Low:     halfStep(fraction, middle-1),
			Centre:  centre,
			High:    halfStep(fraction, middle+1),
			Nominal: nominal(fraction, x, centre),
		})
	}
	return bands, nil
}

// halfStep returns the frequency h half bands above 1 kHz: 1000 G^(h/(2b)).
func halfStep(b, h int) float64 {
	return 1000 * math.Pow(10, float64(3*h)/float64(20*b))
}

// bandIndices returns x of the bands that contain low and high. A frequency on an edge, within
// rounding, belongs to the band inside low … high.
func bandIndices(b int, low, high float64) (first, last int) {
	const slack = 1e-9
	index := func(f float64) float64 { // counted from the lower edge of x = 0
		return float64(b)*(math.Log10(f)-3)/0.3 + 0.5*float64(b%2)
	}
	first = int(math.Floor(index(low) + slack))
	last = int(math.Ceil(index(high)-slack)) - 1
	return first, max(first, last)
}

// preferred is one decade of the R10 series of preferred numbers (ISO 3), times 100.
var preferred = [10]float64{100, 125, 160, 200, 250, 315, 400, 500, 630, 800}

func nominal(b, x int, centre float64) float64 {
	switch b {
	case 1:
		return preferredFrequency(3 * x)
	case 3:
		return preferredFrequency(x)
	case 2:
		return roundDigits(centre, 3)
	}
	digits := 3
	if leading := strconv.FormatFloat(centre, 'e', -1, 64)[0]; leading >= '5' {
		digits = 2
	}
	for fine := 24; b > fine; fine *= 10 {
		digits++
	}
	return roundDigits(centre, digits)
}

// preferredFrequency returns the preferred frequency t thirds of an octave above 1 kHz.
func preferredFrequency(t int) float64 {
	decade := int(math.Floor(float64(t) / 10))
	p, e := preferred[t-10*decade], decade+1
	if e < 0 {
		return p / math.Pow10(-e) // 31.5 exactly, unlike 315 · 0.1
	}
	return p * math.Pow10(e)
}

// roundDigits rounds to a number of significant decimal digits.
func roundDigits(v float64, digits int) float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	if err != nil {
		return v // rounded up past the largest float64
	}
	return r
}
