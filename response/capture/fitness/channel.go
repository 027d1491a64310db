package fitness

import (
	"math"
	"slices"
	"sync"

	"example.com/earnest/internal/search"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
	"example.com/earnest/sweep"
)

// channel holds everything that detectors may know of a channel in advance. No detector changes it:
// results that another detector needs are passed to it.
type channel struct {
	*recording
	number int // counted from 1
	x      []float64
	fs     float64
	levels
	step   float64          // of quantisation; 0 if there is none
	silent bool             // it is empty
	placed *placement.Place // of the stimulus; nil if there is none
	side   sweep.Side       // of the sweep: as found, or as stated, or else the left one
	start  float64          // the beginning of the stimulus for that side, in samples
	ratio  float64          // of the recorded length of the stimulus to that played; 1 if it is not known

	crosstalkOnly bool        // it holds only crosstalk from another channel
	quiet         [][]float64 // stretches in which nothing is played; nil if there are none
	noise         float64     // rms of the quiet stretches; NaN if there are none
	noiseBegan    bool        // during the sweeps or just after them, and it lasts
	offset        float64     // DC
	offsetStands  bool        // the offset is larger than its own spread

	breaks breaks // of the sound

	// quietSpectrum is nil if there is no quiet stretch.
	quietSpectrum func() *spectrum
	swept         func() *swept                    // for a channel that is placed
	comparisons   func() []*comparison             // of each mark, for a channel that is placed
	treble        map[[2]int]noiseLevel            // those that are known, by the samples from and to
	frameBands    map[[2]int][][noiseBands]float64 // of the treble, by the samples from and to
}

// newChannel measures levels and copies the placement of the stimulus.
func newChannel(r *recording, number int) *channel {
	x, fs := r.Recording.Channels[number-1], float64(r.Recording.SampleRate)
	c := &channel{recording: r, number: number, x: x, fs: fs, levels: levelsOf(x, fs), step: stepOf(x, r.Recording.Format)}
	c.offset, c.noise = c.mean, math.NaN()
	c.silent = !slices.ContainsFunc(x, func(v float64) bool { return math.Abs(v-c.mean) >= 1e-4 }) // −80 dBFS
	c.quietSpectrum = sync.OnceValue(c.computeQuietSpectrum)
	c.swept = sync.OnceValue(c.computeSwept)
	c.comparisons = sync.OnceValue(c.computeComparisons)
	if c.silent || r.Stimulus == nil || r.Placement.Channels[number-1].Response == nil {
		return c
	}
	c.placed = &r.Placement.Channels[number-1]
	switch said := r.said(number); {
	case c.placed.Side != 0:
		c.side = c.placed.Side
	case said != 0:
		c.side = said
	default:
		c.side = sweep.Left
	}
	c.start, c.ratio = c.placed.Sweep-float64(r.Stimulus.Sweeps(c.side)[0].Start), c.clockRatio()
	return c
}

// forget releases the spectra and responses of a channel. They are not needed to compare it with
// later recordings.
func (c *channel) forget() {
	c.quietSpectrum, c.swept, c.comparisons, c.treble, c.frameBands = nil, nil, nil, nil, nil
}

// recordedAt returns the sample of the recording at which a sample of the stimulus was recorded.
func (c *channel) recordedAt(sample int) float64 {
	return c.placed.Sweep + float64(sample-c.Stimulus.Sweeps(c.side)[0].Start)*c.ratio
}

// clockRatio returns the length of the recorded stimulus re that played, by the marks or else by
// the repeats, or 1 if clocks do not differ as much.
func (c *channel) clockRatio() float64 {
	ratio, marks := 1.0, c.Stimulus.Find(sweep.Mark)
	if len(marks) > 1 && !math.IsNaN(c.placed.Marks[0]+c.placed.Marks[1]) {
		ratio = (c.placed.Marks[1] - c.placed.Marks[0]) / float64(marks[1].Start-marks[0].Start)
	} else if len(c.Stimulus.Sweeps(c.side)) > 1 {
		if clock, err := c.Clock(c.number, c.side); err == nil {
			ratio += 1e-6 * clock.Drift
		}
	}
	if math.Abs(ratio-1) > 1.5e-6*capture.MaxDrift {
		return 1 // samples are missing, or another fault
	}
	return ratio
}

