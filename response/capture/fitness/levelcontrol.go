package fitness

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// The response is compared in third octaves within these shares of the mark's highest frequency and
// of its lowest, from markBefore before the peak to markAfter behind it, before the harmonics of
// the mark begin: the second comes after 50 ms.
const (
	markBefore, markAfter = 0.005, 0.03
	markLow, markHigh     = 1.8, 0.675
	markRegularised       = 1e-3 // re the largest power of the mark's spectrum
	markOff               = 0.15 // dB
	markSure              = 4    // standard uncertainties
	markFewest            = 3    // bands
	markLate              = 1.0  // samples
	markLatePerDecibel    = 2.0  // samples per dB of difference of the mark
)

// markOverSweepFigure names the figure of a finding about the level of a timing mark.
const markOverSweepFigure = "mark re sweep"

// comparison is the difference between the response to a timing mark and that to the sweep, by
// third octaves.
type comparison struct {
	frequency  []float64
	off        []float64 // dB, the mark re the sweep
	after      []float64 // delay of the mark re the sweep, in samples
	least      float64   // dB that noise does not reach
	median     float64   // dB
	scatter    float64   // dB rms about it
	widespread bool      // it differs at most frequencies, not only at a few
}

// moves reports whether the gain at the mark differs from that in the sweep.
func (m *comparison) moves() bool { return math.Hypot(m.median, m.scatter) > m.least }

// markOverSweep returns the difference in dB of the response to a timing mark from that to the
// sweep: the median over third octaves, or the scatter if that is larger. It is 0 if it is no more
// than that from noise.
func (c *channel) markOverSweep() (worst float64) {
	for _, m := range c.comparisons() {
		if m == nil || !m.moves() {
			continue
		}
		off := m.median
		if math.Abs(off) < m.scatter {
			off = m.scatter
		}
		if math.Abs(off) > math.Abs(worst) {
			worst = off
		}
	}
	return worst
}

// lateBetweenMarks returns the deviation in samples of the sweep from its place between the marks,
// in the third octave with the largest one, or NaN if it is not known. A difference of the clocks
// moves the sweep in proportion, and stretches it and the marks. Headphones delay sweep and mark
// alike.
func (c *channel) lateBetweenMarks() float64 {
	all := c.comparisons()
	if len(all) < 2 || all[0] == nil || all[1] == nil {
		return math.NaN()
	}
	marks, s := c.Stimulus.Find(sweep.Mark), c.Stimulus.Sweep()
	high := min(sweep.MarkHigh, c.fs/4)
	rate := float64(marks[0].Len) / c.fs / math.Log(high/sweep.MarkLow)
	before := float64(marks[0].Start - c.Stimulus.Sweeps(c.side)[0].Start)
	worst := 0.0
	for i, f := range all[0].frequency {
		k := slices.Index(all[1].frequency, f)
		if k < 0 {
			continue
		}
		ratio := (all[1].after[k] - all[0].after[i]) / float64(marks[1].Start-marks[0].Start)
		// With a different clock, a recorded frequency was played at another moment, as r f.
		stretched := (ratio - 1) * (rate*math.Log(high/f) - rate - s.TimeAt(f) - s.TimeConstant()) * c.fs
		if late := before*ratio + stretched - all[0].after[i]; math.Abs(late) > math.Abs(worst) {
			worst = late
		}
	}
	return worst
}

// computeComparisons compares each mark with the sweep; nil for a mark that is missing, or lost in
// noise. A mark is on both sides, so the crosstalk from the other side's sweep is added to the
// sweep's response.
func (c *channel) computeComparisons() []*comparison {
	marks := c.Stimulus.Find(sweep.Mark)
	if len(marks) == 0 || c.quietSpectrum() == nil {
		return nil
	}
	lead := int(0.02 * c.fs)
	plan := c.plans.Plan(fft.FastLen(lead + marks[0].Len + int(2*markAfter*c.fs)))
	m := plan.Forward(nil, c.Stimulus.Sweep().Mark())
	power := make([]float64, len(m))
	for k, v := range m {
		power[k] = fft.Power(v)
	}
	little := markRegularised * slices.Max(power)
	h := plan.Forward(nil, c.linearWithLeakage(lead, plan.Len()))
	for k := range h {
		h[k] *= complex(power[k]/(power[k]+little), 0)
	}
	said, energy := c.gated(plan, h, lead)
	inverse := inverted(m, little)
	out := make([]*comparison, min(2, len(marks)))
	for i := range out {
		at := c.placed.Marks[i]
		if math.IsNaN(at) {
			continue
		}
		x := plan.Forward(nil, search.Cut(c.x, int(at)-lead, int(at)+plan.Len()-lead))
		for k, v := range inverse {
			x[k] *= v
		}
		heard, _ := c.gated(plan, x, lead)
		out[i] = c.compare(heard, said, inverse, energy, math.Floor(at)-math.Floor(c.placed.Sweep))
	}
	return out
}

