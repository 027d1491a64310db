package coverage

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"example.com/earnest/internal/testing/long"
	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
)

var sessions = flag.Int("sessions", few, "invented sessions in the test of the verdicts; 2000 take some minutes")

// Verdicts follow from curves alone. So these sessions are drawn as curves, without noise, and go
// through packages target and claim, not through recordings.

// curve returns levels as measured without noise.
func curve(l levels) response.Curve {
	grid := response.LogGrid(20, 20000, 24)
	c := response.Curve{Frequency: grid, Level: make([]float64, len(grid)), Rig: "simulated", Valid: response.Band{Low: grid[0], High: grid[len(grid)-1]}}
	for i, f := range grid {
		c.Level[i] = l.at(f)
	}
	return c
}

// measured returns a pair's mean and left less right over n seatings that were put on one side at a
// time. Each pair is placed on the rig with its own error of a standard uncertainty in dB.
func measured(t *testing.T, r *rand.Rand, f family, name string, device [2]levels, n int, placement float64) (mean, match response.Curve) {
	var sides [2]*response.Average
	for side := range 2 {
		place := field(1, r.NormFloat64).times(placement)
		key := fmt.Sprint(name, side)
		var curves []response.Curve
		for range n {
			c := curve(device[side].plus(1, f.seated(r, side), place))
			curves = append(curves, c.With(response.Cause{Name: "placement", CommonTo: response.OneSide, Key: key}, func(float64) float64 { return placement }, 1))
		}
		var err error
		sides[side], err = response.AverageOf(curves)
		require.NoError(t, err)
	}
	mean, match, err := response.PoolSides(sides[0], sides[1])
	require.NoError(t, err)
	return mean, match
}

func (f family) of(device [2]levels, side int) levels {
	m := f.mean
	if side == 1 && f.right > 0 {
		m = m.times(f.right)
	}
	return device[side].plus(1, m)
}

// furthest returns the place at which levels are lowest relative to 1 kHz, and the level there.
func furthest(l levels, b response.Band) (at, most float64) {
	for i := range l {
		if f := frequency(i); b.Contains(f) && l.at(1000)-l[i] > most {
			at, most = f, l.at(1000)-l[i]
		}
	}
	return at, most
}

func widest(l levels, b response.Band) float64 {
	var most float64
	for i := range l {
		if b.Contains(frequency(i)) {
			most = max(most, math.Abs(l[i]))
		}
	}
	return most
}

// deviationOf returns the standard deviation over seatings of a figure of the left side's levels.
func (f family) deviationOf(r *rand.Rand, of func(left, right levels) float64) float64 {
	const n = 60
	var sum, squares float64
	for range n {
		v := of(f.seated(r, 0), f.seated(r, 1))
		sum, squares = sum+v, squares+v*v
	}
	return math.Sqrt((squares - sum*sum/n) / (n - 1))
}

func evidence(mean, match response.Curve) claim.Evidence {
	return claim.Evidence{Evidence: target.Evidence{Seatings: []response.Curve{mean}, Match: []response.Curve{match}}, SampleRate: 48000}
}

func (d draw) judged(t *testing.T, kind kind, name string, c claim.Claim, e claim.Evidence) {
	v, err := claim.Judge(c, e)
	require.NoError(t, err)
	d.add(kind, name, v.Outcome == claim.NotMet)
}

// claims judges claims that are true at the limit, and claims that are missed by three standard
// uncertainties.
func claims(t *testing.T, d draw, r *rand.Rand, f family, n int) {
	pair := device(r)
	e := evidence(measured(t, r, f, "pair", pair, n, 0))
	middle := f.of(pair, 0).plus(1, f.of(pair, 1)).times(0.5)
	apart := f.of(pair, 0).plus(-1, f.of(pair, 1))
	band := response.Band{Low: 40, High: 12000}
	at, down := furthest(middle, band)
	if down < 1 {
		return
	}
	reference := claim.Reference{At: 1000}
	root := math.Sqrt(float64(n))
	d.judged(t, rare, fmt.Sprintf("range true at its limit, not met, %d seatings", n), claim.FrequencyRange{Band: band, Down: down, Reference: reference}, e)
	u := f.deviationOf(r, func(l, r levels) float64 { return (l.at(at) + r.at(at) - l.at(1000) - r.at(1000)) / 2 }) / root
	if down > 3*u {
		d.judged(t, told, fmt.Sprintf("range missed by 3 u at one frequency, not met, %d seatings", n), claim.FrequencyRange{Band: band, Down: down - 3*u, Reference: reference}, e)
	}
	d.judged(t, rare, fmt.Sprintf("match over a band true at its limit, not met, %d seatings", n), claim.Match{Within: widest(apart, band), Over: band}, e)
	within := math.Abs(apart.at(1000))
	if within == 0 {
		return
	}
	d.judged(t, rare, "match at 1 kHz true at its limit, not met", claim.Match{Within: within, At: 1000}, e)
	// The additional distance that makes a miss of 3 u.
	u = f.deviationOf(r, func(l, r levels) float64 { return l.at(1000) - r.at(1000) }) / root
	missed := pair
	missed[0] = missed[0].plus(1, flat(math.Copysign(3*u, apart.at(1000))))
	e = evidence(measured(t, r, f, "pair", missed, n, 0))
	kind := told
	if n == 5 { // with fewer, Student's t has no power
		kind = power
	}
	d.judged(t, kind, fmt.Sprintf("match at 1 kHz missed by 3 u, not met, %d seatings", n), claim.Match{Within: within, At: 1000}, e)
}