// listen finds the quiet stretches of a channel that is worth examining.
func (c *channel) listen() {
	c.crosstalkOnly = slices.ContainsFunc(c.channels, c.leaksFrom)
	if c.silent || c.crosstalkOnly {
		return
	}
	if c.placed != nil {
		c.quiet, c.noiseBegan = c.quietAroundSweeps(c.silences())
	} else {
		c.quiet = c.quietest(c.pauses())
	}
	if c.quiet != nil {
		c.noise = rmsOf(c.quiet)
	}
	c.offset, c.offsetStands = c.findOffset()
}

// leaksFrom reports whether a channel holds the same sweep as another, 20 dB softer.
func (c *channel) leaksFrom(d *channel) bool {
	return d != c && c.placed != nil && d.placed != nil && math.Abs(d.placed.Sweep-c.placed.Sweep) < c.fs/20 &&
		math.Abs(c.peakOfSweep()) < math.Abs(d.peakOfSweep())/10
}

// peakOfSweep returns the peak of the response to the sweep, with its sign.
func (c *channel) peakOfSweep() float64 { return c.placed.Response[len(c.placed.Response)/2] }

// finding completes a finding about the channel; What begins with the verb.
func (c *channel) finding(f response.Finding) []response.Finding {
	f.Recording, f.Channel = c.Recording.Name, c.number
	f.What = c.label(c.number) + " " + f.What
	return []response.Finding{f}
}

// measured returns the report's measurements of the channel, given the valid band of its response.
func (c *channel) measured(valid response.Band) Measured {
	m := Measured{Recording: c.Recording.Name, Channel: c.number, Peak: dBFS(c.peak), Level: dBFS(c.rms),
		Noise:  dBFS(c.noise),
		Offset: c.offset, Start: nowhere, Valid: valid}
	if c.placed != nil {
		m.Side, m.Start = c.placed.Side, c.start/c.fs
	}
	return m
}

func (c *channel) silences() []silence {
	var found []silence
	edge := c.fs / 20
	for i, s := range c.Stimulus.Segments() {
		if s.Kind != sweep.Silence {
			continue
		}
		from, to := c.recordedAt(s.Start)+edge, c.recordedAt(s.Start+s.Len)-edge
		if i > 0 {
			from += float64(s.Len)/2 - edge
		}
		one := silence{s.Start, search.Within(c.x, int(from), int(to)), nowhere}
		if float64(len(one.x)) >= c.fs/10 {
			one.rms = rmsOf([][]float64{one.x})
		}
		found = append(found, one)
	}
	return found
}

// quietAroundSweeps returns the silences that hold the noise of the sweeps of the channel's side:
// those within 6 dB of the softer one of the two about the sweeps, since a noise may have passed by
// in the other. A noise that begins during the sweeps, or just after them, and lasts to the end, is
// taken to sound in them, and began is true. Silences 70 dB below the recording may hold what dies
// away rather than noise: it then returns those within 6 dB of the softest of all. It returns nil
// if no silence is 0.1 s long.
func (c *channel) quietAroundSweeps(all []silence) (quiet [][]float64, began bool) {
	sweeps := c.Stimulus.Sweeps(c.side)
	first, last := sweeps[0].Start, sweeps[len(sweeps)-1].Start
	noise, before, after, lasting, softest := math.Inf(1), nowhere, nowhere, 0, math.Inf(1)
	for _, s := range all {
		if s.rms < softest {
			softest = s.rms
		}
		switch {
		case math.IsNaN(s.rms):
		case s.start < first:
			before = s.rms
		case s.start > last && math.IsNaN(after):
			after, noise, lasting = s.rms, s.rms, 1
		case s.start > last:
			noise = min(noise, s.rms)
			lasting++
		}
	}
	if began = lasting > 1 && noise > 2*before; !began {
		noise = math.Inf(1)
		for _, v := range []float64{before, after} {
			if v < noise {
				noise = v
			}
		}
	}
	least := noise / 2
	if math.IsInf(noise, 1) || noise < c.rms/3000 {
		noise, least, began = softest, 0, false
	}
	for _, s := range all {
		if s.rms >= least && s.rms <= 2*noise {
			quiet = append(quiet, s.x)
		}
	}
	return quiet, began
}

