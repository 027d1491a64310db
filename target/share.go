package target

import (
	"math"
	"math/rand/v2"

	"example.com/earnest/response"
	"gonum.org/v1/gonum/floats"
)

// share is the part within tolerance, with its uncertainty. A part is a count: it
// bends sharply where the deviation passes the tolerance, and a peak that lies just
// inside counts for nothing until it moves. So its distribution is drawn (JCGM
// 101:2008) instead of taken from slopes: the effects of each cause are added at
// random, and the mean square of what that changes is the cause's variance.
func (j *judgement) share(value float64) response.Figure {
	f := figure(value, "1").WithBounds(aPart[0], aPart[1])
	if !j.known || !f.Known() {
		return f
	}
	judged := j.sumUp(j.d, 0, len(j.pieces)).judged
	random := rand.New(rand.NewPCG(1, 1)) // the same figure each time
	var squares, freedoms []float64
	for g, c := range j.causes {
		s := j.atStake(g)
		squares, freedoms = append(squares, s.variance(random)/(judged*judged)), append(freedoms, c.DegreesOfFreedom)
	}
	f.Uncertainty, f.DegreesOfFreedom = pooled(squares, freedoms)
	return f
}

const (
	shareDraws = 200 // which tell a standard deviation to 5 %
	shareReach = 4   // standard deviations beyond which nothing is drawn
)

// stake holds the places, the nodes of pieces, where a cause may move the deviation
// across its tolerance, and what each of the cause's effects does there.
type stake struct {
	d, weight, above, below []float64
	effects                 [][]float64
}

func (j *judgement) atStake(g int) stake {
	c := j.causes[g]
	levels := make([][]float64, len(c.Curves))
	for k, curve := range c.Curves {
		levels[k] = j.read(curve)
		for i := range levels[k] {
			levels[k][i] -= c.taken[k]
		}
	}
	s := stake{effects: make([][]float64, len(levels))}
	moves := make([]float64, len(levels))
	for i := range j.pieces {
		from, to := &j.points[i], &j.points[i+1]
		for n, at := range nodes {
			d, above, below := onLine(j.d[i], j.d[i+1], at), onLine(from.above, to.above, at), onLine(from.below, to.below, at)
			var square float64
			for k, e := range levels {
				moves[k] = onLine(e[i], e[i+1], at)
				square += moves[k] * moves[k]
			}
			// False too where anything is not known.
			if reach := shareReach * math.Sqrt(square); !(math.Abs(d-above) <= reach || math.Abs(d-below) <= reach) {
				continue
			}
			s.d, s.weight, s.above, s.below = append(s.d, d), append(s.weight, j.pieces[i].weight[n]), append(s.above, above), append(s.below, below)
			for k, v := range moves {
				s.effects[k] = append(s.effects[k], v)
			}
		}
	}
	return s
}

func onLine(a, b, at float64) float64 { return a + at*(b-a) }

// within is the weight within tolerance.
func (s *stake) within(d []float64) float64 {
	var sum float64
	for i, v := range d {
		if v <= s.above[i]+rounding && v >= s.below[i]-rounding {
			sum += s.weight[i]
		}
	}
	return sum
}

// variance is the mean square of what the effects, drawn at random, change.
func (s *stake) variance(random *rand.Rand) float64 {
	still, sum := s.within(s.d), 0.0
	moved := make([]float64, len(s.d))
	for range shareDraws {
		copy(moved, s.d)
		for _, e := range s.effects {
			floats.AddScaled(moved, random.NormFloat64(), e)
		}
		change := s.within(moved) - still
		sum += change * change / shareDraws
	}
	return sum
}
