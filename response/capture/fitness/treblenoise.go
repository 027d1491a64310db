package fitness

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/search"
	"example.com/earnest/internal/taper"
	"example.com/earnest/sweep"
)

// Noise is measured from noiseLow to noiseHigh of half the sample rate, or of 24 kHz, while the
// sweep is below a thirty-sixth of that, in frames of 20 ms: no relevant harmonic of headphones
// reaches so high.
const (
	noiseLow, noiseHigh = 0.375, 0.83
	noiseOrder          = 36
	noiseFrame          = 0.02
	noiseSure           = 5   // standard uncertainties
	noiseFewest         = 5   // frames
	noiseSettled        = 0.4 // s after a sweep: the room has died away
	noiseBands          = 6
	// The least fall of the noise in a band in dB, and the least number of frames, for which the
	// bands are compared. 24 frames have a standard uncertainty of 0.2 dB in each.
	unevenFalls  = 1.5
	unevenFewest = 24
	// The largest deviation in dB of the noise from that of the silence at the beginning: while the
	// sweep plays, and in the other silences.
	sweptSofter, sweptLouder = -0.25, 1.5
	stillSofter, stillLouder = -0.5, 0.8
)

// noiseLevel is the mean power of noise in a stretch, and its relative standard uncertainty.
type noiseLevel struct{ power, uncertainty float64 }

// Where the noise is compared in a silence.
const justAfter, laterSilence = "just after a sound", "in a later silence"

// noiseChange is the noise in a stretch re that of the silence at the beginning.
type noiseChange struct {
	segment    int     // of the stimulus, from 0
	off, limit float64 // dB; limit has the sign of off
	when       string
}

// movedNoise returns the change in dB of the noise in the treble during or after a sound, and when
// it occurs, or 0 if there is none. Three changes do not count, since they come from another sound:
// a rise that lasts to the end, as a higher gain would raise the stimulus too; a rise in one silence
// of several, as a gain rises after every sound; and a fall to a level that then stays, as a gain
// moves with the stimulus.
func (c *channel) movedNoise() (moved float64, when string) {
	segments := c.Stimulus.Segments()
	s, edge := c.Stimulus.Sweep(), c.fs/50
	begin := func(k int) float64 { return c.recordedAt(segments[k].Start) }
	end := func(k int) float64 { return c.recordedAt(segments[k].Start + segments[k].Len) }
	before := c.noiseIn(begin(0), end(0)-edge)
	if !(before.power > 4*c.step*c.step/12) { // rounding, which may depend on the signal
		return 0, ""
	}
	var changes []noiseChange
	look := func(k int, from, to, softer, louder float64, when string) {
		n := c.noiseIn(from, to)
		if math.IsNaN(n.power) {
			return
		}
		one := noiseChange{segment: k, off: decibel.OfPower(n.power / before.power), when: when}
		sure := noiseSure * decibel.PerNeper / 2 * math.Hypot(n.uncertainty, before.uncertainty)
		if one.limit = max(louder, sure); one.off < 0 {
			one.limit = min(softer, -sure)
		}
		changes = append(changes, one)
	}
	low := noiseLow * min(c.fs/2, 24000) / noiseOrder
	for k, segment := range segments {
		switch segment.Kind {
		case sweep.LeftSweep, sweep.RightSweep:
			if low > s.Start() {
				look(k, begin(k)+edge, begin(k)+s.TimeAt(low)*c.fs, sweptSofter, sweptLouder, "while the sweep is in the bass")
			}
		case sweep.Silence:
			if k == 0 {
				continue
			}
			from := begin(k) + edge
			if segments[k-1].Kind != sweep.Mark {
				from = begin(k) + noiseSettled*c.fs
			}
			middle := (from + end(k)) / 2
			look(k, from, middle, stillSofter, stillLouder, justAfter)
			look(k, middle, end(k)-edge, stillSofter, stillLouder, laterSilence)
		}
	}
	return movedBy(changes)
}

