package fitness

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
	"example.com/earnest/sweep"
)

// A lossy coder adds as much noise around the sound as the sound masks. In the deconvolved
// recording, its noise at nearClosest to nearFarthest times the frequency of the sweep comes before
// the response, in every octave. The sound of a room, harmonics, and the ringing of headphones are
// not there. A voice, a click or a knock is there in some octaves only; noise suppression raises it
// above the silence, but not to nearLevel.
const (
	nearFarthest, nearClosest = 1.5, 1.12
	nearShortest              = 0.02 // s
	nearAbove                 = 8.0  // dB re the silence, in each octave
	nearUsual                 = 15.0 // their median
	nearSpread                = 30.0 // between octaves: a voice has 40
	nearClear                 = 15.0 // dB re the silence in each octave, which a voice does not reach in some of them;
	nearTilt                  = 40.0 // if all are so clear, their levels may differ by more
	nearBeyond                = 5.0  // their median re the level at two and a half times the sweep's frequency: noise has 0
	nearLevel                 = -65.0
	nearSpan                  = 0.1 // s of it are compared with the response: coders −35 to −60 dB, others below −80
	nearFewest                = 4   // octaves
)

// A coder may also show by noise away from the sweep. A sub-band coder makes bursts where it
// changes its steps. A differential coder makes noise at all frequencies, which grows with the
// frequency of the sweep. A coder of long frames leaves out the treble while the bass is loud.
// Recordings without a coder have no bursts, and their noise is constant.
const (
	fewestBursts = 3
	mostBeside   = 0.1  // of the bursts, in silences
	burstSettled = 0.1  // s; long frames begin before a sound and last beyond it
	growsBy      = 3.0  // dB of the treble's noise over two octaves of the sweep; differences grow by 12
	growsSure    = 1.0  // dB of uncertainty: a voice has 1.5
	growsTo      = 10   // dB re the silence, close to the sweep's highest octaves
	growsBeside  = 20.0 // dB more there than in the treble: a gain moves both alike
	holeOf       = 6.0  // dB; a gain would move the mark as much
	unevenBy     = 3.0  // dB between bands of the treble noise: a gain moves them alike, to 0.6
)

// besideSound counts the bursts that lie in silences of the stimulus, where a coder has nothing to
// code. The timing of a voice or a knock does not depend on the stimulus.
func (c *channel) besideSound(bursts []discontinuity) (n float64) {
	for _, b := range bursts {
		for _, s := range c.Stimulus.Find(sweep.Silence) {
			if from, to := c.recordedAt(s.Start), c.recordedAt(s.Start+s.Len); float64(b.at) > from+burstSettled*c.fs &&
				float64(b.at) < to-burstSettled*c.fs {
				n++
			}
		}
	}
	return n
}

// noiseGrows reports whether the noise grows with the frequency of the sweep: steadily in the
// treble while the sweep rises over three octaves to 700 Hz, and beside the sweep in its highest
// octaves; or much more beside the sweep than in the treble.
func (c *channel) noiseGrows(above, far []float64) bool {
	n := len(above)
	if n < nearFewest || !(above[n-1] > growsTo && above[n-1] == slices.Max(above)) {
		return false
	}
	s := c.Stimulus.Sweep()
	top := noiseLow * min(c.fs/2, 24000) / noiseOrder * 2 * math.Sqrt2
	if s.Start() > top/8 {
		return false
	}
	var levels [3]float64
	for k := range levels {
		from := top / math.Exp2(float64(len(levels)-k))
		noise := c.noiseIn(c.placed.Sweep+s.TimeAt(from)*c.fs, c.placed.Sweep+s.TimeAt(2*from)*c.fs)
		if !(decibel.PerNeper/2*noise.uncertainty < growsSure) {
			return false
		}
		levels[k] = decibel.OfPower(noise.power)
	}
	if levels[2] > levels[1] && levels[1] > levels[0] && levels[2]-levels[0] > growsBy {
		return above[n-1] > above[n-2]+growsBy && above[n-2] > above[n-3]+growsBy && far[n-1] > far[n-3]+growsBy
	}
	moved, _ := c.movedNoise()
	return moved > 0 && above[n-1] > moved+growsBeside
}

// noiseFails reports whether the noise in the treble falls while the sweep is in the bass, and a
// mark says that no gain does.
func (c *channel) noiseFails() bool {
	moved, _ := c.movedNoise()
	return moved < -holeOf && c.gainConstant()
}