// wholeAtLimit judges a claim with every frequency at the limit.
func wholeAtLimit(t *testing.T, d draw, r *rand.Rand, f family, n int) {
	even := [2]levels{f.mean.times(-1), f.mean.times(-1)}
	raised := even[0].plus(1, newLevels(func(x float64) float64 { return 3 * math.Exp(-8*math.Pow(math.Log2(x/1000), 2)) }))
	e := evidence(measured(t, r, f, "pair", [2]levels{raised, raised}, n, 0))
	band := response.Band{Low: 40, High: 12000}
	d.judged(t, rare, fmt.Sprintf("range at its limit everywhere, not met, %d seatings", n),
		claim.FrequencyRange{Band: band, Down: 3, Reference: claim.Reference{At: 1000}}, e)
}

// rankings ranks equal pairs, and pairs whose rms differ by four standard uncertainties.
func rankings(t *testing.T, d draw, r *rand.Rand, f family, n int) {
	placement := []float64{0, 0.3, 0.5}[r.IntN(3)]
	pair := device(r)
	rank := func(devices ...[2]levels) target.Ranking {
		var all []target.Pair
		for k, device := range devices {
			mean, _ := measured(t, r, f, fmt.Sprint(k), device, n, placement)
			all = append(all, target.Pair{Name: fmt.Sprint(k), Seatings: []response.Curve{mean}})
		}
		ranking, err := target.Rank(all, target.Flat(), target.Config{})
		require.NoError(t, err)
		return ranking
	}
	two := rank(pair, pair)
	d.add(rare, fmt.Sprintf("two equal pairs separated, placement %.1f dB", placement), two.Differences[0].Separated)
	regions := false
	for _, region := range two.Differences[0].Regions {
		regions = regions || region.Separated
	}
	d.add(rare, "two equal pairs separated in some region", regions)
	six := false
	for _, v := range rank(pair, pair, pair, pair, pair, pair).Differences {
		six = six || v.Separated
	}
	d.add(rare, "some of six equal pairs separated", six)
	// The standard deviation of the difference, from equal pairs, and a pair that is further off.
	const equal = 24
	var squares float64
	for range equal {
		v := rank(pair, pair).Differences[0].RMS.Value
		squares += v * v / equal
	}
	middle := f.of(pair, 0).plus(1, f.of(pair, 1)).times(0.5)
	rms := func(scale float64) float64 {
		return judged(middle.times(scale), target.Deviation{Band: target.Audible, Curve: curve(middle)}, true).rms
	}
	scale := 1 + 4*math.Sqrt(squares)/rms(1)
	further := [2]levels{pair[0].plus(scale-1, middle), pair[1].plus(scale-1, middle)}
	kind := told
	if n >= 4 {
		kind = power
	}
	d.add(kind, fmt.Sprintf("pairs 4 u apart separated, %d seatings", n), rank(pair, further).Differences[0].Separated)
}

// apart counts sessions in which a seating of a side is an outlier.
func apart(t *testing.T, d draw, r *rand.Rand, f family, n int) {
	if n < 3 {
		return
	}
	pair, any := device(r), false
	for side := range 2 {
		var curves []response.Curve
		for range n {
			curves = append(curves, curve(pair[side].plus(1, f.seated(r, side))))
		}
		average, err := response.AverageOf(curves)
		require.NoError(t, err)
		any = any || len(average.Outliers) > 0
		curves[0] = curve(pair[side].plus(1, f.seated(r, side), shelf(300, -12)))
		average, err = response.AverageOf(curves)
		require.NoError(t, err)
		if gross := average.Outliers; side == 0 {
			d.add(power, "a leak of 12 dB below 300 Hz stands apart", len(gross) == 1 && gross[0].Index == 0)
		}
	}
	d.add(rare, "sessions in which a seating stands apart: "+f.name, any)
}

func TestVerdicts(t *testing.T) {
	if *sessions == few {
		long.Skip(t)
	}
	var all tally
	for i := range *sessions {
		r := rand.New(rand.NewPCG(*seed, uint64(i)))
		f, n := families[i%3], 2+r.IntN(4)
		d := draw{}
		claims(t, d, r, f, n)
		wholeAtLimit(t, d, r, f, n)
		rankings(t, d, r, f, n)
		for _, other := range families {
			apart(t, d, r, other, n)
		}
		all.draws = append(all.draws, d)
	}
	if testing.Verbose() {
		fmt.Printf("%d sessions\n", *sessions)
		all.print(os.Stdout)
	}
	all.check(t, *sessions <= few)
}
