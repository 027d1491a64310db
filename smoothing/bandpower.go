package smoothing

import (
	"fmt"
	"math"
)

// BandPower integrates a one-sided power density over bands: the power in each, in the unit of
// density times Hz. Divide by High − Low for the mean density.
//
// density[k], per Hz, is that at k·spacing Hz and is taken as constant from half a bin below to
// half a bin above, like a periodogram's bin. A bin that an edge divides counts on both sides in
// proportion, so adjoining bands sum to the power between the outermost edges. The power in a band
// no wider than a few bins is as uncertain as that of the bins.
//
// A band that begins below 0 Hz or ends above the last bin's upper edge, (len(density) −
// ½)·spacing, is NaN, and so is one that touches a NaN. Of the bin at 0 Hz only the half above 0 Hz
// counts.
//
// The result has one value per band. It is written to dst unless that is nil. BandPower panics if
// dst has another length, or if spacing is not finite and above 0.
func BandPower(dst, density []float64, spacing float64, bands []Band) []float64 {
	if !(spacing > 0) || math.IsInf(spacing, 1) {
		panic(fmt.Sprintf("smoothing: bins are %v Hz apart", spacing))
	}
	dst = output(dst, len(bands))
	for i, b := range bands {
		// Positions in bins, counted from the lower edge of the first.
		dst[i] = spacing * binSum(density, b.Low/spacing+0.5, b.High/spacing+0.5)
	}
	return dst
}

// binSum integrates density, constant over [k, k+1), from low to high.
func binSum(density []float64, low, high float64) float64 {
	const slack = 1e-9 // of a bin, for an edge that rounding puts past the end
	end := float64(len(density))
	if !(low >= 0.5 && low < high && high <= end+slack) {
		return math.NaN()
	}
	high = min(high, end)
	j, k := int(low), int(math.Ceil(high))-1
	if j >= k {
		return (high - low) * density[min(j, k)]
	}
	sum := doubled{sum: (float64(j+1) - low) * density[j]}
	for _, d := range density[j+1 : k] {
		sum = sum.add(d)
	}
	return sum.add(float64((high - float64(k)) * density[k])).sum
}
