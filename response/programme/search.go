package programme

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/interpolate"
	"example.com/earnest/internal/parallel"
)

const (
	// searchRate is the approximate sample rate in Hz of the search.
	searchRate = 4000
	// excerptSeconds is the length of the stretches. In short recordings it is less.
	excerptSeconds = 6.0
	// minProminence is the least level of the best match in dB re the rms of the values about
	// it. The highest of a million lags of noise reaches 15 dB.
	minProminence = 20
	// tries is the number of stretches that are searched for before the recordings count as
	// of different material.
	tries = 8
	// enoughFound is the number of stretches that have to be found before the others are not
	// searched for.
	enoughFound = 3
	// repeats is the shortest period of a loop in seconds. clearer is the number of dB by which the
	// right place of a stretch stands out more than a repeat.
	repeats = 0.5
	clearer = 3
)

// decimated holds both recordings at a low rate, for searching.
type decimated struct {
	direct, through []float64
	step            int // the number of samples added into one
	excerpt         int // length of the stretch that is searched for, in decimated samples
}

func newDecimated(direct, through Channel) *decimated {
	step := max(1, direct.SampleRate/searchRate)
	both := [2][]float64{direct.Samples, through.Samples}
	parallel.Do(2, func(i int) { both[i] = thin(both[i], step) })
	t := &decimated{direct: both[0], through: both[1], step: step}
	rate := float64(direct.SampleRate) / float64(t.step)
	t.excerpt = min(int(excerptSeconds*rate), len(t.direct)/3, len(t.through)/2)
	return t
}

// anchor finds a first stretch in the whole of the through recording. It tries several, the loudest
// first, until enoughFound stand out, and returns the first of these. It prefers one elsewhere that
// stands out more by clearer dB: if a stretch is cut off in the through recording, the repeat of a
// loop stands out too.
func (t *decimated) anchor() (best match) {
	best.prominence = math.Inf(-1)
	found := 0
	for _, start := range t.loudest() {
		m := t.find(start, 0, len(t.through))
		if m.prominence < minProminence && m.prominence > best.prominence {
			best = m
		}
		if m.prominence >= minProminence {
			elsewhere := math.Abs(m.lag-best.lag) > repeats*searchRate*float64(t.step)
			if found == 0 || elsewhere && m.prominence > best.prominence+clearer {
				best = m
			}
			if found++; found == enoughFound {
				break
			}
		}
	}
	return best
}

// loudest returns the beginnings of the stretches that are searched for, the loudest first.
func (t *decimated) loudest() []int {
	starts := make([]int, tries)
	for i := range starts {
		starts[i] = (len(t.direct) - t.excerpt) * i / (tries - 1)
	}
	slices.SortFunc(starts, func(a, b int) int {
		if d := t.energy(b) - t.energy(a); d > 0 {
			return 1
		} else if d < 0 {
			return -1
		}
		return a - b
	})
	return starts
}

// near finds the stretch about a sample of the direct recording within reach samples of a lag.
func (t *decimated) near(at int, lag float64, reach int) match {
	start := min(max(0, at/t.step-t.excerpt/2), len(t.direct)-t.excerpt)
	from := start + (int(math.Round(lag))-reach)/t.step
	return t.find(start, max(0, from), min(len(t.through), from+t.excerpt+2*reach/t.step))
}

func (t *decimated) energy(start int) float64 {
	x := t.direct[start : start+t.excerpt]
	return floats.Dot(x, x)
}

// find searches for the stretch of the direct recording that begins at start, in a range of the
// through recording. It divides by the spectrum of the stretch. This whitens both recordings, whose
// spectra are nearly the same, so that the match is nearly the impulse response, with a sharp peak
// (Knapp & Carter's processors whiten for the same reason).
func (t *decimated) find(start, from, to int) match {
	none := match{at: (start + t.excerpt/2) * t.step, prominence: math.Inf(-1)}
	if to-from < t.excerpt || t.excerpt < 64 {
		return none
	}
	c := t.correlate(start, from, to, flattener)
	peak, prominence := prominent(c, t.excerpt/2)
	if peak < 0 {
		return none
	}
	none.lag = (float64(from+peak-start) + vertexNear(c, peak)) * float64(t.step)
	none.prominence = prominence
	return none
}

