package target

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/response"
)

const (
	shareDraws = 400 // which estimate a standard deviation to 4 %
	shareReach = 4   // standard deviations beyond which nothing is drawn
)

// shareEnds computes quantiles of the draws about the reading.
type shareEnds struct {
	read  float64
	drawn []float64
}

func (s *shareEnds) Ends(probability float64) (low, high float64) {
	low = min(s.read, stat.Quantile((1-probability)/2, stat.LinInterp, s.drawn, nil))
	return low, max(2*s.read-low, stat.Quantile((1+probability)/2, stat.LinInterp, s.drawn, nil))
}

// stake holds the nodes at which the effects may move the deviation across its tolerance, and the
// value of each effect there.
type stake struct {
	d, weight, above, below []float64
	effects                 []stretch
}

// within returns the weight within tolerance.
func (s *stake) within(d []float64) float64 {
	var sum float64
	for i, v := range d {
		if v <= s.above[i]+rounding && v >= s.below[i]-rounding {
			sum += s.weight[i]
		}
	}
	return sum
}

// stretch is an effect from its first node to its last; it is zero at the others.
type stretch struct {
	from int
	at   []float64
}

// move adds the value of the effect at a later node than before.
func (s *stretch) move(node int, by float64) {
	if by == 0 {
		return
	}
	if s.at == nil {
		s.from = node
	}
	s.at = append(s.at, make([]float64, node-s.from-len(s.at))...)
	s.at = append(s.at, by)
}

// share returns the part within tolerance, with its uncertainty. It is a count: it changes abruptly
// as the deviation crosses the tolerance, and a peak just inside counts only once it moves. So its
// distribution is simulated (JCGM 101:2008): the effects are added to the deviation at random,
// those of an estimate with ν degrees of freedom times √(ν/χ²_ν). The interval goes down to the
// lower quantile of the draws, or to the reading if that is lower. It goes up to the upper
// quantile, or as far above the reading as the lower end lies below it.
func (j *judgement) share(whole sums) response.Figure {
	f := figure(whole.share, "1").WithBounds(0, 1)
	if !j.known || !f.Known() {
		return f
	}
	s := j.atStake()
	groups, of := j.estimates()
	random := rand.New(rand.NewPCG(1, 1)) // the same figure each time
	still, moves, moved := s.within(s.d), make([]float64, len(s.d)), make([]float64, len(s.d))
	factor := make([]float64, len(groups))
	var drawn []float64
	for len(drawn) < shareDraws {
		for i, c := range groups {
			factor[i] = 1
			if nu := c.DegreesOfFreedom; nu > 0 {
				factor[i] = math.Sqrt(nu / distuv.ChiSquared{K: nu, Src: random}.Rand())
			}
		}
		clear(moves)
		for k, e := range s.effects {
			floats.AddScaled(moves[e.from:e.from+len(e.at)], factor[of[j.effects[k].cause]]*random.NormFloat64(), e.at)
		}
		for _, sign := range []float64{1, -1} { // both signs are equally likely
			floats.AddScaledTo(moved, s.d, sign, moves)
			drawn = append(drawn, whole.share+(s.within(moved)-still)/whole.judged)
		}
	}
	slices.Sort(drawn)
	var square float64
	for _, v := range drawn {
		square += (v - whole.share) * (v - whole.share) / shareDraws
	}
	f.Uncertainty, f.Budget = math.Sqrt(square), nil
	return f.WithEnds(&shareEnds{whole.share, drawn})
}

func (j *judgement) atStake() stake {
	s := stake{effects: make([]stretch, len(j.effects))}
	var taken float64
	squares := make([]float64, len(j.level)) // variances; an effect is zero at most nodes
	for k := range j.effects {
		e := &j.effects[k]
		taken += e.taken * e.taken
		for i := e.from; i < e.to; i++ {
			squares[i] += e.at[i] * (e.at[i] - 2*e.taken)
		}
	}
	for i := range j.pieces {
		from, to := &j.points[i], &j.points[i+1]
		for n, at := range nodes {
			node := 2*i + n
			d, above, below := j.level[node], from.above+at*(to.above-from.above), from.below+at*(to.below-from.below)
			// The condition is also false if the tolerance is not known.
			reach := shareReach * math.Sqrt(max(0, taken+squares[node]))
			if j.weight[node] == 0 || !(math.Abs(d-above) <= reach || math.Abs(d-below) <= reach) {
				continue
			}
			for k := range j.effects {
				if e := &j.effects[k]; e.at != nil {
					s.effects[k].move(len(s.d), e.at[node]-e.taken)
				}
			}
			s.d, s.weight = append(s.d, d), append(s.weight, j.weight[node])
			s.above, s.below = append(s.above, above), append(s.below, below)
		}
	}
	return s
}
