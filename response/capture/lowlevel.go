package capture

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// tooLow looks for a recording that is too soft for its noise or its bit depth.
func (c *channel) tooLow() {
	if peak := c.peak - math.Abs(c.mean); c.step > 0 && peak < 1000*c.step {
		c.add(response.Finding{Kind: LowLevel, Severity: unfitIf(peak < 100*c.step), Time: nowhere, Duration: nowhere,
			What:    fmt.Sprintf("reaches %s dBFS, %.0f of the steps of %.0f bits", signed(decibels(peak)), peak/c.step, 1-math.Log2(c.step)),
			Remedy:  "raise the input gain, or record in 24 bits",
			Figures: figures{"peak": figure(decibels(peak), "dBFS"), "steps": figure(peak/c.step, "")}})
		return
	}
	if c.placed != nil {
		c.noisy()
		return
	}
	peak := decibels(c.peak)
	snr := math.Inf(1)
	if c.quiet != nil {
		snr = decibels(c.quantile(0.98) / rmsOf(c.quiet))
	}
	switch {
	case peak < -40:
		c.add(response.Finding{Kind: LowLevel, Severity: unfitIf(peak < -60), Time: nowhere, Duration: nowhere,
			What:   fmt.Sprintf("reaches %s dBFS only", signed(peak)),
			Remedy: "raise the input gain and record again", Figures: figures{"peak": figure(peak, "dBFS")}})
	case snr < 35:
		c.add(response.Finding{Kind: LowLevel, Severity: response.Warning, Time: nowhere, Duration: nowhere,
			What:   fmt.Sprintf("is %.0f dB above its noise where it is loud", snr),
			Remedy: "raise the level of playback, or find a quieter place, and record again", Figures: figures{"signal to noise": figure(snr, "dB")}})
	}
}

// noisy works out where noise moves the response by less than 0.1 dB.
func (c *channel) noisy() {
	quiet := c.quietSpectrum()
	if quiet == nil {
		return
	}
	s := c.ref.stimulus.Sweep()
	played := response.Band{Low: s.Start(), High: s.Stop()}
	if c.cutoff > 0 {
		played.High = c.cutoff / 1.1
	}
	c.valid = c.quietBand(played)
	inner := response.Band{Low: played.Low * thirdOctave, High: played.High / thirdOctave}
	if c.valid.Low <= inner.Low && c.valid.High >= inner.High {
		return
	}
	noise := decibels(rmsOf(c.quiet))
	c.add(response.Finding{Kind: LowLevel, Severity: unfitIf(c.valid.Octaves() < played.Octaves()/2), Time: nowhere, Duration: nowhere,
		What:    fmt.Sprintf("has too much noise (%s dBFS rms) for a response to 0.1 dB but for %v", signed(noise), c.valid),
		Remedy:  "play louder, take a longer sweep or more repeats, or find a quieter place",
		Figures: figures{"noise": figure(noise, "dBFS"), "from": figure(c.valid.Low, "Hz"), "to": figure(c.valid.High, "Hz")}})
}
