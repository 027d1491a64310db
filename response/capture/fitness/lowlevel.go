package fitness

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// detectLowLevel finds a channel that is too soft for its noise or its bit depth. It also returns
// the band in which noise moves the response by less than 0.1 dB, which ends at the cutoff in Hz
// unless that is 0.
func detectLowLevel(c *channel, cutoff float64) (found []response.Finding, valid response.Band) {
	f := response.Finding{Kind: LowLevel, Severity: response.Warning, Time: nowhere, Duration: nowhere}
	if peak := c.peak - math.Abs(c.offset); c.step > 0 && peak < 1000*c.step && 1-math.Log2(c.step) > fewBits {
		f.Severity = unfitIf(peak < 100*c.step)
		f.What = fmt.Sprintf("reaches %s dBFS, %.0f of the steps of %.0f bits",
			signed(dBFS(peak), 1), peak/c.step, 1-math.Log2(c.step))
		f.Remedy = "raise the input gain, or record in 24 bits"
		f.Figures = figures{"peak": figure(dBFS(peak), "dBFS"), "steps": figure(peak/c.step, "")}
		return c.finding(f), response.Band{}
	}
	if c.placed != nil {
		return detectNoise(c, cutoff)
	}
	peak, snr := dBFS(c.peak), math.Inf(1)
	if c.quiet != nil {
		snr = decibel.OfAmplitude(c.quantile(0.98) / c.noise)
	}
	switch {
	case peak < -40:
		f.Severity = unfitIf(peak < -60)
		f.What, f.Remedy = fmt.Sprintf("reaches %s dBFS only", signed(peak, 1)), "raise the input gain and record again"
		f.Figures = figures{"peak": figure(peak, "dBFS")}
	case snr < 35:
		f.What = fmt.Sprintf("is %.0f dB above its noise where it is loud", snr)
		f.Remedy = "raise the level of playback, or find a quieter place, and record again"
		f.Figures = figures{"signal to noise": figure(snr, "dB")}
	default:
		return nil, response.Band{}
	}
	return c.finding(f), response.Band{}
}

// detectNoise finds noise that moves the response to the sweep, and returns the widest band in which
// it does so by less than 0.1 dB.
func detectNoise(c *channel, cutoff float64) (found []response.Finding, valid response.Band) {
	if c.quietSpectrum() == nil {
		return nil, response.Band{}
	}
	s := c.Stimulus.Sweep()
	played := response.Band{Low: s.Start(), High: s.Stop()}
	if cutoff > 0 {
		played.High = cutoff / 1.1
	}
	bands, octaves := c.quietBands(played), 0.0
	for _, b := range bands {
		octaves += b.Octaves()
		if b.Octaves() > valid.Octaves() {
			valid = b
		}
	}
	if valid.Low <= played.Low*thirdOctave && valid.High >= played.High/thirdOctave {
		return nil, valid
	}
	f := response.Finding{Kind: LowLevel, Severity: unfitIf(octaves < played.Octaves()/2),
		Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("has too much noise (%s dBFS rms) for a response to 0.1 dB %s",
			signed(dBFS(c.noise), 1), outside(bands)),
		Remedy: "play louder, take a longer sweep or more repeats, or find a quieter place",
		Figures: figures{"noise": figure(dBFS(c.noise), "dBFS"), "from": figure(valid.Low, "Hz"),
			"to": figure(valid.High, "Hz")}}
	if c.noiseBegan { // how much of the sweep it reaches is not known
		f.Severity = response.Warning
		f.What = fmt.Sprintf("has more noise from the sweep to the end than before it (%s dBFS rms): if the noise began "+
			"during the sweep, the response from there on is not known to 0.1 dB %s", signed(dBFS(c.noise), 1), outside(bands))
		f.Remedy = "find the source of the noise, stop it, and record again"
	}
	return c.finding(f), valid
}

// outside names the frequencies outside the bands in which noise moves the response by less than
// 0.1 dB, the four widest at most.
func outside(bands []response.Band) string {
	bands = slices.DeleteFunc(slices.Clone(bands), func(b response.Band) bool { return b.Octaves() == 0 })
	if len(bands) == 0 {
		return "at any frequency"
	}
	slices.SortFunc(bands, func(a, b response.Band) int { return cmp.Compare(b.Octaves(), a.Octaves()) })
	bands = bands[:min(len(bands), 4)]
	slices.SortFunc(bands, func(a, b response.Band) int { return cmp.Compare(a.Low, b.Low) })
	var names []string
	for _, b := range bands {
		names = append(names, b.String())
	}
	last := len(names) - 1
	if last == 0 {
		return "outside " + names[0]
	}
	return fmt.Sprintf("outside %s and %s", strings.Join(names[:last], ", "), names[last])
}
