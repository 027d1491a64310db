package level_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// NIOSH 98-126, table 1-1: combinations of level and duration that no worker shall equal or exceed.
func TestOccupationalNIOSH98126(t *testing.T) {
	for _, c := range []struct {
		level float64
		time  time.Duration
	}{
		{82, 16 * time.Hour}, {85, 8 * time.Hour}, {88, 4 * time.Hour}, {91, 2 * time.Hour}, {94, time.Hour}, {97, 30 * time.Minute},
		{100, 15 * time.Minute}, {103, 7*time.Minute + 30*time.Second}, {106, 3*time.Minute + 45*time.Second}, {115, 28 * time.Second},
		{130, 900 * time.Millisecond}, // "<1 s"
	} {
		a, err := level.Occupational.Allow(exact(c.level, level.AWeighted))
		require.NoError(t, err)
		assert.InDelta(t, c.time.Hours(), a.Hours, 0.024*c.time.Hours(), "%v dB(A); the table rounds to whole seconds and minutes", c.level)
		assert.Equal(t, level.Caution, a.Caution)
		assert.Contains(t, a.Source, "98-126")
	}
}

// The same table between the steps of 3 dB (from memory): 86 dB 6 h 21 min, 90 dB 2 h 31 min, 95 dB
// 47 min 37 s.
func TestOccupationalBetweenSteps(t *testing.T) {
	for l, minutes := range map[float64]float64{86: 381, 90: 151, 95: 47.62, 101: 11.9} {
		a, err := level.Occupational.Allow(exact(l, level.AWeighted))
		require.NoError(t, err)
		assert.InDelta(t, minutes, 60*a.Hours, 0.5, "%v dB(A); the table is in whole minutes or seconds", l)
	}
}

// ITU-T H.870: a dose of 1.6 Pa²h a week for adults and 0.51 Pa²h for sensitive persons (from
// memory), which p² t gives at any level: 80 dB(A) is 0.2 Pa, 0.04 Pa² in 40 h. Halving each 3 dB
// departs from equal energy by 0.24 % for each halving.
func TestRecreationalH870(t *testing.T) {
	for _, l := range []float64{80, 83, 89, 95, 101, 107} {
		for limit, dose := range map[*level.Limit]float64{&level.Recreational: 1.6, &level.RecreationalSensitive: 0.506} {
			a, err := limit.Allow(exact(l, level.AWeighted))
			require.NoError(t, err)
			p := 20e-6 * math.Pow(10, l/20) // Pa
			assert.InEpsilon(t, dose, p*p*a.Hours, 0.03, "%v dB(A) %s; ten halvings of 0.24 %%", l, limit.Name)
			assert.Contains(t, a.Source, "H.870")
		}
	}
}

func TestAllowance(t *testing.T) {
	t.Run("a low level lasts the period and no longer", func(t *testing.T) {
		a, err := level.Recreational.Allow(exact(60, level.AWeighted))
		require.NoError(t, err)
		assert.Equal(t, 168.0, a.Hours)
		a, err = level.Occupational.Allow(exact(20, level.AWeighted))
		require.NoError(t, err)
		assert.Equal(t, 24.0, a.Hours)
	})
	t.Run("no time above the ceiling", func(t *testing.T) {
		a, err := level.Occupational.Allow(exact(141, level.AWeighted))
		require.NoError(t, err)
		assert.Zero(t, a.Hours)
		assert.Contains(t, a.String(), "no time at all")
	})
	t.Run("1.5 dB of uncertainty halves the time to keep to", func(t *testing.T) {
		a, err := level.Occupational.Allow(response.Figure{Value: 94, Uncertainty: 1.5, Unit: level.AWeighted})
		require.NoError(t, err)
		assert.InDelta(t, 1, a.Hours, 1e-12, "NIOSH table")
		assert.InDelta(t, 0.5, a.AtMost, 1e-12, "3 dB more")
		assert.Contains(t, a.String(), "30 min to allow for the uncertainty")
		assert.Contains(t, a.String(), level.Caution)
	})
	t.Run("without a known uncertainty there is no allowed time", func(t *testing.T) {
		a, err := level.Occupational.Allow(response.Figure{Value: 94, Uncertainty: math.NaN(), Unit: level.AWeighted})
		require.NoError(t, err)
		assert.True(t, math.IsNaN(a.AtMost))
		assert.Contains(t, a.String(), "not known")
	})
	t.Run("an unweighted level is refused, and one that is not known", func(t *testing.T) {
		_, err := level.Occupational.Allow(exact(94, level.SoundPressure))
		assert.ErrorIs(t, err, level.ErrInput)
		_, err = level.Occupational.Allow(exact(math.NaN(), level.AWeighted))
		assert.ErrorIs(t, err, level.ErrInput)
	})
}
