package correction_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/correction"
)

// seated is a response in one seating: a Gaussian field with a standard deviation of 0.5 dB and a
// correlation of half an octave about a level.
func seated(r *rand.Rand, level func(f float64) float64) response.Curve {
	const perOctave, reach = 12, 12 // of the kernel
	grid := response.LogGrid(20, 20000, perOctave)
	white := make([]float64, len(grid)+2*reach)
	for i := range white {
		white[i] = r.NormFloat64()
	}
	c := response.Curve{Frequency: grid, Level: make([]float64, len(grid)), Valid: response.Band{Low: 20, High: 20000}}
	for i, f := range grid {
		var sum, squares float64
		for k := -reach; k <= reach; k++ {
			w := math.Exp(-math.Pow(2*float64(k)/perOctave, 2))
			sum, squares = sum+w*white[i+reach+k], squares+w*w
		}
		c.Level[i] = level(f) + 0.5*sum/math.Sqrt(squares)
	}
	return c
}

// Filters are judged on seatings that they were not fitted to, and new seatings show the same.
func TestNewSeatingsShowWhatIsPromised(t *testing.T) {
	long.Skip(t)
	r := rand.New(rand.NewPCG(1, 1))
	device := func(f float64) float64 { return -correction.LevelOf(five, f, 48000) }
	const draws, more, n = 8, 40, 3
	var ratio, flattering float64
	inside := 0
	for range draws {
		var seatings []response.Curve
		for range n {
			seatings = append(seatings, seated(r, device))
		}
		k, err := correction.Fit(seatings, target.Flat(), target.Config{}, correction.Config{})
		require.NoError(t, err)
		var truth float64
		for range more {
			c := seated(r, func(f float64) float64 { return device(f) + correction.LevelOf(k.Filters, f, 48000) })
			d, err := target.Compare(c, target.Flat(), target.Config{})
			require.NoError(t, err)
			truth += d.RMS.Value / more
		}
		ratio += k.NewSeating.Value / truth / draws
		flattering += k.After.RMS.Value / truth / draws
		if low, high := k.NewSeating.Interval(0.95); low <= truth && truth <= high {
			inside++
		}
	}
	assert.InDelta(t, 1, ratio, 0.12, "of eight draws, each known to a sixth")
	assert.Less(t, flattering, 0.8, "those that they were fitted to promise too much")
	assert.GreaterOrEqual(t, inside, draws-2, "95 % in the long run")
	k, err := correction.Fit([]response.Curve{seated(r, device)}, target.Flat(), target.Config{}, correction.Config{})
	require.NoError(t, err)
	assert.False(t, k.NewSeating.Known(), "one seating says nothing of another")
}
