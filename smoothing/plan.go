package smoothing

import (
	"fmt"
	"math"
	"sync"
)

// Plan smooths curves given on one grid of frequencies, with its output on that grid or another. It
// is made once by [NewOctave] or [NewERB] and applied to many curves. It does not change after
// that, and any number of goroutines may use it at once.
//
// Its cost is one pass over the grid and a fixed amount of work for each output, however wide the
// band (plus a binary search for an output whose band is cut short by NaN). Running sums are kept
// to about 32 digits, so the mean of a quiet band beside one 120 dB louder is the same as if it had
// been summed alone, to 1e-12.
//
// All methods take as many values as the plan's grid has frequencies (including a leading 0 Hz) and
// return as many as it has centres. If dst is nil a new slice is returned, otherwise the result is
// written to dst, which may be the input itself; nothing else is allocated once a plan is warm. A
// wrong length panics.
//
// No result leaves the range of the known input values: rounding in the last place is clamped to
// it, so a constant is kept exactly.
type Plan struct {
	size  int // number of input values, with the leading 0 Hz if there is one
	skip  int // 1 if the grid begins at 0 Hz
	grid  grid
	bands []band
	spans []span
	pool  sync.Pool // of *trace
}

// newPlan fits the band around every centre to the grid; edges gives a band's edges, which must be
// symmetric about the centre in ratio.
func newPlan(frequency, centre []float64, edges func(centre float64) (low, high float64)) (*Plan, error) {
	if err := checkGrid(frequency); err != nil {
		return nil, err
	}
	if centre == nil {
		centre = frequency
	}
	if err := checkCentres(centre); err != nil {
		return nil, err
	}
	p := &Plan{size: len(frequency)}
	if frequency[0] == 0 {
		p.skip = 1
	}
	p.grid = newGrid(frequency[p.skip:])
	p.bands = make([]band, len(centre))
	p.spans = make([]span, len(centre))
	last := len(p.grid.frequency) - 1
	for i, c := range centre {
		b := band{centre: c, at: p.grid.below(c)}
		if b.at >= 0 {
			b.low, b.high = edges(c)
			p.spans[i] = p.grid.fit(b, 0, last)
		}
		p.bands[i] = b
	}
	p.pool.New = func() any { return newTrace(last + 1) }
	return p, nil
}

// Mean returns the mean of values over each band. Its meaning depends on the values.
//
// For power (any unit proportional to amplitude squared), it is the reading of a meter with that
// filter for a steady noise, divided by the bandwidth: peaks count by their energy. For levels in
// dB, it is the geometric mean of power, never above the level of the mean power: it treats a peak
// and a dip of equal depth alike and keeps a slope in dB per octave exactly, except for rounding.
func (p *Plan) Mean(dst, values []float64) []float64 {
	p.checkLength(len(values))
	dst = output(dst, len(p.bands))
	t := p.pool.Get().(*trace)
	defer p.pool.Put(t)
	copy(t.value, values[p.skip:])
	t.lay(p.grid.length)
	for i := range dst {
		if s, ok := p.span(i, t); ok {
			dst[i] = t.mean(&s)
		} else {
			dst[i] = math.NaN()
		}
	}
	return dst
}

// Complex returns the mean of the complex transfer function h over each band, for real and
// imaginary part separately. That is equivalent to a window on the impulse response that shortens
// towards high frequencies. Phase that turns within a band cancels, so remove any delay from h
// first. A value is not known if either part is not known.
func (p *Plan) Complex(dst, h []complex128) []complex128 {
	p.checkLength(len(h))
	dst = output(dst, len(p.bands))
	re, im := p.pool.Get().(*trace), p.pool.Get().(*trace)
	defer p.pool.Put(re)
	defer p.pool.Put(im)
	for i, v := range h[p.skip:] {
		re.value[i], im.value[i] = real(v), imag(v)
		if !known(re.value[i]) || !known(im.value[i]) {
			re.value[i], im.value[i] = math.NaN(), math.NaN()
		}
	}
	re.lay(p.grid.length)
	im.lay(p.grid.length)
	for i := range dst {
		if s, ok := p.span(i, re); ok {
			dst[i] = complex(re.mean(&s), im.mean(&s))
		} else {
			dst[i] = complex(math.NaN(), math.NaN())
		}
	}
	return dst
}

// span returns the span of output i: as planned, or shrunk to the run of known values around its
// centre. It returns false if the centre is not known.
func (p *Plan) span(i int, t *trace) (span, bool) {
	b := &p.bands[i]
	if b.at < 0 {
		return span{}, false
	}
	if !t.gaps {
		return p.spans[i], true
	}
	first, last := t.first[b.at], t.last[b.at]
	if first < 0 || last == b.at && b.centre > p.grid.frequency[b.at] {
		return span{}, false
	}
	if s := p.spans[i]; first <= s.first && s.last < last {
		return s, true
	}
	return p.grid.fit(*b, first, last), true
}

func (p *Plan) checkLength(n int) {
	if n != p.size {
		panic(fmt.Sprintf("smoothing: %d values on a grid of %d frequencies", n, p.size))
	}
}

// output returns dst, or a new slice of length n if dst is nil.
func output[T any](dst []T, n int) []T {
	if dst == nil {
		return make([]T, n)
	}
	if len(dst) != n {
		panic(fmt.Sprintf("smoothing: dst has length %d, needs %d", len(dst), n))
	}
	return dst
}
