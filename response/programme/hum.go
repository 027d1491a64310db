package programme

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// Mains hum in both recordings is one steady sine in each. The two are coherent at any phase, so a
// filter between the recordings explains them, and where the material has less energy that filter
// is the ratio of the two hums. The bins of a hum are therefore left out.
const (
	// humSteady is the largest scatter of the power of a hum between pieces of time, re its mean.
	// The power of music, speech and noise scatters by 0.3 and more.
	humSteady = 0.1
	// humPieces is the least number of pieces that are compared.
	humPieces = 6
	// humHighest is the highest multiple of 50 and 60 Hz that is looked for.
	humHighest = 10
	// humReach is the number of bins on either side to which the main lobe of a Hann window spreads
	// a sine. Its sidelobes beyond count where they may be more than humShare of the power.
	humReach = 2
	humShare = 0.01
)

// findHum sets the bins in which the direct recording holds mains hum and little else.
func (t *resolution) findHum() {
	t.hum = make([]bool, t.n/2+1)
	spacing := t.rate / float64(t.n)
	for _, mains := range []float64{50, 60} {
		for f := mains; f <= humHighest*mains; f += mains {
			k := int(math.Round(f / spacing))
			if k < humReach || k+humReach >= len(t.hum) || !t.steady(k, directPower) {
				continue
			}
			both := t.steady(k, throughPower)
			for i := range t.hum {
				t.hum[i] = t.hum[i] || t.spreads(k, i, directPower) || both && t.spreads(k, i, throughPower)
			}
		}
	}
}

// spreads reports whether the hum at bin k matters in a bin of a recording. A Hann window spreads a
// sine that lies d bins away as sin(πd)/(πd(1 − d²)).
func (t *resolution) spreads(k, bin int, power func(*sums, int) float64) bool {
	away := math.Abs(float64(bin - k))
	if away <= humReach {
		return true
	}
	d := away - 0.5 // the sine may lie between two bins
	var at, here float64
	for _, g := range t.groups {
		at, here = at+power(g, k), here+power(g, bin)
	}
	return math.Pow(math.Pi*d*(d*d-1), -2)*at > humShare*here
}

// steady reports whether the power of a bin of a recording is the same in all pieces of time.
func (t *resolution) steady(k int, power func(*sums, int) float64) bool {
	if len(t.groups) < humPieces {
		return false
	}
	var powers []float64
	for _, g := range t.groups {
		powers = append(powers, power(g, k)/float64(g.count))
	}
	mean, spread := stat.MeanStdDev(powers, nil)
	return spread < humSteady*mean
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

func directPower(s *sums, k int) float64 { return s.xx[k] }

func throughPower(s *sums, k int) float64 { return s.yy[k] }
