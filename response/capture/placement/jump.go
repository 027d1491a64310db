package placement

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.com/earnest/internal/delay"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// Jump is a discontinuity in a recording: a block of samples is missing, or inserted.
type Jump struct {
	// Missing is the number of samples that are missing; below zero, that are inserted.
	Missing float64
	// From and To are the times in seconds of the recording between which the jump lies.
	From, To float64
	// Drift is that of the recorder's clock in parts per million, with the jump removed.
	Drift float64
	// Explained is the share, 0 to 1, of the deviations in time that one jump explains. A small
	// share means several jumps, or an unsteady speed.
	Explained float64
	// Farthest is the largest deviation in time of a part of the stimulus, in samples.
	Farthest float64
	// Within is the largest change of that deviation within one sweep, in samples. Samples that are
	// lost between the sweeps do not change it.
	Within float64
}

// Jump looks for missing or inserted samples between the timing marks: bands of each sweep then
// arrive off the line between the two marks in the same band. The cross-correlation of each with
// the opening mark gives its time, as both come through the same device. A difference of the clocks
// lies on the line. Jump finds nothing without both marks, or if they share less than an octave
// with the sweep. It cannot find a jump by a whole number of periods of a single tone.
func (p *Placement) Jump() (j Jump, found bool) {
	if p.Stimulus == nil || p.Stimulus.Sweep() == nil || p.refused != nil || len(p.Stimulus.Find(sweep.Mark)) < 2 {
		return Jump{Drift: math.NaN()}, false
	}
	t := newTimeline(p)
	if t == nil {
		return Jump{Drift: math.NaN()}, false
	}
	all := t.arrivals(p, 0)
	j.Drift = 1e6 * middleOf(all[:jumpBands]) / t.apart / t.fs
	if j.Farthest, j.Within = farthest(all); !(j.Farthest > leastJump) {
		return j, false
	}
	best := t.fit(all)
	for range 2 { // the sweep's stretch on the recorder's clock depends on the jump
		all = t.arrivals(p, 1+best.drift)
		best = t.fit(all)
	}
	j.Missing, j.Drift, j.Explained = best.missing, 1e6*best.drift, best.explained
	j.From, j.To = best.from+t.start, best.to+t.start
	return j, true
}

const (
	// Arrivals are compared in bands between these frequencies in Hz: within the band of the timing
	// mark, and where the responses of headphones and rooms do not change from one moment to the
	// next.
	jumpLow, jumpHigh = 800.0, 5600.0
	jumpBands         = 4
	// leastJump is the least deviation in samples that counts as a jump. Sound recordings show 0.3
	// at most (600 simulated).
	leastJump = 1.0
	// sureJump is that deviation in standard uncertainties.
	sureJump = 6
	// leastMatch is the normalised correlation below which two responses are not compared.
	leastMatch = 0.7
)

// arrival is the time at which one band of a part of the stimulus arrived, relative to the opening
// mark in that band.
type arrival struct {
	played float64 // s, from the beginning of the opening mark
	part   float64 // s, of the beginning of its part
	late   float64 // samples
	sigma  float64 // standard uncertainty, samples
	mark   bool    // it belongs to the closing mark
}

// chirps are the parts of a stimulus that are looked for, by their spectra.
type chirps struct {
	fs          float64
	edges       []float64 // of the bands, Hz
	sweep, mark *part
	thin        int     // how many samples of the recording are one of an echo
	independent float64 // values of an echo in a band
	plans       fft.Cache
}

// newChirps returns nil where the stimulus has less than one octave of them.
func newChirps(st *sweep.Stimulus) *chirps {
	s := st.Sweep()
	fs := float64(s.SampleRate())
	high := min(sweep.MarkHigh, fs/4)
	low, top := max(jumpLow, 1.25*s.Start()), min(jumpHigh, 0.7*high, 0.8*s.Stop())
	if !(top >= 2*low) {
		return nil
	}
	t := &chirps{fs: fs, thin: 1, independent: 0.012 * low * (math.Pow(top/low, 1.0/jumpBands) - 1)}
	for _, n := range []int{2, 3, 4, 6, 8, 12, 16} {
		if fs/2/float64(n) > 1.1*top {
			t.thin = n
		}
	}
	for b := range jumpBands + 1 {
		t.edges = append(t.edges, low*math.Pow(top/low, float64(b)/jumpBands))
	}
	mark := s.Mark()
	t.mark = &part{x: mark, first: high, constant: -float64(len(mark)) / fs / math.Log(high/sweep.MarkLow)}
	from, to := s.TimeAt(max(s.Start(), low/1.3)), s.TimeAt(min(s.Stop(), top*1.3))
	a, b := int(from*fs), int(to*fs)
	x := append([]float64(nil), s.Samples()[a:min(b, s.Len())]...)
	for i, n := 0, len(x)/20; i < n; i++ {
		w := taper.Rise(float64(i) / float64(n))
		x[i] *= w
		x[len(x)-1-i] *= w
	}
	t.sweep = &part{x: x, from: float64(a) / fs, first: s.FrequencyAt(float64(a) / fs), constant: s.TimeConstant()}
	slack := int(jumpSlack * fs)
	t.mark.prepare(t, slack)
	t.sweep.prepare(t, slack)
	return t
}

