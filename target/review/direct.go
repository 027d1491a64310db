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

// heardSides says which sides of a play are in a recording.
type heardSides struct {
	channel [2]int    // of each side, from 1; 0 if the side was not found
	bands   []float64 // levels in third octaves, mean of the sides found, dB
	unsure  bool      // the recording does not show which side it is
}

// sides finds the channel in which each side is loudest.
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
		return out, fmt.Errorf("review: %s: %w: neither side of the stimulus is in "+
			"it", p.Recording.Name, response.ErrNoPeak)
	}
	out.bands = bands[0]
	if len(bands) == 2 {
		for i, v := range bands[1] {
			out.bands[i] = (out.bands[i] + v) / 2
		}
	}
	return out, nil
}

// thirdsOf returns the levels of a take in third octaves, in dB.
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

// directChance returns the probability that levels are those of a direct recording. The scatter at
// a probability of one half and the steepness come from the drawn recordings of the test.
func (s *Sorter) directChance(bands []float64) (chance float64, why string) {
	scatter, even, from := scatterOf(bands), 0.65, "a flat line"
	if s.direct != nil {
		scatter, even, from = scatterOf(minus(bands, s.direct)), 0.25, "the direct recording"
	}
	return likeness(scatter, even, 6, from)
}

// thirds returns the third octaves in Hz that separate direct recordings from those through
// headphones. An interface is flat over all of them (common practice).
func thirds(b response.Band) []float64 {
	var out []float64
	for _, f := range response.LogGrid(50, 16000, 3) {
		if f > 1.2*b.Low && f < b.High/1.2 {
			out = append(out, f)
		}
	}
	return out
}

// sweepLevel returns the level in dB at the expected place of a side's first sweep in the channel
// of a take, with the power of the silence subtracted; −Inf if nothing is left.
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

// numbers returns the levels without NaN and infinities.
func numbers(levels []float64) []float64 {
	return slices.DeleteFunc(slices.Clone(levels), func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) })
}

// scatterOf returns the standard deviation of levels in dB about their mean; NaN for fewer than
// four levels.
func scatterOf(levels []float64) float64 {
	if levels = numbers(levels); len(levels) < 4 {
		return math.NaN()
	}
	return stat.StdDev(levels, nil)
}

// minus returns a − b, element by element.
func minus(a, b []float64) []float64 { return floats.SubTo(make([]float64, len(a)), a, b) }

// likeness returns the probability that third octaves with a scatter in dB about others are of the
// same kind, 1/(1 + (scatter/even)^steepness), or 0.5 if the scatter is not known.
func likeness(scatter, even, steepness float64, from string) (chance float64, why string) {
	if math.IsNaN(scatter) {
		return 0.5, "Too few third octaves are known to distinguish a direct recording from one through headphones."
	}
	return 1 / (1 + math.Pow(scatter/even, steepness)),
		fmt.Sprintf("Its third octaves scatter by %.2f dB about %s.", scatter, from)
}
