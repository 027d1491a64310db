package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/search"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// discontinuities are the places at which the sound of a channel does not continue. Bursts are
// faint, and the sound goes on behind them in the same phase: a coder makes them where it changes
// its steps.
type discontinuities struct{ clicks, jumps, bursts []discontinuity }

// reportClicks reports the places of the clicks and their effect on the response.
func (d discontinuities) reportClicks(c *channel) []response.Finding {
	if len(d.clicks) == 0 {
		return nil
	}
	loudest := d.clicks[0]
	var together float64
	for _, one := range d.clicks {
		if one.height > loudest.height {
			loudest = one
		}
		together += one.height
	}
	level := dBFS(loudest.height)
	f := response.Finding{Kind: Clicks, Severity: response.Warning, Time: float64(loudest.at) / c.fs, Duration: nowhere,
		Remedy:  "check cables and clock, let nobody touch the table, and record again",
		Figures: figures{"clicks": figure(float64(len(d.clicks)), ""), "level": figure(level, "dBFS")}}
	if n := len(d.clicks); n == 1 {
		f.What = fmt.Sprintf("clicks at %s (%s dBFS)", seconds(f.Time), signed(level, 1))
	} else {
		f.What = fmt.Sprintf("clicks %s times, the loudest at %s (%s dBFS)", count(n), seconds(f.Time), signed(level, 1))
	}
	if c.placed != nil {
		// An error d of a sample adds d to every bin.
		worst := decibel.PerNeper * together / math.Sqrt(c.weakestPower())
		f.Figures["error"] = figure(worst, "dB")
		if worst >= worstError {
			f.Severity = response.Unfit
		}
	}
	return c.finding(f)
}

// reportSteps reports a delay that moves by steps.
func (d discontinuities) reportSteps(c *channel, steps int) []response.Finding {
	t := float64(d.jumps[0].at) / c.fs
	return c.finding(response.Finding{Kind: Wow, Severity: response.Unfit, Time: t, Duration: nowhere,
		What: fmt.Sprintf("jumps back and forth in time %s times, first at %s: "+
			"an effect such as a phaser, a flanger or a chorus, or a converter, moves the sound", count(steps), seconds(t)),
		Remedy:  "switch off effects in player and recorder, and record again",
		Figures: figures{"jumps": figure(float64(steps), "")}})
}

// reportJumps reports the places at which samples are missing or inserted.
func (d discontinuities) reportJumps(c *channel) []response.Finding {
	if len(d.jumps) == 0 {
		return nil
	}
	t := float64(d.jumps[0].at) / c.fs
	f := response.Finding{Kind: DroppedSamples, Severity: unfitIf(c.Stimulus != nil), Time: t, Duration: nowhere,
		What:    fmt.Sprintf("jumps at %s", seconds(t)),
		Remedy:  "raise the recorder's buffer size, close other programs, and record again",
		Figures: figures{"jumps": figure(float64(len(d.jumps)), "")}}
	if n := len(d.jumps); n > 1 {
		f.What += fmt.Sprintf(", the first of %s jumps", count(n))
	}
	missing, known := c.missing(d.jumps[0].at)
	switch {
	case c.placed == nil:
		f.What += ": samples seem to be missing"
	case !known:
		f.What += ": samples are missing or too many"
	default:
		f.Figures["missing"] = figure(missing, "s")
		f.What += fmt.Sprintf(": about %.1f ms are %s",
			1000*math.Abs(missing), map[bool]string{true: "missing", false: "too much"}[missing > 0])
	}
	return c.finding(f)
}

// discontinuity is one such place.
type discontinuity struct {
	at     int
	height float64 // of the click, or of the prediction error, with full scale 1
	click  bool
	turn   float64 // of the phase of the sweep there, in radians; 0 if it does not change
}

// isFaint reports whether a discontinuity is faint re the sweep around it, or, where the channel's
// sweep does not play, re the peak of the channel. Without a known stimulus none is.
func (c *channel) isFaint(d discontinuity) bool {
	if c.placed == nil {
		return false
	}
	sound := c.peak
	if !math.IsNaN(c.sweepFrequency(d.at)) {
		near := int(c.fs / 100)
		sound = rmsOf([][]float64{search.Within(c.x, d.at-near, d.at+near)}) * math.Sqrt2
	}
	return d.height < faint*sound
}