// timeline is where they are in a recording.
type timeline struct {
	*chirps
	start  float64 // s, of the opening mark in the recording
	apart  float64 // s, between the marks
	follow []int   // the channels that hold a sweep and both marks
	marks  [][2]float64
}

func newTimeline(p *Placement) *timeline {
	of := p.ref.chirps()
	if of == nil {
		return nil
	}
	t, fs, marks := &timeline{chirps: of}, of.fs, p.Stimulus.Find(sweep.Mark)
	t.apart = float64(marks[1].Start-marks[0].Start) / fs
	t.marks = make([][2]float64, len(p.Channels))
	for k, c := range p.Channels {
		t.marks[k] = c.Marks
		if c.match != nil && c.Side != 0 { // more samples may be missing than the search for marks allows
			for m := range marks {
				expected := c.Sweep + float64(marks[m].Start-p.Stimulus.Sweeps(c.Side)[0].Start)
				t.marks[k][m] = p.ref.markOr(c.Marks[m], p.Recording.Channels[k], c.match.marks, expected, c.Marks[1-m])
			}
		}
		if c.Side != 0 && !math.IsNaN(c.Sweep+t.marks[k][0]+t.marks[k][1]) {
			t.follow = append(t.follow, k)
			t.start = t.marks[k][0] / fs
		}
	}
	if t.follow == nil {
		return nil
	}
	return t
}

// arrivals returns those of every band of every sweep and of the closing mark, in every channel
// that holds them. The ratio is that of the clocks; 0 means the ratio from the marks.
func (t *timeline) arrivals(p *Placement, ratio float64) (all []arrival) {
	marks := p.Stimulus.Find(sweep.Mark)
	for _, k := range t.follow {
		x, c := p.Recording.Channels[k], p.Channels[k]
		given := ratio
		if ratio == 0 {
			given = 1 // the marks themselves give the ratio
		}
		opening := t.hear(x, t.marks[k][0], t.mark, given)
		add := func(part *part, expected, played float64, mark bool) {
			for b, one := range t.hear(x, expected, part, given) {
				later, sigma := t.later(opening[b], one)
				middle := math.Sqrt(t.edges[b] * t.edges[b+1])
				all = append(all, arrival{played: played + part.at(middle) - t.mark.at(middle), part: played,
					mark: mark, sigma: sigma,
					late: later - played*t.fs})
			}
		}
		add(t.mark, t.marks[k][1], t.apart, true)
		if ratio == 0 {
			given = 1 + middleOf(all[len(all)-jumpBands:])/t.apart/t.fs
			opening = t.hear(x, t.marks[k][0], t.mark, given)
		}
		stretch := (t.marks[k][1] - t.marks[k][0]) / t.apart / t.fs
		if math.Abs(stretch-1) > farDrift*1e-6 {
			stretch = 1 // samples are missing
		}
		for _, s := range p.Stimulus.Sweeps(c.Side) {
			after := float64(s.Start-p.Stimulus.Sweeps(c.Side)[0].Start) * stretch
			played := float64(s.Start-marks[0].Start)/t.fs + t.sweep.from
			add(t.sweep, c.Sweep+after+t.sweep.from*t.fs, played, false)
		}
	}
	return all
}

// jumpSlack is the largest distance of a part from its place, in s.
const jumpSlack = 0.1