// pauses returns runs of frames within 6 dB of the softest twentieth, which is 30 dB below the
// loudest, less 20 ms at each end.
func (c *channel) pauses() [][]float64 {
	low := c.quantile(0.05)
	if low*30 > c.quantile(0.98) {
		return nil
	}
	var found [][]float64
	start := 0
	for k := 0; k <= len(c.frames); k++ {
		if k < len(c.frames) && c.frames[k] <= 2*low {
			continue
		}
		found = append(found, search.Within(c.x, (start+2)*c.frame, (k-2)*c.frame))
		start = k + 1
	}
	return found
}

// quietest keeps the pauses that are 0.1 s long and within 6 dB of the softest, since a noise
// may have passed by; nil if there are none.
func (c *channel) quietest(stretches [][]float64) [][]float64 {
	long := slices.DeleteFunc(stretches, func(x []float64) bool { return float64(len(x)) < c.fs/10 })
	softest := math.Inf(1)
	for _, x := range long {
		softest = min(softest, rmsOf([][]float64{x}))
	}
	long = slices.DeleteFunc(long, func(x []float64) bool { return rmsOf([][]float64{x}) > 2*softest })
	if len(long) == 0 {
		return nil
	}
	return long
}

// levels are the levels of a channel, with full scale 1.
type levels struct {
	peak, rms, mean float64
	highest, lowest float64   // above and below zero, both positive or 0
	frame           int       // samples in a frame, 10 ms
	frames          []float64 // rms of each frame about the mean of all
	sorted          []float64 // frames, the softest first
}

// quantile returns the q-quantile of the frame levels, or 0 if there are no frames.
func (l levels) quantile(q float64) float64 {
	if len(l.sorted) == 0 {
		return 0
	}
	return l.sorted[int(q*float64(len(l.sorted)-1))]
}

// silence is one of the stimulus as recorded; after a sound, the half in which it has died away.
type silence struct {
	start int // in the stimulus
	x     []float64
	rms   float64 // about the mean; NaN if it is shorter than 0.1 s
}

func levelsOf(x []float64, fs float64) levels {
	l := levels{frame: max(1, int(fs/100))}
	n := float64(len(x))
	sums := make([]float64, len(x)/l.frame)
	l.frames = make([]float64, len(sums))
	var total, square float64
	for at := 0; at < len(x); at += l.frame {
		var sum, power float64
		low, high := -l.lowest, l.highest
		for _, v := range x[at:min(at+l.frame, len(x))] {
			sum += v
			power += v * v
			if v > high {
				high = v
			}
			if v < low {
				low = v
			}
		}
		l.lowest, l.highest = -low, high
		total += sum
		square += power
		if k := at / l.frame; k < len(sums) {
			sums[k], l.frames[k] = sum, power
		}
	}
	l.peak = max(l.highest, l.lowest)
	l.mean, l.rms = total/n, math.Sqrt(square/n)
	for k, power := range l.frames {
		m := float64(l.frame)
		l.frames[k] = math.Sqrt(max(0, power/m-2*l.mean*sums[k]/m+l.mean*l.mean))
	}
	l.sorted = slices.Sorted(slices.Values(l.frames))
	return l
}

// stepOf returns the step of which all samples are multiples: that of the format, or a coarser one
// if bits are not used, as in a 16-bit recording that was saved again in 24. It is 0 if there is
// none.
func stepOf(x []float64, f capture.Format) float64 {
	for _, bits := range []int{8, 12, 16, 20, 24} {
		if !f.Float && f.Bits > 0 && bits >= f.Bits {
			break
		}
		if scale := math.Ldexp(1, bits-1); onGrid(x, scale) {
			return 1 / scale
		}
	}
	if f.Float || f.Bits == 0 {
		return 0
	}
	if f.ValidBits > 0 {
		return math.Ldexp(1, 1-f.ValidBits)
	}
	return math.Ldexp(1, 1-f.Bits)
}

func onGrid(x []float64, scale float64) bool {
	used := false
	for _, v := range x {
		if v *= scale; v != math.Trunc(v) {
			return false
		}
		used = used || v != 0
	}
	return used
}

// rmsOf returns the rms of stretches about the mean of each.
func rmsOf(stretches [][]float64) float64 {
	var square, n float64
	for _, x := range stretches {
		var sum, power float64
		for _, v := range x {
			sum += v
			power += v * v
		}
		m := float64(len(x))
		square += power - sum*sum/m
		n += m
	}
	return math.Sqrt(max(0, square) / n)
}
