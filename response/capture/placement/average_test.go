package placement_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.com/earnest/internal/testing/race"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response/capture/placement"
)

// repeated returns n noisy repeats of a tone.
func repeated(n int, noise float64) *placement.Take {
	random := rand.New(rand.NewPCG(3, 9))
	t := &placement.Take{}
	for range n {
		x := make([]float64, 20000)
		for i := range x {
			x[i] = math.Sin(float64(i)/10) + noise*random.NormFloat64()
		}
		t.Sweeps = append(t.Sweeps, x)
	}
	return t
}

func rmsError(x []float64) float64 {
	var sum float64
	for i, v := range x {
		sum += (v - math.Sin(float64(i)/10)) * (v - math.Sin(float64(i)/10))
	}
	return math.Sqrt(sum / float64(len(x)))
}

// Independent noise falls by 3 dB for each doubling (common practice, and the
// variance of a mean).
func TestAverageLowersNoise(t *testing.T) {
	race.Skip(t)
	for _, n := range []int{1, 2, 4, 8} {
		mean, spoilt := repeated(n, 0.01).Average()
		assert.Empty(t, spoilt)
		assert.InEpsilon(t, 0.01/math.Sqrt(float64(n)), rmsError(mean), 0.03, "%d repeats; 20 000 samples give the rms within 0.5 %% (one standard error)", n)
	}
}

func TestSpoiltRepeatIsLeftOutAndNamed(t *testing.T) {
	race.Skip(t)
	take := repeated(4, 0.001)
	for i := 5000; i < 9000; i++ { // a lorry
		take.Sweeps[2][i] += 0.05 * math.Sin(float64(i)/200)
	}
	mean, spoilt := take.Average()
	require.Len(t, spoilt, 1)
	assert.Contains(t, spoilt[0], "sweep 3")
	assert.InEpsilon(t, 0.001/math.Sqrt(3), rmsError(mean), 0.03, "the noise of three repeats; as above")
}

func TestOfTwoRepeatsNoneIsLeftOut(t *testing.T) {
	take := repeated(2, 0.001)
	take.Sweeps[1][100] += 0.5
	_, spoilt := take.Average()
	assert.Empty(t, spoilt)
}