// compare compares the recorded mark with the prediction from the sweep, given the inverse of the
// mark's spectrum, the energy of the gate, and the number of samples between the two. It returns
// nil if noise leaves too little.
func (c *channel) compare(heard, said, inverse []complex128, energy, apart float64) *comparison {
	length := float64(2 * (len(heard) - 1))
	bin, still, step := c.fs/length, c.quietSpectrum(), math.Sqrt(thirdOctave)
	out := &comparison{}
	var uncertain []float64
	for f := markLow * sweep.MarkLow * step; f*step < markHigh*min(sweep.MarkHigh, c.fs/4); f *= thirdOctave {
		var a, b, noise, bins float64
		var turn, last complex128
		for k := int(math.Ceil(f / step / bin)); k <= int(f*step/bin); k++ {
			a += fft.Power(heard[k])
			b += fft.Power(said[k])
			noise += fft.Power(inverse[k]) * energy
			bins++
			cross := heard[k] * cmplx.Conj(said[k])
			turn += cross * cmplx.Conj(last)
			last = cross
		}
		noise *= max(stat.Mean(still.around(f, step, 4), nil), c.step*c.step/12)
		if !(a > 10*noise) {
			continue
		}
		out.frequency = append(out.frequency, f)
		out.off = append(out.off, decibel.OfPower((a-noise)/b))
		out.after = append(out.after, apart-cmplx.Phase(turn)*length/(2*math.Pi))
		independent := max(1, bins*energy/length)
		uncertain = append(uncertain, decibel.PerNeper/2*math.Sqrt(2*noise/a/independent))
	}
	if len(out.off) < markFewest {
		return nil
	}
	out.least = markOff + markSure*math.Sqrt(statistic.MeanSquare(uncertain))
	out.median = statistic.Median(out.off)
	square, most := 0.0, 0
	for _, v := range out.off {
		square += (v - out.median) * (v - out.median) / float64(len(out.off))
		if math.Abs(v) > out.least {
			most++
		}
	}
	out.scatter, out.widespread = math.Sqrt(square), 2*most > len(out.off)
	return out
}

// late reports whether samples are missing or inserted between the marks. A gain that moves while a
// mark or the sweep plays changes its delay a little.
func (c *channel) late() bool {
	return math.Abs(c.lateBetweenMarks()) > markLate+markLatePerDecibel*math.Abs(c.markOverSweep())
}

// gainMoves reports whether the gain jumps, not the time: no sample is missing between the marks,
// and a mark differs from the sweep at most frequencies, or a gate closes more than once.
func (c *channel) gainMoves() bool {
	if c.late() {
		return false
	}
	_, _, times := c.digitalSilence()
	return times > 1 || slices.ContainsFunc(c.comparisons(), func(m *comparison) bool { return m != nil && m.widespread })
}

// gated returns the spectrum of a response within a few milliseconds of its peak, which is searched
// for near a sample, and the energy of the gate.
func (c *channel) gated(plan *fft.Plan, h []complex128, near int) ([]complex128, float64) {
	x := plan.Inverse(nil, h)
	reach := int(0.004 * c.fs)
	peak := near - reach + search.Strongest(x[near-reach:near+reach], 0, 2*reach)
	g, energy := c.gate(x, peak, markBefore, markAfter)
	return plan.Forward(nil, g), energy
}

