package coverage

import (
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"example.com/earnest/response"
)

// kind is the kind of a line: the required share of intervals that held the truth.
type kind int

const (
	interval kind = iota // 93 to 97 %
	bound                // an upper bound far above the truth, or an interval that has to hold wherever it is read: 93 % and more
	rare                 // may happen in 5 %
	power                // has to happen in 85 %
	told                 // printed and not judged
)

func (k kind) limits() (low, high float64) {
	switch k {
	case interval:
		return 0.93, 0.97
	case bound:
		return 0.93, 1
	case rare:
		return 0, 0.05
	case power:
		return 0.85, 1
	}
	return 0, 1
}

// count is that of one review: the numbers of figures that held, of all figures, and of figures
// without an interval.
type count struct{ held, all, unstated int }

// draw is the result of one review, by line.
type draw map[line]count

type line struct {
	kind   kind
	figure string
}

func (d draw) add(k kind, figure string, held bool) {
	c := d[line{k, figure}]
	c.all++
	if held {
		c.held++
	}
	d[line{k, figure}] = c
}

// holds counts whether low to high holds the truth. It does not count a figure that is not known,
// and counts one without an interval separately.
func (d draw) holds(k kind, figure string, low, high, truth float64) {
	switch {
	case math.IsNaN(truth):
	case math.IsNaN(low) || math.IsNaN(high):
		c := d[line{k, figure}]
		c.unstated++
		d[line{k, figure}] = c
	default:
		d.add(k, figure, low <= truth && truth <= high)
	}
}

// figure counts a figure's interval. A figure such as an rms cannot be negative. If the truth lies
// within two standard uncertainties of zero, the interval can miss the truth on one side only, and
// counts as an upper bound.
func (d draw) figure(name string, f response.Figure, truth float64) {
	if !f.Known() {
		return
	}
	low, high := f.Interval(0.95)
	if far, _ := f.Interval(1 - 1e-9); far == 0 && truth < 2*f.Uncertainty {
		d.holds(bound, name+", truly within 2 u of 0", low, high, truth)
		return
	}
	d.holds(interval, name, low, high, truth)
}

// tally holds the results of many draws.
type tally struct{ draws []draw }

// summary is that of a line over draws.
type summary struct {
	line
	count
	share, effective float64 // the number of independent trials with the same variance
	low, high        float64 // 99.9 % binomial interval of the share
}

// of sums up a line. The variance of a share of clusters is that of a ratio estimator (Cochran,
// Sampling Techniques, 1977, 6.3, from memory).
func (t tally) of(l line) summary {
	s := summary{line: l, share: math.NaN()}
	var clusters float64
	for _, d := range t.draws {
		c := d[l]
		s.held, s.all, s.unstated = s.held+c.held, s.all+c.all, s.unstated+c.unstated
		if c.all > 0 {
			clusters++
		}
	}
	if s.all == 0 {
		return s
	}
	s.share = float64(s.held) / float64(s.all)
	var squares float64
	for _, d := range t.draws {
		c := d[l]
		e := float64(c.held) - s.share*float64(c.all)
		squares += e * e
	}
	variance := squares / float64(s.all) / float64(s.all)
	s.effective = clusters
	if binomial := s.share * (1 - s.share); binomial > 0 && variance > 0 {
		s.effective = min(float64(s.all), binomial/variance)
	}
	s.low, s.high = binomial(s.share*s.effective, s.effective, 0.999)
	return s
}

// binomial returns the interval of a share, of which held in all were observed (Clopper & Pearson,
// Biometrika 26, 1934).
func binomial(held, all, probability float64) (low, high float64) {
	tail := (1 - probability) / 2
	low, high = 0, 1
	if held > 0 {
		low = distuv.Beta{Alpha: held, Beta: all - held + 1}.Quantile(tail)
	}
	if held < all {
		high = distuv.Beta{Alpha: held + 1, Beta: all - held}.Quantile(1 - tail)
	}
	return low, high
}

// fails reports whether a line misses its requirement by more than chance does once in a thousand.
func (s summary) fails() bool { return s.failsAt(s.low, s.high) }

// failsOf does the same for one of several lines, of which one may fail by chance once in a
// thousand runs.
func (s summary) failsOf(lines int) bool {
	if s.all == 0 {
		return false
	}
	return s.failsAt(binomial(s.share*s.effective, s.effective, 1-0.001/float64(lines)))
}

func (s summary) failsAt(low, high float64) bool {
	least, most := s.kind.limits()
	return s.all > 0 && (high < least || low > most)
}

// check fails the test if a line does not hold. A few draws are the same each time, except on
// processors that round differently. Their limit is the one that chance exceeds once in a thousand
// runs of all lines together.
func (t tally) check(tb testing.TB, few bool) {
	lines := t.lines()
	for _, s := range lines {
		if few && s.failsOf(len(lines)) || !few && s.fails() {
			tb.Errorf("%s: %.1f %% of %d", s.figure, 100*s.share, s.all)
		}
	}
}

func (t tally) lines() []summary {
	all := map[line]bool{}
	for _, d := range t.draws {
		for l := range d {
			all[l] = true
		}
	}
	var out []summary
	for _, l := range slices.SortedFunc(maps.Keys(all), func(a, b line) int {
		if a.kind != b.kind {
			return int(a.kind - b.kind)
		}
		if a.figure < b.figure {
			return -1
		}
		return 1
	}) {
		out = append(out, t.of(l))
	}
	return out
}

var headings = []string{"95 % intervals: 93–97 % are asked for", "bounds, and what is chosen: at least 93 %", "at most 5 %", "at least 85 %", "printed for information"}

// print writes the table.
func (t tally) print(w io.Writer) {
	last := kind(-1)
	for _, s := range t.lines() {
		if s.kind != last {
			last = s.kind
			fmt.Fprintf(w, "\n%-52s %7s %7s %8s  %-17s\n", headings[s.kind], "share", "figures", "unstated", "99.9 % of the share")
		}
		verdict := ""
		if s.fails() {
			verdict = "FAILS"
		}
		if s.all == 0 {
			fmt.Fprintf(w, "%-52s %7s %7d %8d\n", s.figure, "–", 0, s.unstated)
			continue
		}
		fmt.Fprintf(w, "%-52s %5.1f %% %7d %8d  %5.1f – %5.1f %%  %s\n", s.figure, 100*s.share, s.all, s.unstated, 100*s.low, 100*s.high, verdict)
	}
}
