package fitness

import (
	"fmt"
	"math"

	"example.com/earnest/response"
)

// reportSilence reports that a channel is silent, and in which way.
func (c *channel) reportSilence(how string) response.Finding {
	level := dBFS(math.Sqrt(max(0, c.rms*c.rms-c.offset*c.offset)))
	f := c.finding(response.Finding{Kind: SilentChannel, Severity: response.Unfit, Time: 0,
		Duration: float64(len(c.x)) / c.fs,
		What:     how, Remedy: "check the cable, the input and its gain, and record again"})[0]
	if !math.IsInf(level, 0) {
		f.What += fmt.Sprintf(" (%s dBFS rms)", signed(level, 1))
		f.Figures = figures{"level": figure(level, "dBFS")}
	}
	return f
}

// sounds reports whether a sound stands out of the constant content of a channel, or is at least
// not far below the other channels.
func (c *channel) sounds(loudest float64) bool {
	steady := c.quantile(0.99) < 2*c.quantile(0.05)
	return !(steady && (c.rms < loudest/300 || c.peak < 3e-3))
}

// startedLate returns the number of seconds by which the recording begins after the first sweep of
// a channel's side, from the sweep in another channel, or 0 if it does not.
func (r *recording) startedLate(c *channel) float64 {
	for _, d := range r.channels {
		if d == c || d.placed == nil {
			continue
		}
		side := r.said(c.number)
		if side == 0 {
			side = d.other()
		}
		if late := -(d.start + float64(r.Stimulus.Sweeps(side)[0].Start)); late > 0 {
			return late / d.fs
		}
	}
	return 0
}

// detectSilentOrMissing finds channels without the sound that they should hold.
func detectSilentOrMissing(r *recording) (found []response.Finding) {
	loudest, placed := 0.0, false
	for _, c := range r.channels {
		loudest = max(loudest, c.rms)
		placed = placed || c.placed != nil
	}
	for _, c := range r.channels {
		if c.silent {
			found = append(found, c.reportSilence("is silent"))
			continue
		}
		if c.placed != nil || c.fails() >= 0 || !r.sought() && c.sounds(loudest) {
			continue
		}
		early, late := detectEarlyEnd(c), r.startedLate(c)
		switch {
		case early != nil && !(late > 0):
			found = append(found, early...)
		case !r.sought() || placed && c.rms < loudest/10 && !(late > 0):
			found = append(found, c.reportSilence("holds nothing but noise"))
		default:
			f := r.finding(response.Finding{Kind: NoSweep, Severity: response.Unfit, Channel: c.number,
				Time: nowhere, Duration: nowhere,
				What:   r.label(c.number) + " does not hold the sweep that was played",
				Remedy: "check that this is a recording of that stimulus"})
			if late > 0 {
				f.What += fmt.Sprintf(" from its beginning on: the recorder was started %.2f s after it began", late)
				f.Remedy = "start the recorder before the player, and record the whole stimulus"
				f.Figures = figures{"late": figure(late, "s")}
			} else if rate := r.OtherRate(c.number); rate != 0 {
				f.What += fmt.Sprintf(": it holds it as recorded at %d Hz and labelled %d Hz", rate, r.Recording.SampleRate)
				f.Remedy = "set player and recorder to the rate of the session, and record again"
				f.Figures = figures{"recorded at": figure(float64(rate), "Hz")}
			}
			found = append(found, f)
		}
	}
	return found
}