// hear returns the response in each band to a part that begins near a sample of x.
func (t *timeline) hear(x []float64, near float64, c *part, ratio float64) (bands [jumpBands]echo) {
	const before, after = 0.004, 0.012 // s, of the gate
	slack := int(jumpSlack * t.fs)
	first := int(near) - slack
	heard := c.long.Forward(nil, search.Cut(x, first, first+len(c.x)+2*slack))[c.bands[0]:][:len(c.inverse)]
	for i, v := range c.inverse {
		heard[i] *= v
		if ratio != 1 {
			// A clock that runs at another rate stretches the chirp about its beginning.
			f := c.long.Frequency(c.bands[0]+i, t.fs)
			heard[i] *= cmplx.Rect(1, c.phase(f)-c.phase(ratio*f))
		}
	}
	narrow, h := make([]complex128, c.short.Bins()), make([]float64, c.short.Len())
	reach, from, to := int(before*t.fs)/t.thin, 0, 2*slack/t.thin
	for b := range bands {
		clear(narrow)
		for i, share := range c.shares[b] {
			narrow[c.bands[b]+i] = heard[c.bands[b]-c.bands[0]+i] * share
		}
		c.short.Inverse(h, narrow)
		peak := search.Strongest(h, from, to)
		gated := search.Cut(h, peak-reach, peak+3*reach)
		for i := range gated {
			gated[i] *= taper.Rise(min(1, 2*float64(i)/float64(reach), float64(len(gated)-1-i)/float64(reach)))
		}
		bands[b] = echo{gated, float64(first + peak*t.thin)}
	}
	return bands
}

// later returns the delay of b re a in samples of the recording, and its standard uncertainty from
// the part that the two do not share.
func (t *timeline) later(a, b echo) (shift, sigma float64) {
	plan := t.plans.Plan(fft.FastLen(2 * len(a.gated)))
	cross, sb := plan.Forward(nil, a.gated), plan.Forward(nil, b.gated)
	var ea, eb, square float64
	for k, v := range cross {
		w := 2 * math.Pi * float64(k) / float64(plan.Len())
		ea += fft.Power(v)
		eb += fft.Power(sb[k])
		square += w * w * fft.Power(v)
		cross[k] = sb[k] * cmplx.Conj(v)
	}
	lags := plan.Inverse(nil, cross)
	// The highest maximum between the samples may belong to another peak than the highest sample.
	n, peak, highest := len(lags), 0.0, slices.Max(lags)
	for i, v := range lags {
		if !(v > highest/2 && v >= lags[(i+1)%n] && v >= lags[(i+n-1)%n]) {
			continue
		}
		at, _ := delay.Peak(cross, n, float64(i-n*(2*i/n)))
		if height, _, _ := delay.At(cross, n, at); height > peak {
			shift, peak = at, height
		}
	}
	match := peak / math.Sqrt(ea*eb)
	shift = b.at - a.at + shift*float64(t.thin)
	if !(match > leastMatch) {
		return shift, math.Inf(1)
	}
	// The number of independent values in a band of two fifths of an octave under a gate of 16 ms.
	return shift, float64(t.thin) * math.Sqrt((1-match*match)/(2*match*match*t.independent)/(square/ea))
}

// fit returns the jump and the ratio of the clocks that explain the arrivals best.
func (t *timeline) fit(all []arrival) (best step) {
	times := []float64{0} // of the opening mark
	for _, a := range all {
		if !math.IsInf(a.sigma, 1) {
			times = append(times, a.played)
		}
	}
	slices.Sort(times)
	plain, _, _ := t.solve(all, math.Inf(1))
	left := plain
	for i := 1; i < len(times); i++ {
		if times[i]-times[i-1] < 1e-3 {
			continue
		}
		middle := (times[i] + times[i-1]) / 2
		if off, drift, missing := t.solve(all, middle); off < left && math.Abs(1e6*drift) < 2*capture.MaxDrift {
			left = off
			best = step{missing: missing, drift: drift, from: times[i-1], to: times[i]}
		}
	}
	best.explained = 1 - left/plain
	return best
}

// solve fits the ratio of the clocks and a jump after a time by least squares, and returns the
// residual sum of squares.
func (t *timeline) solve(all []arrival, after float64) (left, drift, missing float64) {
	columns := 2
	if math.IsInf(after, 1) {
		columns = 1
	}
	terms, known := mat.NewDense(len(all), columns, nil), mat.NewDense(len(all), 1, nil)
	for i, a := range all {
		w := 1 / math.Hypot(a.sigma, 0.1)
		terms.Set(i, 0, w*a.part*t.fs)
		if columns == 2 && a.played > after {
			terms.Set(i, 1, -w)
		}
		known.Set(i, 0, w*a.late)
	}
	var of, fitted mat.Dense
	if err := of.Solve(terms, known); err != nil {
		return math.Inf(1), 0, 0
	}
	fitted.Mul(terms, &of)
	known.Sub(known, &fitted)
	left = math.Pow(mat.Norm(known, 2), 2)
	if columns == 2 {
		missing = of.At(1, 0)
	}
	return left, of.At(0, 0), missing
}

