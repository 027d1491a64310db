package programme

import (
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/smoothing"
)

// Levels are the levels of one recording over what both share.
type Levels struct {
	// RMS and Peak are in dBFS; a full-scale sine has −3.01 and 0.
	RMS, Peak float64
	// AWeighted is the plain A-weighted level in dBFS rms (IEC 61672-1), from
	// the spectrum within the band asked for; the level of the sound takes a
	// calibration (package level).
	AWeighted float64
	// Crest is the crest factor Peak − RMS in dB.
	Crest float64
}

func (c *Comparison) setLevels(p *pass) {
	for k, l := range [2]*Levels{&c.Direct, &c.Through} {
		l.RMS = decibel.OfPower(p.levels[k].power / float64(p.shared))
		l.Peak = decibel.OfAmplitude(p.levels[k].peak)
		l.Crest = l.Peak - l.RMS
	}
	var direct, through float64
	for f := c.Asked.Low; f < c.Asked.High; {
		t := serving(c.tiers, f)
		k := int(math.Round(f * float64(t.n) / t.rate))
		for ; k < t.n/2 && t.frequency(k) < c.Asked.High && serving(c.tiers, t.frequency(k)) == t; k++ {
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

func (t *tier) frequency(k int) float64 { return float64(k) * t.rate / float64(t.n) }
