package smoothing

import "math"

// trace is one curve on the grid, with its running integral.
type trace struct {
	value     []float64 // at each point, 0 if not known; and a spare 0
	sum       []doubled // integral over ln f from the first point to each
	low, high float64   // range of the known values
	gaps      bool      // some value is not known
	first     []int     // with gaps: the run of known points around each
	last      []int     // point; first is −1 where it is not known
}

func newTrace(n int) *trace {
	return &trace{value: make([]float64, n+1), sum: make([]doubled, n+1)}
}

// lay surveys t.value and integrates it over segments of the given lengths. A segment that ends in
// a gap gets a finite integral, which no span uses.
func (t *trace) lay(length []float64) {
	t.survey()
	if t.gaps {
		t.findRuns()
	}
	var sum doubled
	y := t.value[0]
	for i, d := range length {
		next := t.value[i+1]
		// The conversion keeps a fused multiply-add out of the exact addition.
		sum = sum.add(float64(d * (y/2 + next/2)))
		t.sum[i+1] = sum
		y = next
	}
	t.sum[len(length)+1] = sum
}

func (t *trace) survey() {
	t.low, t.high, t.gaps = math.Inf(1), math.Inf(-1), false
	for _, v := range t.value[:len(t.value)-1] {
		if !known(v) {
			t.gaps = true
			continue
		}
		t.low, t.high = min(t.low, v), max(t.high, v)
	}
}

func (t *trace) findRuns() {
	n := len(t.value) - 1
	if t.first == nil {
		t.first, t.last = make([]int, n), make([]int, n)
	}
	start := -1
	for i, v := range t.value[:n] {
		if !known(v) {
			t.value[i], start = 0, -1
		} else if start < 0 {
			start = i
		}
		t.first[i] = start
	}
	for i := n - 1; i >= 0; i-- {
		t.last[i] = i
		if i+1 < n && t.first[i] >= 0 && t.first[i+1] >= 0 {
			t.last[i] = t.last[i+1]
		}
	}
}

// mean averages the curve over s.
func (t *trace) mean(s *span) float64 {
	whole := t.sum[s.last].minus(t.sum[s.first+1])
	m := whole*s.inner +
		(s.weight[0]*t.value[s.first] + s.weight[1]*t.value[s.first+1]) +
		(s.weight[2]*t.value[s.last] + s.weight[3]*t.value[s.last+1])
	return min(max(m, t.low), t.high)
}

// known reports whether v can be averaged. The limit leaves room for an integral over any range of
// frequencies.
func known(v float64) bool { return math.Abs(v) <= 1e300 }
