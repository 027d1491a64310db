package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// breaks looks for clicks and for places where the sound does not go on as it was: where the prediction error stands ten times above
// its mean magnitude on both sides, and above 80 dB below the peak, 50 dB where no stimulus is known. If a few other values in place of one to eight samples
// mend it, these are a click; else something is missing, or too much.
//
// A pulse of the voice or the beginning of a plucked string is as sudden. So without a stimulus a break has to stand three times
// above any other within 50 ms, and a jump also to leave the sound as loud as it was.
func (c *channel) breaks() {
	var clicks, jumps []brk
	for _, b := range c.suspects() {
		if c.brokenNear(b.at) {
			continue
		}
		if b.click && !c.shifted(b.at) {
			clicks = append(clicks, b)
		} else {
			jumps = append(jumps, b)
		}
	}
	if !c.cutOff { // where tops are cut off, sound breaks there
		c.jumps(jumps)
		c.clicks(clicks)
	}
	c.jumped = len(jumps) > 0 || len(c.broken) > 0
}

// brk is a place where the sound breaks.
type brk struct {
	at     int
	height float64 // of the click, or of the prediction error, full scale being 1
	click  bool
}

const suspectBlock = 64 // samples

func (c *channel) suspects() []brk {
	const standing = 10
	n := len(c.x) / suspectBlock
	peaks, means, places := make([]float64, n), make([]float64, n), make([]int, n)
	p, e := newPredictor(), make([]float64, 0, predictHop)
	for at := 0; at < len(c.x); at += predictHop {
		a := p.fit(c.x, at)
		e = a.residual(e, c.x, at, min(at+predictHop, len(c.x)))
		for k := at / suspectBlock; k < n && (k+1)*suspectBlock <= at+predictHop; k++ {
			for i, v := range e[k*suspectBlock-at : (k+1)*suspectBlock-at] {
				v = math.Abs(v)
				means[k] += v / suspectBlock
				if v > peaks[k] {
					peaks[k], places[k] = v, k*suspectBlock+i
				}
			}
		}
	}
	least := max(1e-4*c.peak, 8*c.step)
	if c.placed == nil {
		least = max(3e-3*c.peak, 8*c.step)
	}
	var found []brk
	for k := 4; k+4 < n; k++ {
		if peaks[k] < least || peaks[k] < peaks[k-1] || peaks[k] < peaks[k+1] {
			continue
		}
		beside := max(means[k-4], means[k-3], means[k-2], means[k+2], means[k+3], means[k+4])
		if peaks[k] > standing*beside {
			if b := c.judge(p, places[k], peaks[k]); c.placed != nil || c.outstanding(b, peaks, k) {
				found = append(found, b)
			}
		}
	}
	return found
}

// judge tells a click from a jump.
func (c *channel) judge(p *predictor, at int, height float64) brk {
	a := p.fit(c.x, at/predictHop*predictHop)
	// The largest error is not always the first.
	e := a.residual(nil, c.x, max(0, at-2*predicted), at+1)
	first := at
	for i, v := range e {
		if math.Abs(v) > height/4 {
			first = max(0, at-2*predicted) + i
			break
		}
	}
	b := brk{at: first, height: height}
	for _, n := range []int{1, 2, 4, 8} {
		if a.explained(c.x, first, n) > 0.9 {
			b.click, b.height = true, 0
			for _, u := range a.mended(c.x, first, n) {
				b.height = max(b.height, math.Abs(u))
			}
			return b
		}
	}
	return b
}

// outstanding tells breaks from the pulses and onsets of programme.
func (c *channel) outstanding(b brk, peaks []float64, k int) bool {
	around := int(c.fs/20) / suspectBlock
	for i := max(0, k-around); i < min(len(peaks), k+around+1); i++ {
		if (i < k-1 || i > k+1) && peaks[k] < 3*peaks[i] {
			return false
		}
	}
	if b.click {
		return true
	}
	n := int(c.fs / 200)
	before, after := within(c.x, b.at-n, b.at), within(c.x, b.at, b.at+n)
	if len(before) < n || len(after) < n {
		return false
	}
	change := math.Abs(decibels(rmsOf([][]float64{after}) / rmsOf([][]float64{before})))
	return change < 3
}

// brokenNear tells whether the break at a sample is known already, or is where the stimulus itself begins or ends a sound.
func (c *channel) brokenNear(at int) bool {
	if c.placed != nil {
		for _, s := range c.ref.stimulus.Segments() {
			if d := (float64(at) - c.placed.start - float64(s.Start)) / c.fs; d > -0.006 && d < 0.003 {
				return true
			}
		}
	}
	for _, k := range c.broken {
		if d := at - k; d > -suspectBlock && d < suspectBlock {
			return true
		}
	}
	return false
}