// noiseIn returns the noise in the treble of a stretch, without the loudest and the softest tenth
// of its frames. It is NaN if the stretch is too short or not in the recording.
func (c *channel) noiseIn(from, to float64) noiseLevel {
	key := [2]int{int(from), int(to)}
	n, known := c.treble[key]
	if !known {
		n = c.trebleNoise(key[0], key[1])
		if c.treble == nil {
			c.treble = map[[2]int]noiseLevel{}
		}
		c.treble[key] = n
	}
	return n
}

func (c *channel) trebleNoise(from, to int) noiseLevel {
	var powers []float64
	for _, bands := range c.trebleFrames(from, to) {
		powers = append(powers, floats.Sum(bands[:]))
	}
	if len(powers) < noiseFewest {
		return noiseLevel{math.NaN(), math.NaN()}
	}
	powers = middleOf(powers)
	var mean, square float64 // of the frames
	for _, v := range powers {
		mean += v / float64(len(powers))
	}
	for _, v := range powers {
		square += (v - mean) * (v - mean) / float64(len(powers))
	}
	// Frames that overlap by half are nearly independent under this window; the frames that were
	// left out would have scattered most.
	return noiseLevel{mean, 1.5 * math.Sqrt(square/float64(len(powers))) / mean}
}

// trebleFrames returns the power in each band of the treble in frames of a stretch, as shares of
// the mean power of a bin. It computes each stretch once.
func (c *channel) trebleFrames(from, to int) [][noiseBands]float64 {
	key := [2]int{from, to}
	frames, known := c.frameBands[key]
	if !known {
		frames = c.computeTrebleFrames(from, to)
		if c.frameBands == nil {
			c.frameBands = map[[2]int][][noiseBands]float64{}
		}
		c.frameBands[key] = frames
	}
	return frames
}

func (c *channel) computeTrebleFrames(from, to int) (frames [][noiseBands]float64) {
	plan := c.plans.Plan(fft.FastLen(int(noiseFrame * c.fs)))
	n := plan.Len()
	bin, top := c.fs/float64(n), min(c.fs/2, 24000)
	low, high := int(noiseLow*top/bin), int(noiseHigh*top/bin)
	x, window := search.Within(c.x, from, to), taper.Hann(n)
	floats.Mul(window, window)
	scale := floats.Dot(window, window) * float64(high-low)
	work, bins := make([]float64, n), make([]complex128, plan.Bins())
	for at := 0; at+n <= len(x); at += n / 2 {
		floats.MulTo(work, window, x[at:at+n])
		var bands [noiseBands]float64
		for k, v := range plan.Forward(bins, work)[low:high] {
			bands[k*noiseBands/(high-low)] += fft.Power(v) / scale
		}
		frames = append(frames, bands)
	}
	return frames
}

// noiseUneven returns the number of dB by which the noise changes more in one band of the treble
// than in another while the sweep is in the bass, or 0 if it changes alike, or if it falls in no
// band below all silences. A gain moves all bands alike, and another sound only adds.
func (c *channel) noiseUneven() (uneven float64) {
	segments, s := c.Stimulus.Segments(), c.Stimulus.Sweep()
	low, edge := noiseLow*min(c.fs/2, 24000)/noiseOrder, c.fs/50
	if !(low > s.Start()) {
		return 0
	}
	still := slices.Repeat([]float64{math.Inf(1)}, noiseBands)
	lower := func(bands []float64) {
		for b, v := range bands {
			still[b] = min(still[b], v)
		}
	}
	var swept [][]float64
	falls := false // in one band below the first silence, so perhaps below all
	for k, segment := range segments {
		if k == 0 && segment.Kind == sweep.Silence {
			lower(c.trebleBands(int(c.recordedAt(segment.Start)), int(c.recordedAt(segment.Start+segment.Len)-edge)))
		}
		if segment.Kind != sweep.LeftSweep && segment.Kind != sweep.RightSweep {
			continue
		}
		begin := c.recordedAt(segment.Start)
		swept = append(swept, c.trebleBands(int(begin+edge), int(begin+s.TimeAt(low)*c.fs)))
		for b, v := range swept[len(swept)-1] {
			falls = falls || math.IsInf(still[b], 1) || decibel.OfPower(v/still[b]) < -unevenFalls
		}
	}
	if !falls {
		return 0
	}
	for k, segment := range segments {
		from, to := c.recordedAt(segment.Start), c.recordedAt(segment.Start+segment.Len)-edge
		switch {
		case segment.Kind != sweep.Silence:
			continue
		case k > 0 && segments[k-1].Kind != sweep.Mark:
			from += noiseSettled * c.fs
		case k > 0:
			from += edge
		}
		lower(c.trebleBands(int(from), int(to)))
	}
	if least := slices.Min(still); !(least > 4*c.step*c.step/12/noiseBands) || math.IsInf(least, 1) { // no silence
		return 0
	}
	for _, bands := range swept {
		lowest, highest := math.Inf(1), math.Inf(-1)
		for b, v := range bands {
			off := decibel.OfPower(v / still[b])
			lowest, highest = min(lowest, off), max(highest, off)
		}
		if lowest < -unevenFalls {
			uneven = max(uneven, highest-lowest)
		}
	}
	return uneven
}

