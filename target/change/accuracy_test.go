package change_test

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/parallel"
	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/target/change"
)

var draws = flag.Int("draws", 0, "comparisons of each row; 0 takes few, of few rows")

// often returns the percentage of draws in which a statement is made.
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

// chance returns three standard deviations, in percent, of the share that n draws show for a
// probability in percent.
func chance(p float64, n int) float64 { return 3 * math.Sqrt(p*(100-p)/float64(n)) }

// rows returns the number of comparisons of each row, and what the rows are of.
func rows() (n int, seatings [][2]int, of []scatter) {
	if *draws > 0 {
		return *draws, [][2]int{{2, 2}, {3, 3}, {4, 4}, {6, 6}, {8, 8}, {2, 6}, {6, 2}}, slices.Concat(scatters, unequal)
	}
	return 60, [][2]int{{2, 2}, {4, 4}}, []scatter{scatters[1], unequal[1]}
}

// table prints a row for each scatter and design, and fails where a share exceeds its limit by more
// than chance: three standard deviations of the draws.
type table struct {
	testing.TB
	n    int
	line strings.Builder
}

func (t *table) begin(columns [][2]int, rows string) {
	fmt.Fprintf(&t.line, "%-62s", rows)
	for _, c := range columns {
		fmt.Fprintf(&t.line, "%4d+%d", c[0], c[1])
	}
	t.end()
}

func (t *table) row(name string) { fmt.Fprintf(&t.line, "%-62s", name) }

func (t *table) cell(percent, most float64, what ...any) {
	fmt.Fprintf(&t.line, "%6.1f", percent)
	assert.Less(t, percent, most+chance(most, t.n), what...)
}

func (t *table) end() {
	if testing.Verbose() {
		fmt.Println(t.line.String())
	}
	t.line.Reset()
}

func TestUnchangedPairsAreRarelyCalledChanged(t *testing.T) {
	long.Skip(t)
	n, seatings, of := rows()
	out := &table{TB: t, n: n}
	out.begin(seatings, "unchanged pairs called changed, in percent; seatings")
	for _, s := range of {
		for _, how := range []string{"independent", "paired", "in turn"} {
			o, drift := change.Config{Random: true, InTurn: how == "in turn"}, 0.0
			if o.InTurn {
				drift = 0.2
			}
			out.row(s.name + ", " + how)
			for _, k := range seatings {
				if k[0] != k[1] && how != "independent" {
					continue
				}
				most := 5.0
				if s.after > 0 && k[0] > k[1] {
					most = 10 // as the documentation says, of few seatings that scatter most
				}
				out.cell(often(n, func(r *rand.Rand) bool {
					return change.Called(seated(r, s, k[0], k[1], level(0), how == "paired", drift), o, math.NaN())
				}), most, "%s, %v seatings, %s", s.name, k, how)
			}
			out.end()
		}
	}
}

// The compared seatings leave out everything that the tables do not depend on.
func TestLightComparisonsSayTheSame(t *testing.T) {
	for i, by := range []func(float64) float64{level(0), bump(0, 0.3, 2), bump(0, 0.3, 5)} {
		for k := 2; k < 5; k++ {
			for _, placed := range []bool{false, true} {
				all := seated(rand.New(rand.NewPCG(uint64(i), uint64(k))), scatters[0], k, k, by, placed, 0)
				c, err := change.Compare(all, change.Config{})
				require.NoError(t, err)
				assert.Equal(t, len(c[0].Changed) > 0, change.Called(all, change.Config{}, math.NaN()))
				at := c[0].Curve.Frequency[100]
				assert.Equal(t, math.Abs(c[0].Curve.Level[100]) > c[0].Simultaneous[100], change.Called(all, change.Config{}, at))
				pointwise, possible := change.Pointwise(all, change.Config{}, at)
				assert.Equal(t, c[0].Possible, possible)
				assert.InDelta(t, c[0].Curve.Uncertainty[100], pointwise.Uncertainty, 1e-9, "rounding")
			}
		}
	}
}

// A change of the margin, at one place or everywhere, of pairs that scatter so little that no
// change may be claimed.
func TestEquivalenceIsRarelyClaimedWrongly(t *testing.T) {
	long.Skip(t)
	n, seatings, of := rows()
	out := &table{TB: t, n: n}
	out.begin(seatings, "wrong statements that no change is so large, in percent; seatings")
	for _, s := range of {
		for _, where := range []struct {
			name string
			by   func(float64) float64
		}{{"0.5 dB everywhere", level(0.5)}, {"0.5 dB at 1 kHz", bump(0, 0.3, 0.5)}} {
			little := s
			little.draw = func(r *rand.Rand) func(float64) float64 {
				f := s.draw(r)
				return func(x float64) float64 { return 0.1 * f(x) }
			}
			if s.mean != nil {
				little.mean = func(x float64) float64 { return 0.1 * s.mean(x) }
			}
			out.row(s.name + ", " + where.name)
			for _, k := range seatings {
				out.cell(often(n, func(r *rand.Rand) bool {
					_, possible := change.Pointwise(seated(r, little, k[0], k[1], where.by, false, 0), change.Config{Random: true}, 1000)
					return possible <= 0.5
				}), 5, "%s, %v seatings, %s", s.name, k, where.name)
			}
			out.end()
		}
	}
}

