package capture

import (
	"fmt"
	"math"
	"slices"
)

// Spoilt is a repeat of the sweep that was left out of an average.
type Spoilt struct {
	// Repeat, counted from 1.
	Repeat int
	// Excess is by how many dB it strays further from the median of all
	// repeats than they usually do.
	Excess float64
}

// String says it for a report.
func (s Spoilt) String() string {
	return fmt.Sprintf("sweep %d strays %.0f dB further from the others than they do from each other and was left out", s.Repeat, s.Excess)
}

// spoiltExcess is the excess in dB from which a repeat is taken for spoilt.
// Repeats with nothing but steady noise differ in it by tenths.
const spoiltExcess = 6

// Average is the synchronous average of the repeats: sample by sample, since
// they were cut out at the times they were played. Repeats add in phase and
// noise does not, so twice as many lower the noise by 3 dB.
//
// A repeat that something spoilt, a passing lorry or a knock, is left out and
// named: the one whose distance from the sample-wise median of all, in rms, is
// 6 dB above the median distance. Of fewer than three none can be told.
func (t *Take) Average() (mean []float64, spoilt []Spoilt) {
	if len(t.Sweeps) == 1 {
		return t.Sweeps[0], nil
	}
	kept := t.Sweeps
	if len(kept) > 2 {
		kept, spoilt = t.sift()
	}
	mean = make([]float64, len(kept[0]))
	for _, x := range kept {
		for i, v := range x {
			mean[i] += v / float64(len(kept))
		}
	}
	return mean, spoilt
}

// sift parts the repeats into those to keep and those that are spoilt.
func (t *Take) sift() (kept [][]float64, spoilt []Spoilt) {
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
	sorted := slices.Clone(distances)
	slices.Sort(sorted)
	usual := sorted[(len(sorted)-1)/2]
	for k, d := range distances {
		if excess := 10 * math.Log10(d/usual); excess > spoiltExcess {
			spoilt = append(spoilt, Spoilt{Repeat: k + 1, Excess: excess})
			continue
		}
		kept = append(kept, t.Sweeps[k])
	}
	return kept, spoilt
}