// linearWithLeakage returns n samples of the response to the sweep, which begins lead samples after
// the first. If the crosstalk from the other side's sweep exceeds the noise, it adds the response
// to that.
func (c *channel) linearWithLeakage(lead, n int) []float64 {
	x := search.Cut(c.swept().linear, int(linearBefore*c.fs)-lead, int(linearBefore*c.fs)-lead+n)
	x = slices.Clone(x)
	s := c.Stimulus.Sweep()
	low, high := max(s.Start(), sweep.MarkLow), min(s.Stop(), sweep.MarkHigh, c.fs/4)
	from, to := int(s.TimeAt(low)*c.fs), int(s.TimeAt(high)*c.fs)
	apart := float64(c.Stimulus.Sweeps(c.other())[0].Start - c.Stimulus.Sweeps(c.side)[0].Start)
	other := c.placed.Sweep + apart*c.ratio
	at := int(other)
	heard, own := search.Within(c.x, at+from, at+to), search.Within(c.x, int(c.placed.Sweep)+from, int(c.placed.Sweep)+to)
	if len(heard) < to-from || rmsOf([][]float64{heard}) < leaks*rmsOf([][]float64{own}) {
		return x
	}
	plan := c.plans.Plan(fft.FastLen(to - from + n))
	played := s.Samples()[from:to]
	edge := float64(len(played)) / 40
	for i := range played {
		played[i] *= taper.Rise(float64(i)/edge) * taper.Rise(float64(len(played)-i)/edge)
	}
	level := s.SpectrumLevel(high)
	inverse := inverted(plan.Forward(nil, played), markRegularised*level*level)
	h := plan.Forward(nil, search.Cut(c.x, at+from-lead, at+to+n-lead))
	// The sweep of this side begins at a fraction of a sample, which its response contains; so does
	// this one.
	late := (other - float64(at)) - (c.placed.Sweep - math.Floor(c.placed.Sweep))
	for k, v := range inverse {
		h[k] *= v * cmplx.Rect(1, 2*math.Pi*float64(k)*late/float64(plan.Len()))
	}
	for i, v := range plan.Inverse(nil, h)[:n] {
		x[i] += v
	}
	return x
}

// leaks is the amplitude re the channel's own sweep above which crosstalk is included: it moves the
// mark by 0.02 dB.
const leaks = 0.002

// other returns the side that the channel does not hold.
func (c *channel) other() sweep.Side { return sweep.Left + sweep.Right - c.side }

// detectLevelControl finds a gain that follows the level: automatic gain, a limiter, a compressor,
// a gate, noise suppression. Without one, the response to a timing mark, which is short and falls,
// equals that to the sweep, which is long and rises. The noise in the treble is then the same
// before a sound, while the sweep is in the bass, and just after it. A moving gain changes both. A
// coder changes the noise alone.
func detectLevelControl(c *channel, coded bool) []response.Finding {
	f := response.Finding{Kind: LevelControl, Severity: response.Warning, Time: nowhere, Duration: nowhere,
		Remedy: "switch off automatic gain, limiters, gates, noise suppression and effects in player and recorder, and record again"}
	// Soft clipping lowers the sweep, and the middle of a mark, by an amount that the third
	// harmonic gives.
	if off := c.markOverSweep(); math.Abs(off) > c.bentBy() {
		if fade := detectFade(c, off); fade != nil {
			return fade
		}
		f.Severity = unfitIf(math.Abs(off) > 5*worstError)
		f.What = fmt.Sprintf("holds the timing mark at a level %.2g dB from that of the sweep at the same frequencies: "+
			"a gain follows the level, or an effect moves it, and the response is off by at least as much", math.Abs(off))
		f.Figures = figures{markOverSweepFigure: figure(off, "dB")}
		return c.finding(f)
	}
	if coded {
		return nil
	}
	if at, length, _ := c.digitalSilence(); length > 0 {
		f.Time, f.Duration = at, length
		f.What = fmt.Sprintf("is digital silence for %s from %s on, and holds noise while it sounds: "+
			"a gate closes, so the noise under the sweep, and with it the distortion, is not known",
			seconds(length), seconds(at))
		f.Figures = figures{"silence": figure(length, "s")}
		return c.finding(f)
	}
	if moved, when := c.movedNoise(); moved != 0 && !(moved > 0 && c.reverberates()) {
		f.What = fmt.Sprintf("has %s dB of noise in the treble %s, re before: "+
			"a gain follows the level, and the response may be off", signedPlus(moved), when)
		f.Figures = figures{"noise": figure(moved, "dB")}
		return c.finding(f)
	}
	return nil
}

func signedPlus(v float64) string {
	if v > 0 {
		return "+" + signed(v, 1)
	}
	return signed(v, 1)
}