// trebleBands returns the mean power in each band of the treble in a stretch, without the loudest
// and the softest tenth of its frames, or nil if the stretch has fewer than unevenFewest frames.
func (c *channel) trebleBands(from, to int) (means []float64) {
	frames := c.trebleFrames(from, to)
	if len(frames) < unevenFewest {
		return nil
	}
	for b := range noiseBands {
		var powers []float64
		for _, bands := range frames {
			powers = append(powers, bands[b])
		}
		powers = middleOf(powers)
		means = append(means, floats.Sum(powers)/float64(len(powers)))
	}
	return means
}

// shutFor is the shortest digital silence in seconds that shows a gate.
const shutFor = 0.03

// digitalSilence returns the time and length in seconds of the digital silence in a silence of the
// stimulus, and the number of silences with one. The length is 0 if there is none, or if there is
// no noise while the sweep plays either.
func (c *channel) digitalSilence() (at, length float64, times int) {
	s := c.Stimulus.Sweep()
	low := noiseLow * min(c.fs/2, 24000) / noiseOrder
	if !(low > s.Start()) {
		return 0, 0, 0
	}
	n := c.noiseIn(c.placed.Sweep+c.fs/50, c.placed.Sweep+s.TimeAt(low)*c.fs)
	if !(n.power > max(4*c.step*c.step/12, 1e-15)) { // −150 dBFS: a simulation without noise
		return 0, 0, 0
	}
	for _, segment := range c.Stimulus.Find(sweep.Silence) {
		from := max(0, int(c.recordedAt(segment.Start)))
		x := search.Within(c.x, from, int(c.recordedAt(segment.Start+segment.Len)))
		first, longest := 0, 0
		for i := range x {
			if x[i] != x[first] {
				first = i
			}
			if i-first >= longest {
				longest = i - first + 1
				if lasts := float64(longest) / c.fs; lasts > max(shutFor, length) {
					at, length = float64(from+first)/c.fs, lasts
				}
			}
		}
		if float64(longest)/c.fs > shutFor {
			times++
		}
	}
	return at, length, times
}

// movedBy returns the largest change re its limit, of those in order of time, that a gain explains.
func movedBy(changes []noiseChange) (moved float64, when string) {
	risen, silences := map[int]bool{}, map[int]bool{}
	least, most, last := math.Inf(1), math.Inf(-1), 0.0
	for _, c := range changes {
		least, most, last = min(least, c.off), max(most, c.off), c.off
		if c.when == justAfter || c.when == laterSilence {
			silences[c.segment] = true
			if c.off > c.limit/2 && c.off > 0 {
				risen[c.segment] = true
			}
		}
	}
	stays := most < 0 && most-least < stillLouder
	worst := 1.0
	for _, c := range changes {
		alone := c.off > 0 && risen[c.segment] && len(risen) == 1 && len(silences) > 2
		if share := c.off / c.limit; share > worst && !alone && !(stays && c.off < 0) {
			worst, moved, when = share, c.off, c.when
		}
	}
	if moved > 0 && last > moved/2 {
		return 0, ""
	}
	return moved, when
}

// middleOf sorts powers, and returns them without the lowest and the highest tenth.
func middleOf(powers []float64) []float64 {
	slices.Sort(powers)
	return powers[len(powers)/10 : len(powers)-len(powers)/10]
}