// correlate filters a range of the through recording by the filter that shape makes of the spectrum
// of the stretch that begins at start, and returns a value for each place of the stretch there.
func (t *decimated) correlate(start, from, to int, shape func([]complex128) []complex128) []float64 {
	n := fft.FastLen(min(to-from, 2*t.excerpt) + t.excerpt)
	plan := fft.NewPlan(n)
	kernel := shape(plan.Forward(nil, t.direct[start:start+t.excerpt]))
	lags := to - from - t.excerpt + 1
	c := make([]float64, lags)
	useful := n - t.excerpt + 1
	parallel.With((lags+useful-1)/useful, func() func(int) {
		spectrum, out := make([]complex128, n/2+1), make([]float64, n)
		return func(i int) {
			begin := from + i*useful
			plan.Forward(spectrum, t.through[begin:min(begin+n, to)])
			for k, v := range kernel {
				spectrum[k] *= v
			}
			copy(c[i*useful:], plan.Inverse(out, spectrum)[:useful])
		}
	})
	return c
}

// match is the place at which a stretch was found.
type match struct {
	at         int     // sample of the direct recording, in the middle of the stretch
	lag        float64 // samples by which the stretch comes later in the through recording
	prominence float64 // dB
}

// Find reports whether a stretch of the direct recording is in the other one, and by how many
// seconds that comes later there, to about a millisecond. It is the first step of Compare and takes
// a tenth of its time.
func Find(direct, through Channel) (delay float64, found bool) {
	if checkBoth(direct, through) != nil {
		return 0, false
	}
	m := newDecimated(direct, through).anchor()
	return m.lag / float64(direct.SampleRate), m.prominence >= minProminence
}

// thin adds each step samples into one.
func thin(x []float64, step int) []float64 {
	out := make([]float64, len(x)/step)
	for i := range out {
		out[i] = floats.Sum(x[i*step : (i+1)*step])
	}
	return out
}

// flattener turns the spectrum of a stretch into its regularised inverse, in place.
func flattener(spectrum []complex128) []complex128 {
	var mean float64
	for _, v := range spectrum {
		mean += fft.Power(v) / float64(len(spectrum))
	}
	for k, v := range spectrum {
		scale := 1 / (fft.Power(v) + 1e-3*mean + math.SmallestNonzeroFloat64)
		spectrum[k] = complex(real(v)*scale, -imag(v)*scale)
	}
	return spectrum
}

// prominent returns the index of the value that is largest relative to the rms of the values around
// it, its closest neighbours excluded, and that ratio in dB.
func prominent(c []float64, around int) (peak int, decibels float64) {
	sum := make([]float64, len(c)+1)
	for i, v := range c {
		sum[i+1] = sum[i] + v*v
	}
	total := sum[len(c)]
	if total == 0 {
		return -1, math.Inf(-1)
	}
	const near = 8
	energy := func(from, to int) (float64, float64) {
		from, to = max(0, from), min(len(c), to)
		if to <= from {
			return 0, 0
		}
		return sum[to] - sum[from], float64(to - from)
	}
	best := math.Inf(-1)
	for i, v := range c {
		below, n := energy(i-around, i-near)
		above, m := energy(i+near+1, i+around+1)
		mean := (below+above)/max(1, n+m) + 1e-9*total/float64(len(c))
		if score := v * v / mean; score > best {
			best, peak = score, i
		}
	}
	return peak, decibel.OfPower(best)
}

// vertexNear returns the offset from index i, −0.5 to 0.5, of the vertex of the parabola through
// the three magnitudes about it.
func vertexNear(c []float64, i int) float64 {
	if i == 0 || i+1 == len(c) {
		return 0
	}
	return interpolate.Vertex(math.Abs(c[i-1]), math.Abs(c[i]), math.Abs(c[i+1]))
}