// A change that the plan expects to be detected 8 times in 10 is detected so often if the seatings
// scatter as before. A thousand earlier seatings show a scatter of rare and large leaks to 5 %,
// which is worth 7 points of power, so many draws take several plans.
func TestPowerIsAsPlanned(t *testing.T) {
	long.Skip(t)
	n, seatings, of := rows()
	if *draws == 0 {
		of = scatters[:2]
	}
	out := &table{TB: t, n: n}
	out.begin(seatings, "changes found, in percent, where the plan expects 80; by seatings")
	for _, s := range of {
		if s.after > 0 {
			continue // one scatter is planned for
		}
		plans := make([]change.Plan, 1+n/250)
		for i := range plans {
			var err error
			plans[i], err = change.NewPlan(seated(rand.New(rand.NewPCG(uint64(i+3), 3)), s, 500, 500, level(0), false, 0), change.Config{})
			require.NoError(t, err)
		}
		var rows [6]strings.Builder
		for _, k := range seatings {
			if k[0] != k[1] {
				continue
			}
			named, anywhere := make([]response.Curve, len(plans)), make([]response.Curve, len(plans))
			for i, plan := range plans {
				named[i], anywhere[i] = plan.Least(k[0], 0.8)
			}
			for i, x := range []float64{-3, 0, 2.5} {
				f := 1000 * math.Exp2(x)
				beforehand := often(n, func(r *rand.Rand) bool {
					least := named[r.IntN(len(plans))].At(f)
					found, _ := change.Pointwise(seated(r, s, k[0], k[1], bump(x, 0.3, least), false, 0), change.Config{Random: true}, f)
					low, high := found.Interval(0.95)
					return low > 0 || high < 0
				})
				found := often(n, func(r *rand.Rand) bool {
					least := anywhere[r.IntN(len(plans))].At(f)
					return change.Called(seated(r, s, k[0], k[1], bump(x, 0.3, least), false, 0), change.Config{Random: true}, f)
				})
				fmt.Fprintf(&rows[2*i], "%6.1f", beforehand)
				fmt.Fprintf(&rows[2*i+1], "%6.1f", found)
				assert.InDelta(t, 80, beforehand, 5+chance(80, n), "%s, %v seatings, %v Hz", s.name, k, f)
				assert.InDelta(t, 80, found, 5+chance(80, n), "anywhere: %s, %v seatings, %v Hz", s.name, k, f)
			}
		}
		for i, x := range []float64{-3, 0, 2.5} {
			out.row(fmt.Sprintf("%s, %.0f Hz, named beforehand", s.name, 1000*math.Exp2(x)))
			out.line.WriteString(rows[2*i].String())
			out.end()
			out.row(fmt.Sprintf("%s, %.0f Hz, anywhere", s.name, 1000*math.Exp2(x)))
			out.line.WriteString(rows[2*i+1].String())
			out.end()
		}
	}
}

// Plans from few earlier seatings ask for too much or too little, and are right on average.
func TestPowerIsAsPlannedFromFewSeatings(t *testing.T) {
	long.Skip(t)
	plans, each := 6, 25
	if *draws > 0 {
		plans, each = *draws/10, 10
	}
	for _, s := range scatters[:2] {
		for _, sessions := range []int{3, 10} {
			if s.name != "normal" && sessions == 3 {
				continue // which do not show its shape
			}
			found, named := make([]float64, plans), make([]float64, plans)
			parallel.Do(plans, func(i int) {
				r := rand.New(rand.NewPCG(uint64(i), 23))
				var earlier []change.Seating
				for k := range sessions {
					for _, one := range seated(r, s, 3, 0, level(0), false, 0) {
						one.Condition = strconv.Itoa(k)
						earlier = append(earlier, one)
					}
				}
				plan, err := change.NewPlan(earlier, change.Config{})
				assert.NoError(t, err)
				beforehand, anywhere := plan.Least(4, 0.8)
				for range each {
					const f = 1000
					one, _ := change.Pointwise(seated(r, s, 4, 4, bump(0, 0.3, beforehand.At(f)), false, 0), change.Config{Random: true}, f)
					if low, high := one.Interval(0.95); low > 0 || high < 0 {
						named[i]++
					}
					if change.Called(seated(r, s, 4, 4, bump(0, 0.3, anywhere.At(f)), false, 0), change.Config{Random: true}, f) {
						found[i]++
					}
				}
			})
			for what, n := range map[string][]float64{"named beforehand": named, "anywhere": found} {
				percent, square := stat.MeanVariance(n, nil)
				percent *= 100 / float64(each)
				u := 100 / float64(each) * math.Sqrt(square/float64(plans))
				if testing.Verbose() {
					fmt.Printf("%s, plans of %d sessions of 3 seatings, 1000 Hz, %s: %.1f %%\n", s.name, sessions, what, percent)
				}
				assert.InDelta(t, 80, percent, 5+3*u, "%s, %d sessions, %s", s.name, sessions, what)
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
