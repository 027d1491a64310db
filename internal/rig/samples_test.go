package rig

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Samples by which the demonstration was known before it was simulated faster (commit 77a0df8): of
// half a second of music, direct and by each seating of the pair.
func TestSamplesOfTheDemonstrationStay(t *testing.T) {
	h, _, r := Demonstration()
	music := Music(fs, 0.5, 1)
	got := map[string][][]float64{"direct": r.Direct(music), "through": r.Through(h, 1, music), "single": r.Single(h, Right, 2, music)}
	for name, want := range before {
		for side, samples := range want {
			for i, v := range samples {
				assert.InDelta(t, v, got[name][side][1100+2000*i], 1e-9, "%s, %v, sample %d; rounding, full scale 1", name, Side(side), i)
			}
		}
	}
}

// before holds them, every 2000th from the 1100th on, to 12 digits.
var before = map[string][][]float64{
	"direct": {
		{0.16587784703, -0.189722053667, 0.191090801512, -0.126768252277, -0.0567292516175, 0.109986477697, 0.0812652139498, -0.0136597949984, -0.0113006166662, 0.0589403813844, -0.0875956929291, 0.00847815844873},
		{0.0754733397495, -0.215440896776, 0.192528839656, -0.124895644444, -0.0245303882122, 0.117864772355, 0.0816786206705, -0.113308991621, -0.0151743378662, 0.0959747465405, -0.141629443687, 0.050116417921},
	},
	"through": {
		{0.1433266663, -0.0571446265995, 0.162481789342, -0.135745246887, -0.024238963035, 0.0593182073148, 0.0548416062342, 0.0240055165042, 0.00904588498046, 0.0314417484164, -0.056753888637, 0.0147744276673},
		{0.0364695649367, -0.0563233671894, 0.180089702777, -0.157216112228, 0.0158751623434, 0.0644829029526, 0.0651513472003, -0.030890354343, 0.0134497383036, 0.0143312253285, -0.0703338472871, 0.0443653447636},
	},
	"single": {
		{0.0319593355826, -0.0508154850416, 0.168588076325, -0.148755373674, 0.00929487359584, 0.0707309103588, 0.0638759833023, -0.0340737764695, 0.0157150798696, 0.0116533698897, -0.0666190459628, 0.043261354816},
	},
}