// part is a chirp to search for.
type part struct {
	x        []float64
	from     float64 // s, of the whole part, at which x begins
	first    float64 // Hz, at the beginning of x
	constant float64 // s per e-fold, below zero for a falling chirp

	short, long *fft.Plan      // for an echo, and for the stretch of the recording
	bands       [jumpBands]int // the bins of an echo at which each begins
	shares      [jumpBands][]complex128
	inverse     []complex128 // of its spectrum, from the first band on; below, the spectrum is too weak to divide by
}

// prepare transforms the part. The stretch of the recording in which it is searched for is slack
// samples longer at either end.
func (c *part) prepare(t *chirps, slack int) {
	c.short = t.plans.Plan(fft.FastLen((2*len(c.x) + 2*slack) / t.thin))
	c.long = t.plans.Plan(c.short.Len() * t.thin)
	spectrum, top := c.long.Forward(nil, c.x), 0.0
	for _, v := range spectrum {
		top = max(top, fft.Power(v))
	}
	for b := range c.bands {
		low, high := t.edges[b], t.edges[b+1]
		c.bands[b] = int(math.Ceil(low * float64(c.long.Len()) / t.fs))
		half := math.Log2(high/low) / 2
		for k := c.bands[b]; k < c.short.Bins() && c.long.Frequency(k, t.fs) < high; k++ {
			octaves := math.Log2(c.long.Frequency(k, t.fs) / math.Sqrt(low*high))
			share := taper.Rise(min(1, max(0, 3*(half-math.Abs(octaves))/half)))
			c.shares[b] = append(c.shares[b], complex(share, 0))
		}
	}
	last := c.bands[jumpBands-1] + len(c.shares[jumpBands-1])
	for _, v := range spectrum[c.bands[0]:last] {
		c.inverse = append(c.inverse, cmplx.Conj(v)*complex(1/(fft.Power(v)+1e-3*top), 0))
	}
}

// at returns the time in seconds from the beginning of x at which it passes a frequency in Hz.
func (c *part) at(f float64) float64 { return c.constant * math.Log(f/c.first) }

// phase returns the phase of the chirp's spectrum at a frequency, in radians, by the method of
// stationary phase.
func (c *part) phase(f float64) float64 {
	return 2 * math.Pi * f * c.constant * (1 - math.Log(f/c.first))
}

// echo is the response to a part in one band, gated about its peak, which lies at a sample of the
// recording. The samples of the echo are thinned.
type echo struct {
	gated []float64
	at    float64
}

// step holds the parameters of a fitted jump.
type step struct{ missing, drift, from, to, explained float64 }

// markOr returns the sample at which a mark begins. If there is none at its place, it returns that
// of a mark within a second of it that is as high as the other mark within 6 dB, or nowhere.
func (ref *reference) markOr(at float64, x, match []float64, expected, other float64) float64 {
	if !math.IsNaN(at) || math.IsNaN(expected+other) {
		return at
	}
	place, slack, step := int(expected)/ref.step, ref.stimulus.Sweep().SampleRate()/ref.step, float64(ref.step)
	i, standing := ref.markIn(match, place-slack, place+slack)
	if !(standing >= markStanding && search.Magnitude(match, i) > highest(match, int(other/step), near)/2) {
		return nowhere
	}
	f := &follower{slack: ref.stimulus.Sweep().SampleRate() / 200}
	mark := ref.stimulus.Sweep().Mark()
	f.mark = []piece{f.piece(mark, 0, len(mark), &fft.Cache{})}
	if !f.isMark(x, i*ref.step) {
		return nowhere
	}
	return step * search.Peak(match, i)
}

// middleOf returns the median delay of the known arrivals, in samples.
func middleOf(all []arrival) float64 {
	var late []float64
	for _, a := range all {
		if !math.IsInf(a.sigma, 1) {
			late = append(late, a.late)
		}
	}
	if late == nil {
		return 0
	}
	return statistic.Median(late)
}

// farthest returns the largest deviation in samples of any band of a sweep from the line between
// the marks in that band, and the largest difference of those in one sweep, both beyond the noise.
func farthest(all []arrival) (most, within float64) {
	closing := 0
	for i := 0; i < len(all); i += jumpBands {
		if all[i].mark {
			closing = i
			continue
		}
		low, high := math.Inf(1), math.Inf(-1)
		for b := range jumpBands {
			one, mark := all[i+b], all[closing+b]
			share := one.part / mark.part
			off, sure := one.late-share*mark.late, sureJump*math.Hypot(one.sigma, share*mark.sigma)
			if math.Abs(off) > sure {
				most = max(most, math.Abs(off))
			}
			low, high = min(low, off+sure), max(high, off-sure)
		}
		within = max(within, high-low)
	}
	return most, within
}
