package programme

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Mains hum in both recordings is one steady sine in each. The two are coherent at any phase, so a
// filter between the recordings explains them, and where the material has no energy that filter is
// the ratio of the two hums. The bins of a hum are therefore left out.
const (
	// humSteady is the largest scatter of the power of a hum between pieces of time, re its mean, in
	// either recording. The power of music, speech and noise scatters by 0.3 and more.
	humSteady = 0.1
	// humPieces is the least number of pieces that are compared.
	humPieces = 6
	// humHighest is the highest multiple of 50 and 60 Hz that is looked for.
	humHighest = 10
	// humReach is the number of bins on either side to which the main lobe of a Hann window spreads a
	// sine. Its sidelobes beyond count where they may be more than humShare of the power.
	humReach = 2
	humShare = 0.01
)

// findHum sets the bins in which both recordings hold mains hum and little else.
func (t *resolution) findHum() {
	t.hum = make([]bool, t.n/2+1)
	spacing := t.rate / float64(t.n)
	for _, mains := range []float64{50, 60} {
		for f := mains; f <= humHighest*mains; f += mains {
			k := int(math.Round(f / spacing))
			if k < humReach || k+humReach >= len(t.hum) || !t.steady(k) {
				continue
			}
			for i := range t.hum {
				t.hum[i] = t.hum[i] || t.spreads(k, i)
			}
		}
	}
}

// spreads reports whether the hum at bin k matters in a bin, in either recording. A Hann window
// spreads a sine that lies d bins away as sin(πd)/(πd(1 − d²)).
func (t *resolution) spreads(k, bin int) bool {
	away := math.Abs(float64(bin - k))
	if away <= humReach {
		return true
	}
	d := away - 0.5 // the sine may lie between two bins
	side := math.Pow(math.Pi*d*(d*d-1), -2)
	var at, here [2]float64
	for _, g := range t.groups {
		at[0], at[1] = at[0]+g.xx[k], at[1]+g.yy[k]
		here[0], here[1] = here[0]+g.xx[bin], here[1]+g.yy[bin]
	}
	return side*at[0] > humShare*here[0] || side*at[1] > humShare*here[1]
}

// steady reports whether the power of a bin is the same in all pieces of time, in both recordings.
func (t *resolution) steady(k int) bool {
	if len(t.groups) < humPieces {
		return false
	}
	var direct, through []float64
	for _, g := range t.groups {
		direct = append(direct, g.xx[k]/float64(g.count))
		through = append(through, g.yy[k]/float64(g.count))
	}
	for _, powers := range [][]float64{direct, through} {
		if mean, spread := stat.MeanStdDev(powers, nil); !(spread < humSteady*mean) {
			return false
		}
	}
	return true
}

// material returns the bins from low to high Hz, without those of a hum.
func (t *resolution) material(low, high float64) bins {
	b := t.between(low, high)
	for i := range b.weight {
		if t.hum != nil && t.hum[b.first+i] {
			b.weight[i] = 0
		}
	}
	return b
}
