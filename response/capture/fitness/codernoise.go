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
)

// A coder that saves bits adds noise around the sound, as much as that masks. In the deconvolved
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

// detectCoderNoise finds noise that follows the sweep, as from a coder that leaves the treble in.
func detectCoderNoise(c *channel) []response.Finding {
	still, own := c.quietSpectrum(), c.swept()
	if still == nil || len(own.near) < int(nearShortest*c.fs) {
		return nil
	}
	above, level := c.octaves(own.near, still)
	far, _ := c.octaves(own.between, still)
	beyond := make([]float64, len(above))
	for i, v := range above {
		beyond[i] = v - far[i]
	}
	if len(above) < nearFewest || !(statistic.Median(beyond) > nearBeyond) ||
		!(slices.Min(above) > nearAbove && statistic.Median(above) > nearUsual &&
			(slices.Max(above)-slices.Min(above) < nearSpread ||
				slices.Min(above) > nearClear && slices.Max(level)-slices.Min(level) < nearTilt) &&
			statistic.Median(level) > nearLevel) {
		return nil
	}
	if _, again := c.echo(); again > 0 { // an effect with a varying delay
		return nil
	}
	return c.finding(response.Finding{Kind: LossyCodec, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("holds noise that follows the sweep, %.0f dB above its silence and more in every octave, "+
			"as after a lossy coder", slices.Min(above)),
		Remedy:  "play and record without compression, by cable, and keep the file as it was recorded",
		Figures: figures{"above silence": figure(slices.Min(above), "dB")}})
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
