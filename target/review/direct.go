package review

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/response"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// heardSides are the sides that a play was heard of.
type heardSides struct {
	channel [2]int    // of each side, from 1; 0 for one that was not heard
	bands   []float64 // levels in third octaves of what was heard, the mean of the sides, dB
	unsure  bool      // nothing tells which side it was
}

// thirds are the third octaves in Hz by which direct and through are told apart: an interface is flat
// over all of them (common practice).
func thirds(b response.Band) []float64 {
	var out []float64
	for _, f := range response.LogGrid(50, 16000, 3) {
		if f > 1.2*b.Low && f < b.High/1.2 {
			out = append(out, f)
		}
	}
	return out
}

// sides finds in which channel each side is heard best.
func (s *Sorter) sides(p *placement.Placement) (heardSides, error) {
	var out heardSides
	both := []sweep.Side{sweep.Left, sweep.Right}
	level, told := [2][]float64{}, false
	loudest := math.Inf(-1)
	for k := range both {
		level[k] = make([]float64, len(p.Channels))
	}
	for c, place := range p.Channels {
		told = told || place.Side != 0
		take, err := p.Take(c+1, cmp.Or(place.Side, sweep.Left))
		for k, side := range both {
			level[k][c] = math.Inf(-1)
			if err == nil {
				level[k][c] = sweepLevel(take, p, side)
			}
			loudest = max(loudest, level[k][c])
		}
	}
	var bands [][]float64
	for k, side := range both {
		best := min(k, len(p.Channels)-1)
		for c := range level[k] {
			if level[k][c] > level[k][best]+1 {
				best = c
			}
		}
		if !(level[k][best] > loudest-heardTogether) {
			continue
		}
		take, err := p.Take(best+1, side)
		if err != nil {
			continue
		}
		one, err := s.thirdsOf(take)
		if err != nil {
			return out, err
		}
		out.channel[k], bands = best+1, append(bands, one)
	}
	out.unsure = !told && len(bands) == 1
	if len(bands) == 0 {
		return out, fmt.Errorf("review: %s: %w: of the stimulus no side is heard", p.Recording.Name, response.ErrNoPeak)
	}
	out.bands = bands[0]
	if len(bands) == 2 {
		for i, v := range bands[1] {
			out.bands[i] = (out.bands[i] + v) / 2
		}
	}
	return out, nil
}

// sweepLevel is the level in dB where the first sweep of a side should be in the channel of a take, less
// the power of its silence; −Inf where nothing is.
func sweepLevel(t *placement.Take, p *placement.Placement, side sweep.Side) float64 {
	x, segment := p.Recording.Channels[t.Channel-1], p.Stimulus.Sweeps(side)[0]
	from := int(math.Round(t.Start*float64(t.SampleRate))) + segment.Start
	x = x[min(max(0, from), len(x)):min(max(0, from+segment.Len), len(x))]
	if len(x) < segment.Len/2 {
		return math.Inf(-1)
	}
	power := statistic.MeanSquare(x)
	if len(t.Silence) > 0 {
		power -= 2 * statistic.MeanSquare(t.Silence)
	}
	if !(power > 0) {
		return math.Inf(-1)
	}
	return decibel.OfPower(power)
}

// thirdsOf are the levels of a take in third octaves, in dB.
func (s *Sorter) thirdsOf(t *placement.Take) ([]float64, error) {
	signal := s.Stimulus.Signal()
	var err error
	if s.deconvolver == nil {
		s.deconvolver, err = response.NewDeconvolver(signal, response.DeconvolverConfig{
			Longest: placement.TakeDuration(s.Stimulus)})
		if err != nil {
			return nil, err
		}
	}
	mean, _ := t.Average()
	separated, err := s.deconvolver.Separate(mean)
	if err != nil {
		return nil, err
	}
	window, err := separated.Linear.Window(0, 0)
	if err != nil {
		return nil, err
	}
	c, err := window.Transfer().Smoothed(thirds(response.Band{Low: signal.Start(), High: signal.Stop()}), 3)
	return c.Level, err
}

// numbers are the levels that are numbers.
func numbers(levels []float64) []float64 {
	return slices.DeleteFunc(slices.Clone(levels), func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) })
}

// scatterOf is the standard deviation of levels in dB about their mean; NaN of fewer than four.
func scatterOf(levels []float64) float64 {
	if levels = numbers(levels); len(levels) < 4 {
		return math.NaN()
	}
	return stat.StdDev(levels, nil)
}

// minus is a − b, element by element.
func minus(a, b []float64) []float64 { return floats.SubTo(make([]float64, len(a)), a, b) }

// directChance is how likely levels are those of a direct recording. The scatter at which it is even, and
// how steeply it falls, are by the drawn recordings of the test.
func (s *Sorter) directChance(bands []float64) (chance float64, why string) {
	scatter, even, from := scatterOf(bands), 0.65, "a flat line"
	if s.direct != nil {
		scatter, even, from = scatterOf(minus(bands, s.direct)), 0.25, "the direct recording"
	}
	return likeness(scatter, even, 6, from)
}

// likeness is how likely third octaves that scatter so many dB are like those that they are compared with:
// 1/(1 + (scatter/even)^steepness), and even chances where the scatter is not known.
func likeness(scatter, even, steepness float64, from string) (chance float64, why string) {
	if math.IsNaN(scatter) {
		return 0.5, "Too few third octaves are known to tell a direct recording from one through headphones."
	}
	return 1 / (1 + math.Pow(scatter/even, steepness)),
		fmt.Sprintf("Its third octaves scatter by %.2f dB about %s.", scatter, from)
}