// sweepFrequency returns the frequency in Hz of the channel's own sweep at a sample, or NaN if it
// does not play.
func (c *channel) sweepFrequency(at int) float64 {
	for _, repeat := range c.Stimulus.Sweeps(c.side) {
		f := c.Stimulus.Sweep().FrequencyAt((float64(at) - c.recordedAt(repeat.Start)) / c.fs)
		if !math.IsNaN(f) {
			return f
		}
	}
	return math.NaN()
}

func (c *channel) suspects() []discontinuity {
	const standing = 10
	n := len(c.x) / suspectBlock
	peaks, means, places := make([]float64, n), make([]float64, n), make([]int, n)
	p := newPredictor()
	for at := 0; at < len(c.x); at += predictHop {
		e := p.errorsAt(c.x, at)
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
	var found []discontinuity
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

// judge distinguishes a click from a jump.
func (c *channel) judge(p *predictor, at int, height float64) discontinuity {
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
	b := discontinuity{at: first, height: height}
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

// outstanding distinguishes discontinuities from the pulses and onsets of programme. A note that
// begins or is cut off is no click: the samples beside it are as high as the click, and the level changes.
func (c *channel) outstanding(b discontinuity, peaks []float64, k int) bool {
	around := int(c.fs/20) / suspectBlock
	for i := max(0, k-around); i < min(len(peaks), k+around+1); i++ {
		if (i < k-1 || i > k+1) && peaks[k] < 3*peaks[i] {
			return false
		}
	}
	if b.click {
		before, after := c.levelsBeside(b.at, int(c.fs/50))
		highest := 4 * max(before, after) // of the samples of music beside it, as a rule
		return !(highest > b.height && math.Abs(decibel.OfAmplitude(after/before)) > 3)
	}
	before, after := c.levelsBeside(b.at, int(c.fs/200))
	return math.Abs(decibel.OfAmplitude(after/before)) < 3
}

// levelsBeside returns the rms of n samples before a discontinuity, and of n samples from 1 ms after
// it on, where a click is over; NaN if one of them lies outside the recording.
func (c *channel) levelsBeside(at, n int) (before, after float64) {
	from := at + int(c.fs/1000)
	if at < n || from+n > len(c.x) {
		return math.NaN(), math.NaN()
	}
	return rmsOf([][]float64{c.x[at-n : at]}), rmsOf([][]float64{c.x[from : from+n]})
}

// knownNear reports whether a sample lies near one that is known already, or near the beginning or
// end of a sound in the stimulus.
func (c *channel) knownNear(at int, known []int) bool {
	if c.placed != nil {
		rises, falls := fadesOf(c.Stimulus.Signal().Samples())
		for _, s := range c.Stimulus.Segments() {
			begins, ends := float64(at)-c.recordedAt(s.Start), float64(at)-c.recordedAt(s.Start+s.Len)
			rise, fall := 0.003*c.fs, 0.006*c.fs
			if s.Kind == sweep.LeftSweep || s.Kind == sweep.RightSweep {
				rise, fall = rise+float64(rises), fall+float64(falls)
			}
			if begins > -0.006*c.fs && begins < rise || ends > -fall && ends < 0.003*c.fs {
				return true
			}
		}
	}
	return slices.ContainsFunc(known, func(k int) bool { return at-k > -suspectBlock && at-k < suspectBlock })
}

// The least number of jumps that show a delay which moves by steps, and the least share of them in
// either direction. Lost samples turn the phase one way, and so do clocks that slip.
const (
	fewestSteps = 6
	leastShare  = 0.2
)

// backAndForth returns the number of jumps in the channel if those in all channels turn the phase
// of the sweep both ways: the sound is moved, and no samples are missing. It returns 0 if they do
// not.
func (c *channel) backAndForth() int {
	var steps, later float64
	for _, d := range c.channels {
		for _, j := range d.breaks.jumps {
			switch {
			case j.turn > 0:
				steps++
			case j.turn < 0:
				steps++
				later++
			}
		}
	}
	if steps < fewestSteps || later < leastShare*steps || later > (1-leastShare)*steps {
		return 0
	}
	return len(c.breaks.jumps)
}

// missing returns the time in seconds by which the sweep and the following sound come early after a
// jump in it. It is known if the jump lies well within the sweep.
func (c *channel) missing(at int) (seconds float64, known bool) {
	if c.placed == nil {
		return 0, false
	}
	inside, length := float64(at)-c.placed.Sweep, float64(c.Stimulus.Sweep().Len())
	// A quarter of the sweep's length is a quarter of its octaves.
	if len(c.Stimulus.Sweeps(sweep.Left)) > 1 || inside < 0.25*length || inside > 0.75*length {
		return 0, false
	}
	step := search.Step(c.Recording.SampleRate)
	played, slack, middle := search.Thin(c.Stimulus.Sweep().Samples(), step), int(c.fs/4)/step, int(c.placed.Sweep)/step
	var places [2]float64
	for k := range places { // the sweep before the jump alone, and after it alone
		x := search.Thin(c.x, step)
		clear([2][]float64{x[at/step:], x[:at/step]}[k])
		match := search.NewMatcher(c.plans, x, played).Deconvolve(played)
		i := search.Strongest(match, middle-slack, middle+slack)
		if i < 0 {
			return 0, false
		}
		places[k] = search.Peak(match, i)
	}
	return float64(step) * (places[0] - places[1]) / c.fs, true
}

const (
	suspectBlock = 64 // samples
	// faint is the height of a discontinuity re the sound around it, below which missing samples
	// turn the phase by less than 0.02 rad, and move the response by less than 0.1 dB. Coders of
	// several kinds stay below 0.003 (drawn).
	faint = 0.01
)

// detectDiscontinuities finds clicks and jumps: places at which the prediction error is ten times
// its mean magnitude on both sides, and above −80 dB re the peak, or −50 dB without a known
// stimulus. If other values in place of one to eight samples repair the sound, these are a click;
// otherwise samples are missing or inserted, unless the place is faint and the phase of the sweep
// does not change there. Places that are known already are left out.
//
// A pulse of the voice or the beginning of a plucked string is as sudden. So without a stimulus a
// discontinuity has to be three times above any other within 50 ms, and a jump also has to leave
// the level of the sound unchanged. So has a click no higher than samples beside it.
func detectDiscontinuities(c *channel, known []int) (out discontinuities) {
	for _, d := range c.suspects() {
		d.turn = c.phaseTurn(d.at)
		switch {
		case c.knownNear(d.at, known):
		case d.turn != 0 || !d.click && !c.isFaint(d):
			out.jumps = append(out.jumps, d)
		case d.click:
			out.clicks = append(out.clicks, d)
		default:
			out.bursts = append(out.bursts, d)
		}
	}
	if len(out.bursts) > 0 { // some bursts are as short as a click
		out.clicks = slices.DeleteFunc(out.clicks, func(d discontinuity) bool {
			if c.isFaint(d) {
				out.bursts = append(out.bursts, d)
			}
			return c.isFaint(d)
		})
	}
	return out
}

// fadesOf returns the number of samples in which a signal rises to its level, and falls from it:
// twice those to half of its peak. Some fades begin and end so abruptly that they look like a
// discontinuity.
func fadesOf(x []float64) (rises, falls int) {
	least := 0.7 * rmsOf([][]float64{x})
	loud := func(k int) bool {
		return slices.ContainsFunc(x[k:k+suspectBlock], func(v float64) bool { return math.Abs(v) > least })
	}
	for rises+suspectBlock <= len(x) && !loud(rises) {
		rises += suspectBlock
	}
	for falls+suspectBlock <= len(x)-rises && !loud(len(x)-falls-suspectBlock) {
		falls += suspectBlock
	}
	return 2 * rises, 2 * falls
}
