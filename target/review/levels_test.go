package review

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"example.com/earnest/distortion"
)

// TestTheHighestLevelIsAMeanOverSeatings checks the mean and its standard uncertainty (JCGM
// 100:2008, 4.2.1 and 4.2.3), and the note if a seating did not reach the limit.
func TestTheHighestLevelIsAMeanOverSeatings(t *testing.T) {
	of := func(each ...maxLevel) MaxLevel { return new(Side).meanMaxLevel(1000, 3, each) }
	at := func(played float64, err error) maxLevel { return maxLevel{played: played, sound: math.NaN(), err: err} }
	silent := errors.New("the distortion is not known")
	over, under := fmt.Errorf("louder: %w", distortion.ErrNotReached), fmt.Errorf("softer: %w", distortion.ErrExceeded)

	m := of(at(-20, nil), at(-18, nil), at(-16, nil))
	assert.NoError(t, m.Err)
	assert.InDelta(t, -18, m.Played.Value, 1e-12)
	assert.InDelta(t, 2/math.Sqrt(3), m.Played.Uncertainty, 1e-12)
	low, high := m.Played.Interval(0.95)
	assert.InDelta(t, 4.303*2/math.Sqrt(3), (high-low)/2, 1e-3, "Student's t of 2 degrees, of any table")
	assert.False(t, m.Sound.Known(), "no calibrator")

	m = of(at(-20, nil))
	assert.Equal(t, -20.0, m.Played.Value)
	assert.True(t, math.IsNaN(m.Played.Uncertainty), "one seating shows no scatter")

	m = of(at(-20, nil), at(-12, over))
	assert.ErrorIs(t, m.Err, distortion.ErrNotReached)
	assert.Equal(t, -16.0, m.Played.Value, "or louder: the second goes at least to −12 dBFS")
	m = of(at(-20, nil), at(-30, under))
	assert.ErrorIs(t, m.Err, distortion.ErrExceeded)

	m = of(at(-20, nil), at(math.NaN(), silent), at(-18, nil))
	assert.NoError(t, m.Err)
	assert.Equal(t, -19.0, m.Played.Value, "unknown readings are left out")
	m = of(at(math.NaN(), silent))
	assert.ErrorIs(t, m.Err, silent)
	assert.False(t, m.Played.Known())
	m = of(at(-12, over), at(-30, under))
	assert.ErrorContains(t, m.Err, "further apart")
	assert.NotErrorIs(t, m.Err, distortion.ErrNotReached)
	assert.False(t, m.Played.Known())
}
