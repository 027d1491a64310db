package change_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/parallel"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/target/change"
)

var draws = flag.Int("draws", 0, "comparisons of each row; 0 takes few, of few rows")

// often counts in how many percent of draws something is said.
func often(n int, said func(r *rand.Rand) bool) float64 {
	all := make([]bool, n)
	parallel.Do(n, func(i int) { all[i] = said(rand.New(rand.NewPCG(uint64(i), 7))) })
	var k int
	for _, one := range all {
		if one {
			k++
		}
	}
	return 100 * float64(k) / float64(n)
}

// chance is three standard deviations, in percent, of what n draws show of a probability in percent.
func chance(p float64, n int) float64 { return 3 * math.Sqrt(p*(100-p)/float64(n)) }

func rows() (n int, seatings []int, of []scatter) {
	if *draws > 0 {
		return *draws, []int{2, 3, 4, 6, 8}, scatters
	}
	return 60, []int{2, 4}, scatters[1:2]
}

func TestUnchangedPairsAreRarelyCalledChanged(t *testing.T) {
	long.Skip(t)
	n, seatings, of := rows()
	for _, s := range of {
		for _, k := range seatings {
			for _, how := range []string{"independent", "paired", "in turn"} {
				drift := 0.0
				if how == "in turn" {
					drift = 0.2
				}
				changed := often(n, func(r *rand.Rand) bool {
					c, err := change.Compare(seated(r, s, k, k, level(0), how == "paired", drift), change.Config{InTurn: how == "in turn", Random: true})
					require.NoError(t, err)
					return len(c[0].Changed) > 0
				})
				report("%s, %d seatings of each, %s: %.1f %% called changed", s.name, k, how, changed)
				assert.Less(t, changed, 5+chance(5, n), "%s, %d seatings, %s", s.name, k, how)
			}
		}
	}
}

// A change of the margin, at one place or everywhere, of pairs that scatter so little that no change may be claimed.
func TestEquivalenceIsRarelyClaimedWrongly(t *testing.T) {
	long.Skip(t)
	n, seatings, of := rows()
	for _, s := range of {
		for _, k := range seatings {
			for where, by := range map[string]func(float64) float64{"everywhere": level(0.5), "at 1 kHz": bump(0, 0.3, 0.5)} {
				little := scatter{s.name, func(r *rand.Rand) func(float64) float64 {
					f := s.draw(r)
					return func(x float64) float64 { return 0.1 * f(x) }
				}}
				claimed := often(n, func(r *rand.Rand) bool {
					c, err := change.Compare(seated(r, little, k, k, by, false, 0), change.Config{Random: true})
					require.NoError(t, err)
					return c[0].Possible <= c[0].Margin
				})
				report("%s, %d seatings of each, half a decibel %s: %.1f %% called none so large", s.name, k, where, claimed)
				assert.Less(t, claimed, 5+chance(5, n), "%s, %d seatings, %s", s.name, k, where)
			}
		}
	}
}

// What the plan expects to be seen 8 times in 10 at a place named beforehand is seen so often, where seatings scatter
// as they did before.
func TestPowerIsAsPlanned(t *testing.T) {
	long.Skip(t)
	n, seatings, of := rows()
	if *draws == 0 {
		of = scatters[:1]
	}
	for _, s := range of {
		r := rand.New(rand.NewPCG(3, 3))
		plan, err := change.NewPlan(seated(r, s, 100, 100, level(0), false, 0), change.Config{})
		require.NoError(t, err)
		for _, k := range seatings {
			named, anywhere := plan.Least(k, 0.8)
			for _, x := range []float64{-3, 0, 2.5} {
				f := 1000 * math.Exp2(x)
				beforehand := often(n, func(r *rand.Rand) bool {
					c, err := change.Compare(seated(r, s, k, k, bump(x, 0.3, named.At(f)), false, 0), change.Config{Random: true})
					require.NoError(t, err)
					low, high := c[0].At(f).Interval(0.95)
					return low > 0 || high < 0
				})
				found := often(n, func(r *rand.Rand) bool {
					c, err := change.Compare(seated(r, s, k, k, bump(x, 0.3, anywhere.At(f)), false, 0), change.Config{Random: true})
					require.NoError(t, err)
					for _, b := range c[0].Changed {
						if b.Contains(f) {
							return true
						}
					}
					return false
				})
				report("%s, %d seatings of each, %.0f Hz: %.2f dB named, seen in %.0f %%; %.2f dB anywhere, seen in %.0f %%", s.name, k, f,
					named.At(f), beforehand, anywhere.At(f), found)
				less := 0.0
				if s.name != "normal" {
					less = 10 // skewed and heavy tails, which Student's test sees less of
				}
				assert.InDelta(t, 80, beforehand, 5+less+chance(80, n), "%s, %d seatings, %v Hz", s.name, k, f)
				assert.InDelta(t, 65, found, 25, "at best, as Plan.Least says: %s, %d seatings, %v Hz", s.name, k, f)
			}
		}
	}
}

// Specimens that differ by 1 dB, seatings that do by 0.5 dB.
func TestSpecimensAreWithinTheirInterval(t *testing.T) {
	const n = 2000
	for _, k := range [][2]int{{3, 2}, {5, 3}, {10, 2}} {
		var between, next int
		for i := range n {
			r := rand.New(rand.NewPCG(uint64(i), 11))
			groups := make([][]float64, k[0])
			for g := range groups {
				own := r.NormFloat64()
				for range k[1] {
					groups[g] = append(groups[g], own+0.5*r.NormFloat64())
				}
			}
			v := change.Analyse(groups, "dB")
			if low, high := v.Between.Interval(0.95); low <= 1 && high >= 1 {
				between++
			}
			one := r.NormFloat64() + 0.5*r.NormFloat64()/math.Sqrt(float64(k[1]))
			if low, high := v.Next.Interval(0.95); low <= one && high >= one {
				next++
			}
		}
		assert.InDelta(t, 95, 100*float64(between)/n, 2, "three standard deviations of 2 000 draws are 1.5")
		assert.InDelta(t, 95, 100*float64(next)/n, 2, "three standard deviations of 2 000 draws are 1.5")
	}
}

func report(format string, values ...any) {
	if testing.Verbose() {
		fmt.Printf(format+"\n", values...)
	}
}
