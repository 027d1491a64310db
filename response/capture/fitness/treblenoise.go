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
	// The largest deviation in dB of the noise from that of the silence at the beginning: while the
	// sweep plays, and in the other silences.
	sweptSofter, sweptLouder = -0.25, 1.5
	stillSofter, stillLouder = -0.5, 0.8
)

// noiseLevel is the mean power of noise in a stretch, and its relative standard uncertainty.
type noiseLevel struct{ power, uncertainty float64 }

// movedNoise returns the change in dB of the noise in the treble during or after a sound, and when
// it occurs, or 0 if there is none. A rise that lasts to the end does not count: it comes from a
// new sound, since a higher gain would raise the stimulus too.
func (c *channel) movedNoise() (moved float64, when string) {
	segments := c.Stimulus.Segments()
	s, edge := c.Stimulus.Sweep(), c.fs/50
	begin := func(k int) float64 { return c.recordedAt(segments[k].Start) }
	end := func(k int) float64 { return c.recordedAt(segments[k].Start + segments[k].Len) }
	before := c.noiseIn(begin(0), end(0)-edge)
	if !(before.power > 4*c.step*c.step/12) { // rounding, which may depend on the signal
		return 0, ""
	}
	low := noiseLow * min(c.fs/2, 24000) / noiseOrder
	worst, last := 1.0, 0.0
	look := func(from, to, softer, louder float64, during string) {
		n := c.noiseIn(from, to)
		if math.IsNaN(n.power) {
			return
		}
		off := decibel.OfPower(n.power / before.power)
		last = off
		sure := noiseSure * decibel.PerNeper / 2 * math.Hypot(n.uncertainty, before.uncertainty)
		if limit := max(louder, sure); off > limit && off/limit > worst {
			worst, moved, when = off/limit, off, during
		}
		if limit := min(softer, -sure); off < limit && off/limit > worst {
			worst, moved, when = off/limit, off, during
		}
	}
	for k, segment := range segments {
		switch segment.Kind {
		case sweep.LeftSweep, sweep.RightSweep:
			if low > s.Start() {
				look(begin(k)+edge, begin(k)+s.TimeAt(low)*c.fs, sweptSofter, sweptLouder, "while the sweep is in the bass")
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
			look(from, middle, stillSofter, stillLouder, "just after a sound")
			look(middle, end(k)-edge, stillSofter, stillLouder, "in a later silence")
		}
	}
	if moved > 0 && last > moved/2 {
		return 0, ""
	}
	return moved, when
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
	plan := c.plans.Plan(fft.FastLen(int(noiseFrame * c.fs)))
	n := plan.Len()
	bin, top := c.fs/float64(n), min(c.fs/2, 24000)
	low, high := int(noiseLow*top/bin), int(noiseHigh*top/bin)
	x, window := search.Within(c.x, from, to), taper.Hann(n)
	floats.Mul(window, window)
	var powers []float64
	work, bins := make([]float64, n), make([]complex128, plan.Bins())
	for at := 0; at+n <= len(x); at += n / 2 {
		floats.MulTo(work, window, x[at:at+n])
		var sum float64
		for _, v := range plan.Forward(bins, work)[low:high] {
			sum += fft.Power(v)
		}
		powers = append(powers, sum)
	}
	if len(powers) < noiseFewest {
		return noiseLevel{math.NaN(), math.NaN()}
	}
	slices.Sort(powers)
	powers = powers[len(powers)/10 : len(powers)-len(powers)/10]
	var energy, mean, square float64 // of the window, of the frames
	for _, w := range window {
		energy += w * w
	}
	for _, v := range powers {
		mean += v / float64(len(powers))
	}
	for _, v := range powers {
		square += (v - mean) * (v - mean) / float64(len(powers))
	}
	// Frames that overlap by half are nearly independent under this window; the frames that were
	// left out would have scattered most.
	return noiseLevel{mean / (energy * float64(high-low)), 1.5 * math.Sqrt(square/float64(len(powers))) / mean}
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
