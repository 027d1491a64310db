package review

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/response"
)

// Drawn pieces of one response, each with its own uncertainty, its own gaps and a level that
// drifts: the combined interval holds the truth, which is 0 dB, in 93 to 97 % of places, and a
// disagreement is reported in at most 2 % of draws, a level and a shape having 1 % each. A piece at
// another gain, or with another shape, is reported.
func TestCombinedPiecesHoldTheTruth(t *testing.T) {
	race.Skip(t)
	const draws = 120
	grid := response.LogGrid(50, 12800, PerOctave)
	drawn := func(random *rand.Rand, change func(piece int, f float64) float64) *combination {
		var pieces []response.Curve
		for k := range 3 {
			u := 0.02 * math.Pow(20, random.Float64())
			gap := math.Exp2(4 * random.Float64())
			c := response.Curve{Frequency: grid, Level: make([]float64, len(grid)), Valid: response.AllFrequencies}
			drift, noise := 0.05*random.NormFloat64(), 0.0
			for i, f := range grid {
				if i%4 == 0 { // noise of 1/12 octave
					noise = random.NormFloat64()
				}
				c.Level[i] = u*noise + drift + change(k, f)
				if k > 0 && f < 100*gap || k == 0 && f > 8000/gap {
					c.Level[i] = math.NaN()
				}
			}
			pieces = append(pieces, c.With(response.Cause{Name: "noise of the recording", Key: string(rune('a' + k))}, func(float64) float64 { return math.Hypot(u, 0.05) }, 1./12))
		}
		return combinePieces(pieces)
	}
	none := func(int, float64) float64 { return 0 }
	var inside, all, said float64
	for draw := range draws {
		c := drawn(rand.New(rand.NewPCG(uint64(draw), 1)), none)
		half := c.curve.HalfWidth(0.95)
		for i := 0; i < len(grid); i += PerOctave / 3 {
			if !math.IsNaN(c.curve.Level[i]) {
				all++
				if math.Abs(c.curve.Level[i]) < half[i] {
					inside++
				}
			}
		}
		if level, shape := c.disagreements(); level.significant() || shape.significant() {
			said++
		}
	}
	assert.InDelta(t, 0.95, inside/all, 0.02, "93 to 97 %")
	assert.Less(t, said/draws, 0.02+3*math.Sqrt(0.02/draws), "of draws, and three standard errors")
	level, _ := drawn(rand.New(rand.NewPCG(1, 2)), func(k int, _ float64) float64 { return []float64{0, 0, 1.5}[k] }).disagreements()
	assert.True(t, level.significant(), "a gain")
	_, shape := drawn(rand.New(rand.NewPCG(1, 2)), func(k int, f float64) float64 { return []float64{0, 2, -2}[k] * math.Log2(f/1000) }).disagreements()
	assert.True(t, shape.significant(), "a tilt")
}
