package placement

import (
	"fmt"
	"slices"

	"example.com/earnest/internal/decibel"
)

// rejectedExcess is the number of dB by which a rejected repeat deviates further from the median of
// all repeats than is usual. Repeats that differ only by steady noise have tenths of a dB.
const rejectedExcess = 6

// Average returns the synchronous average of the repeats, sample by sample, since they were cut out
// at the times they were played. Repeats add in phase and noise does not, so twice as many lower
// the noise by 3 dB.
//
// It rejects a repeat that a knock or a passing lorry disturbed, and names it in a sentence for a
// report: the one whose rms distance from the sample-wise median of all is 6 dB above the median
// distance. With fewer than three repeats it rejects none. Of a single one it returns the samples
// themselves.
func (t *Take) Average() (mean []float64, rejected []string) {
	kept := t.Sweeps
	if len(kept) > 2 {
		kept, rejected = t.sift()
	}
	if len(kept) == 1 {
		return kept[0], rejected
	}
	mean = make([]float64, len(kept[0]))
	for _, x := range kept {
		for i, v := range x {
			mean[i] += v / float64(len(kept))
		}
	}
	return mean, rejected
}

// sift separates the repeats to keep from those to reject.
func (t *Take) sift() (kept [][]float64, rejected []string) {
	distances := make([]float64, len(t.Sweeps))
	column := make([]float64, len(t.Sweeps))
	for i := range t.Sweeps[0] {
		for k, x := range t.Sweeps {
			column[k] = x[i]
		}
		slices.Sort(column)
		middle := (column[(len(column)-1)/2] + column[len(column)/2]) / 2
		for k, x := range t.Sweeps {
			distances[k] += (x[i] - middle) * (x[i] - middle)
		}
	}
	sorted := slices.Sorted(slices.Values(distances))
	usual := sorted[(len(sorted)-1)/2]
	for k, d := range distances {
		if excess := decibel.OfPower(d / usual); excess > rejectedExcess {
			rejected = append(rejected, fmt.Sprintf(
				"sweep %d deviates %.0f dB more from the others than they do from each other, and was left out", k+1, excess))
			continue
		}
		kept = append(kept, t.Sweeps[k])
	}
	return kept, rejected
}
