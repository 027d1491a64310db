package claim_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
)

// scattered returns left less right in n seatings: a level plus a Gaussian field with a standard
// deviation of 0.5 dB and a correlation of a third of an octave.
func scattered(level func(f float64) float64, n int, random *rand.Rand) []response.Curve {
	const perOctave, reach = 12, 12 // of the kernel, whose square's width is that of the correlation
	frequency := response.LogGrid(40, 12000, perOctave)
	var all []response.Curve
	for range n {
		white := make([]float64, len(frequency)+2*reach)
		for i := range white {
			white[i] = random.NormFloat64()
		}
		c := response.Curve{Frequency: frequency, Level: make([]float64, len(frequency)), Valid: response.Band{Low: 40, High: 12000}}
		for i, f := range frequency {
			var sum, squares float64
			for k := -reach; k <= reach; k++ {
				w := math.Exp(-math.Pow(float64(k)/perOctave*3, 2))
				sum, squares = sum+w*white[i+reach+k], squares+w*w
			}
			c.Level[i] = level(f) + 0.5*sum/math.Sqrt(squares)
		}
		all = append(all, c)
	}
	return all
}

// A match of 1 dB, everywhere or in one place, is at the limit of a claim of 1 dB; a match of 3 dB
// in an octave is beyond it.
func TestBandClaimsAtTheirLimit(t *testing.T) {
	long.Skip(t)
	bump := func(height float64) func(f float64) float64 {
		return func(f float64) float64 { return height * math.Exp(-math.Pow(2*math.Log2(f/1000), 2)) }
	}
	random := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		name        string
		level       func(f float64) float64
		most, least float64 // share of "not met"
	}{
		{"everywhere", func(float64) float64 { return 1 }, 0.05, 0},
		{"at one place", bump(1), 0.05, 0},
		{"beyond it by 2 dB, nine standard uncertainties of five seatings", bump(3), 1, 0.85},
	} {
		const draws = 80
		for _, n := range []int{2, 5} {
			var not, met float64
			for range draws {
				e := claim.Evidence{Evidence: target.Evidence{Match: scattered(c.level, n, random)}}
				v, err := claim.Judge(claim.Match{Within: 1, Over: response.Band{Low: 50, High: 10000}}, e)
				require.NoError(t, err)
				switch v.Outcome {
				case claim.NotMet:
					not += 1. / draws
				case claim.Met:
					met += 1. / draws
				}
			}
			t.Logf("%s, %d seatings: not met %.1f %%, met %.1f %%", c.name, n, 100*not, 100*met)
			assert.LessOrEqual(t, not, c.most+3*math.Sqrt(0.05*0.95/draws), "%s, %d seatings; three of a binomial share's", c.name, n)
			assert.LessOrEqual(t, met, 0.05+3*math.Sqrt(0.05*0.95/draws), "%s, %d seatings", c.name, n)
			if n == 5 {
				assert.GreaterOrEqual(t, not, c.least, c.name)
			}
		}
	}
}