// clicks reports them.
func (c *channel) clicks(found []brk) {
	if len(found) == 0 {
		return
	}
	loudest := found[0]
	var together float64
	for _, b := range found {
		if b.height > loudest.height {
			loudest = b
		}
		together += b.height
	}
	f := response.Finding{Kind: Clicks, Severity: response.Warning, Time: float64(loudest.at) / c.fs, Duration: nowhere,
		Remedy:  "check cables and clock, let nobody touch the table, and record again",
		Figures: figures{"clicks": figure(float64(len(found)), ""), "level": figure(decibels(loudest.height), "dBFS")}}
	if len(found) == 1 {
		f.What = fmt.Sprintf("clicks at %s (%s dBFS)", clock(f.Time), signed(decibels(loudest.height)))
	} else {
		f.What = fmt.Sprintf("clicks %s times, the loudest at %s (%s dBFS)", count(len(found)), clock(f.Time), signed(decibels(loudest.height)))
	}
	if c.placed != nil {
		// A sample that is off by d adds d to every bin.
		worst := 20 / math.Ln10 * together / math.Sqrt(c.weakest())
		f.Figures["error"] = figure(worst, "dB")
		if worst >= worstError {
			f.Severity = response.Unfit
		}
	}
	c.add(f)
}

// jumps reports places where samples are missing, or too many.
func (c *channel) jumps(found []brk) {
	if len(found) == 0 {
		return
	}
	t := float64(found[0].at) / c.fs
	f := response.Finding{Kind: DroppedSamples, Severity: unfitIf(c.ref != nil), Time: t, Duration: nowhere,
		What:    fmt.Sprintf("jumps at %s", clock(t)),
		Remedy:  "raise the recorder's buffer size, close other programs, and record again",
		Figures: figures{"jumps": figure(float64(len(found)), "")}}
	if len(found) > 1 {
		f.What += fmt.Sprintf(", the first of %s jumps", count(len(found)))
	}
	if c.placed != nil {
		if missing, known := c.missing(found[0].at); known {
			f.Figures["missing"] = figure(missing, "s")
			f.What += fmt.Sprintf(": about %.1f ms are %s", 1000*math.Abs(missing), map[bool]string{true: "missing", false: "too much"}[missing > 0])
		} else {
			f.What += ": samples are missing or too many"
		}
	} else {
		f.What += ": samples seem to be missing"
	}
	c.add(f)
}

// missing is the time in seconds by which the sweep, and what follows, comes early after a jump in it; known if the jump lies well
// within the sweep.
func (c *channel) missing(at int) (seconds float64, known bool) {
	inside := float64(at) - c.placed.at
	length := float64(c.ref.stimulus.Sweep().Len())
	// A quarter of the sweep's length is a quarter of its octaves.
	if len(c.ref.stimulus.Sweeps(sweep.Left)) > 1 || inside < 0.25*length || inside > 0.75*length {
		return 0, false
	}
	step := c.ref.thinned
	before, after := make([]float64, len(c.x)/step), make([]float64, len(c.x)/step)
	x := thin(c.x, step)
	copy(before, x[:at/step])
	copy(after[at/step:], x[at/step:])
	a, b := newMatcher(c.plans, before, c.ref.sweep).with(c.ref.sweep), newMatcher(c.plans, after, c.ref.sweep).with(c.ref.sweep)
	slack, middle := int(c.fs/4)/step, int(c.placed.at)/step
	i, j := strongest(a, middle-slack, middle+slack), strongest(b, middle-slack, middle+slack)
	if i < 0 || j < 0 {
		return 0, false
	}
	return float64(step) * (peakBetween(a, i) - peakBetween(b, j)) / c.fs, true
}

// held looks for a sample that is held, or nothing at all, for 32 samples and more in the midst of sound.
func (c *channel) held() {
	const least, beside = 32, 64
	x := c.x
	for start := 0; start < len(x); {
		end := start + 1
		for end < len(x) && x[end] == x[start] {
			end++
		}
		if run := end - start; run >= least && start >= beside && end+beside <= len(x) && math.Abs(x[start]) < 0.98*c.peak &&
			c.sudden(x[start-beside:start+1]) && c.sudden(reversed(x[end-1:end+beside])) {
			t := float64(start) / c.fs
			c.broken = append(c.broken, start, end)
			c.add(response.Finding{Kind: DroppedSamples, Severity: response.Unfit, Time: t, Duration: float64(run) / c.fs,
				What:    fmt.Sprintf("stands still for %s samples at %s", count(run), clock(t)),
				Remedy:  "raise the recorder's buffer size, close other programs, and record again",
				Figures: figures{"missing": figure(float64(run)/c.fs, "s")}})
			return
		}
		start = end
	}
}

// sudden tells whether x, whose last sample is the first of a run, moved as much as anywhere until then, by more than steps.
func (c *channel) sudden(x []float64) bool {
	var largest, total float64
	for i := 1; i < len(x); i++ {
		d := math.Abs(x[i] - x[i-1])
		largest = max(largest, d)
		total += d
	}
	n := len(x)
	near := max(math.Abs(x[n-1]-x[n-2]), math.Abs(x[n-2]-x[n-3]), math.Abs(x[n-3]-x[n-4]))
	return near >= largest/2 && total/float64(n-1) > max(4*c.step, 1e-4*c.peak)
}

func reversed(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[len(x)-1-i] = v
	}
	return y
}
