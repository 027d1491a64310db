package smoothing

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrGrid is wrapped by every error about a list of frequencies.
var ErrGrid = errors.New("not a usable grid of frequencies")

// grid holds the frequencies above 0 Hz and the length, in nepers of frequency (ln), of the segment
// from each to the next. Lengths are computed from differences of frequency: differences of
// logarithms would lose six digits at the top of a grid of 65 536 bins.
type grid struct {
	frequency []float64
	length    []float64
}

func newGrid(frequency []float64) grid {
	g := grid{slices.Clone(frequency), make([]float64, len(frequency)-1)}
	for i := range g.length {
		g.length[i] = logRatio(frequency[i], frequency[i+1])
	}
	return g
}

// below returns the index of the last point not above f, or −1 if f lies outside the grid.
func (g grid) below(f float64) int {
	i, found := slices.BinarySearch(g.frequency, f)
	if i == len(g.frequency) {
		return -1
	}
	if !found {
		i--
	}
	return i
}

// fit fits band b to the points first … last of the grid, which contain its centre.
func (g grid) fit(b band, first, last int) span {
	low, high := b.within(g.frequency[first], g.frequency[last])
	j, found := slices.BinarySearch(g.frequency[first:b.at+1], low)
	j += first
	if !found {
		j--
	}
	k, _ := slices.BinarySearch(g.frequency[b.at:last+1], high)
	k += b.at - 1
	if k <= j {
		return g.point(b)
	}
	width := logRatio(low, high)
	tail := logRatio(low, g.frequency[j+1])
	head := logRatio(g.frequency[k], high)
	u, v := tail/g.length[j]/2, head/g.length[k]/2
	return span{
		first:  j,
		last:   k,
		weight: [4]float64{tail * u / width, tail * (1 - u) / width, head * (1 - v) / width, head * v / width},
		inner:  1 / width,
	}
}

// point returns the span of a band inside one segment, over which the curve is straight: its mean
// is the value at the centre.
func (g grid) point(b band) span {
	s := span{first: b.at, last: b.at}
	var u float64
	if f := g.frequency[b.at]; b.centre > f {
		u = logRatio(f, b.centre) / g.length[b.at]
	}
	s.weight = [4]float64{1 - u, u}
	return s
}

// band describes one output: its centre and edges in Hz, and the index of the last grid point not
// above the centre, or −1 if that is off the grid.
type band struct {
	centre, low, high float64
	at                int
}

// within returns the band's edges, shrunk by the same ratio on both sides so that neither lies
// outside [first, last].
func (b band) within(first, last float64) (low, high float64) {
	switch {
	case b.low >= first && b.high <= last:
		return b.low, b.high
	case b.centre/first <= last/b.centre:
		return first, min(b.centre*(b.centre/first), last)
	default:
		return max(b.centre*(b.centre/last), first), last
	}
}

// span is a band fitted to the grid. Its lower edge lies in segment first, its upper edge in
// segment last. weight belongs to the values at both ends of these two, and inner to the integral
// over the whole segments between.
type span struct {
	first, last int
	weight      [4]float64
	inner       float64
}

// logRatio returns ln(high/low), accurate to the last digit also for a ratio near 1.
func logRatio(low, high float64) float64 {
	if r := (high - low) / low; r <= math.MaxFloat64 {
		return math.Log1p(r)
	}
	return math.Log(high) - math.Log(low)
}

func checkGrid(frequency []float64) error {
	if len(frequency) == 0 || len(frequency) == 1 && frequency[0] == 0 {
		return fmt.Errorf("smoothing: frequency: %w: holds nothing above 0 Hz", ErrGrid)
	}
	for i, f := range frequency {
		if err := checkFrequency("frequency", i, f); err != nil {
			return err
		}
		if i > 0 && f <= frequency[i-1] {
			return fmt.Errorf("smoothing: frequency[%d]: %w: %v Hz after %v Hz; "+
				"sort the grid upwards and drop repeated frequencies",
				i, ErrGrid, f, frequency[i-1])
		}
	}
	return nil
}

func checkCentres(centre []float64) error {
	if len(centre) == 0 {
		return fmt.Errorf("smoothing: centre: %w: is empty", ErrGrid)
	}
	for i, f := range centre {
		if err := checkFrequency("centre", i, f); err != nil {
			return err
		}
	}
	return nil
}

func checkFrequency(name string, i int, f float64) error {
	if !(f >= 0) || math.IsInf(f, 1) {
		return fmt.Errorf("smoothing: %s[%d]: %w: %v Hz; frequencies must be finite and not negative", name, i, ErrGrid, f)
	}
	return nil
}
