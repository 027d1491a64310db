package programme

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Attacks compares the sudden rises in level of the two recordings.
type Attacks struct {
	// Count is the number of attacks in the material. Kept is the share of them, 0 to 1, that the
	// through recording has at the same instant. Kept is NaN without attacks.
	Count int
	Kept  float64
	// Change is the mean over the attacks kept, in dB, of how much more an attack stands out above
	// the sound before it in the through recording than in the material. Below zero, attacks are
	// softened. Its uncertainty is that of the mean. It is not known with fewer than 5 attacks
	// kept.
	Change response.Figure
}

const (
	// An attack is a rise of the level over 10 ms by 9 dB above that of the 40 ms before, to no
	// less than 30 dB below the loudest 10 ms.
	attackRise  = 9.0
	attackFloor = -30.0
	keptRise    = 4.5 // dB; half of that rise still counts as kept
	leastCount  = 5
)

// attacks finds the attacks of the material, and compares them with the through recording, from the
// mean square of each step of both recordings. A step is in seconds.
func attacks(steps [2][]float64, step float64) Attacks {
	e := Attacks{Kept: math.NaN(), Change: response.NotKnown("dB")}
	before, after := int(math.Round(0.040/step)), int(math.Round(0.010/step))
	direct, through := steps[0], steps[1]
	x, y := prefix(direct), prefix(through)
	rise := func(sum []float64, i int) (rise, level float64) {
		was := (sum[i] - sum[i-before]) / float64(before)
		is := (sum[i+after] - sum[i]) / float64(after)
		return decibel.OfPower((is + 1e-14) / (was + 1e-14)), is
	}
	var loudest float64
	for i := before; i+after < len(direct); i++ {
		_, level := rise(x, i)
		loudest = max(loudest, level)
	}
	var changes []float64
	for i := before; i+after < len(direct); i++ {
		r, level := rise(x, i)
		if r < attackRise || level < loudest*decibel.Power(attackFloor) {
			continue
		}
		// The attack is at the steepest rise within 20 ms.
		best := i
		for j := i; j < min(i+2*after, len(direct)-after); j++ {
			if s, _ := rise(x, j); s > r {
				best, r = j, s
			}
		}
		e.Count++
		if s, _ := rise(y, best); s >= keptRise {
			changes = append(changes, s-r)
		}
		i = best + before
	}
	if e.Count > 0 {
		e.Kept = float64(len(changes)) / float64(e.Count)
	}
	if len(changes) < leastCount {
		return e
	}
	var deviation float64
	e.Change.Value, deviation = stat.MeanStdDev(changes, nil)
	e.Change.Uncertainty = stat.StdErr(deviation, float64(len(changes)))
	return e
}

// prefix returns the sums of the values before each index.
func prefix(x []float64) []float64 {
	sum := make([]float64, len(x)+1)
	for i, v := range x {
		sum[i+1] = sum[i] + v
	}
	return sum
}