// gainConstant reports whether a mark is at the level of the sweep.
func (c *channel) gainConstant() bool {
	return slices.ContainsFunc(c.comparisons(), func(m *comparison) bool { return m != nil }) && c.markOverSweep() == 0
}

// octaves returns the levels of a stretch of the deconvolved recording in octaves from 250 Hz to 4
// kHz, within the sweep's band: in dB above the silence, and re the response.
func (c *channel) octaves(stretch []float64, still *spectrum) (above, level []float64) {
	x, s := slices.Clone(stretch), c.Stimulus.Sweep()
	var energy float64
	for i, w := range taper.Hann(len(x)) {
		x[i] *= w
		energy += w * w
	}
	spectrum := c.powerOf(x, energy)
	for f := 250.0; f < min(6000, 0.6*s.Stop()); f *= 2 {
		if f < 2*s.Start() {
			continue
		}
		// Both in the units of the recording.
		sounds := stat.Mean(spectrum.around(f, math.Sqrt2, 1), nil) * s.SpectrumLevel(f) * s.SpectrumLevel(f)
		noise := max(stat.Mean(still.around(f, math.Sqrt2, 4), nil), c.step*c.step/12)
		above = append(above, decibel.OfPower(sounds/noise))
		level = append(level, decibel.OfPower(sounds*c.fs*nearSpan/c.sweptPower(f)))
	}
	return above, level
}

// detectCoderNoise finds noise that follows the sweep, as from a coder that leaves the treble in,
// given bursts of it.
func detectCoderNoise(c *channel, bursts []discontinuity) []response.Finding {
	f := response.Finding{Kind: LossyCodec, Time: nowhere, Duration: nowhere, Figures: figures{},
		Remedy: "play and record without compression, by cable, and keep the file as it was recorded"}
	still, own := c.quietSpectrum(), c.swept()
	var above, far, level []float64
	if still != nil && len(own.near) >= int(nearShortest*c.fs) {
		above, level = c.octaves(own.near, still)
		far, _ = c.octaves(own.between, still)
	}
	switch {
	case followsSweep(above, far, level):
		if _, again := c.echo(); again > 0 { // an effect with a varying delay
			return nil
		}
		f.What = fmt.Sprintf("holds noise that follows the sweep, %.0f dB above its silence and more in every octave",
			slices.Min(above))
		f.Figures["above silence"] = figure(slices.Min(above), "dB")
	case len(bursts) >= fewestBursts && c.besideSound(bursts) <= float64(len(bursts))*mostBeside:
		f.What = fmt.Sprintf("holds %s bursts of noise that leave the phase of the sweep as it is",
			count(len(bursts)))
		f.Figures["bursts"] = figure(float64(len(bursts)), "")
	case c.noiseGrows(above, far):
		f.What = fmt.Sprintf("holds noise that grows with the frequency of the sweep, to %.0f dB above its silence",
			above[len(above)-1])
		f.Figures["above silence"] = figure(above[len(above)-1], "dB")
	case c.noiseFails():
		f.What = "loses its treble noise while the sweep is in the bass, though the gain stays constant"
	case c.gainConstant() && c.noiseUneven() > unevenBy:
		f.What = fmt.Sprintf("holds treble noise that changes by up to %.0f dB more in one band than in another "+
			"while the sweep is in the bass, though the gain stays constant", c.noiseUneven())
	default:
		return nil
	}
	f.What += ", as after a lossy coder"
	off := math.Abs(c.markOverSweep())
	for i, v := range level { // less the noise of the silence; half of the rest is in phase
		coded := max(0, 1-1/decibel.Power(above[i]))
		off = max(off, decibel.PerNeper*decibel.Amplitude(v)*math.Sqrt(coded/2))
	}
	f.Figures["error"] = figure(off, "dB")
	f.Severity = unfitIf(off >= worstError)
	return c.finding(f)
}

// followsSweep reports whether the noise close to the sweep stands above the silence in every
// octave, and above that further away.
func followsSweep(above, far, level []float64) bool {
	beyond := make([]float64, len(above))
	for i, v := range above {
		beyond[i] = v - far[i]
	}
	return len(above) >= nearFewest && statistic.Median(beyond) > nearBeyond &&
		slices.Min(above) > nearAbove && statistic.Median(above) > nearUsual &&
		(slices.Max(above)-slices.Min(above) < nearSpread ||
			slices.Min(above) > nearClear && slices.Max(level)-slices.Min(level) < nearTilt) &&
		statistic.Median(level) > nearLevel
}
