package programme

import (
	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// correct adds Config.Correction to the through recording in the sums of all resolutions, and
// limits Valid to the band in which it is known. The leakage across the ends of the segments is
// taken off before. A cell or a band may reach beyond that band; the correction at its end is used
// there.
func (c *Comparison) correct() {
	correction := c.Config.Correction
	if correction == nil {
		return
	}
	n := len(correction.Frequency)
	if n == 0 {
		c.Valid = response.Band{}
		return
	}
	known := correction.Valid.Intersect(response.Band{Low: correction.Frequency[0], High: correction.Frequency[n-1]})
	c.Valid = c.Valid.Intersect(known)
	for _, t := range c.resolutions {
		for k := range t.total.yy {
			gain := decibel.Amplitude(correction.At(min(max(t.frequency(k), known.Low), known.High)))
			t.total.yy[k] *= gain * gain
			t.total.xy[k] *= complex(gain, 0)
			t.slopes[k] *= complex(gain, 0)
			for _, g := range t.groups {
				g.xy[k] *= complex(gain, 0)
			}
		}
	}
}
