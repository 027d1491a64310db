package programme

import (
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/smoothing"
)

// Levels are the levels of one recording over the stretch that both share.
type Levels struct {
	// RMS and Peak are in dBFS; a full-scale sine has −3.01 and 0.
	RMS, Peak float64
	// AWeighted is the A-weighted level (IEC 61672-1) in dBFS rms, from the spectrum within
	// Config.Band. For the level of the sound itself, which takes a calibration, see package
	// level.
	AWeighted float64
	// Crest is the crest factor in dB, Peak − RMS.
	Crest float64
}

// setLevels sets the levels of both recordings, and the largest power density of the material.
func (c *Comparison) setLevels(p *pass) {
	for k, l := range [2]*Levels{&c.Direct, &c.Through} {
		l.RMS = decibel.OfPower(p.levels[k].power / float64(p.shared))
		l.Peak = decibel.OfAmplitude(p.levels[k].peak)
		l.Crest = l.Peak - l.RMS
	}
	var direct, through float64
	for f := c.Config.Band.Low; f < c.Config.Band.High; {
		t := resolutionFor(c.resolutions, f)
		k := int(math.Round(f * float64(t.n) / t.rate))
		for ; k < t.n/2 && t.frequency(k) < c.Config.Band.High && resolutionFor(c.resolutions, t.frequency(k)) == t; k++ {
			w := t.density() * t.rate / float64(t.n) * decibel.Power(smoothing.AWeighting(t.frequency(k)))
			direct += w * t.total.xx[k]
			through += w * t.total.yy[k]
			c.top = max(c.top, t.density()*t.total.xx[k])
		}
		f = max(t.frequency(k), math.Nextafter(f, math.Inf(1)))
		if k >= t.n/2 {
			break
		}
	}
	c.Direct.AWeighted, c.Through.AWeighted = decibel.OfPower(direct), decibel.OfPower(through)
}

// frequency returns the frequency in Hz of bin k.
func (t *resolution) frequency(k int) float64 { return float64(k) * t.rate / float64(t.n) }
