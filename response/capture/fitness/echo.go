package fitness

import (
	"fmt"
	"math"
	"math/cmplx"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/statistic"
	"example.com/earnest/internal/taper"
	"example.com/earnest/response"
)

// A copy of the sound τ seconds later at g times the level multiplies the response by 1 + g
// exp(−j2πfτ). The logarithm of that ripples by g cos 2πfτ: a peak of the cepstrum at τ, which
// neither the smooth response of headphones nor the diffuse sound of a room has. (Bogert, Healy,
// Tukey, in Time Series Analysis, 1963; from memory.)
const (
	echoLow, echoHigh = 60.0, 18000.0 // Hz
	echoFirst         = 0.005         // s: earlier reflections of a plate may be as strong
	echoRoom          = 0.012         // s, up to which reflections of a room may have echoRoomLevel
	echoRoomLevel     = 0.08
	echoLevel         = 0.015
	echoStanding      = 8 // times the median of the values around it
)

// echo returns the delay in seconds of the strongest echo, and its level as a factor, or 0 if there
// is none.
func (c *channel) echo() (late, level float64) {
	s := c.swept()
	plan := c.plans.Plan(fft.FastLen(len(s.linear)))
	h := make([]float64, len(s.linear))
	before, after := linearBefore*c.fs, 0.05*c.fs
	for i, v := range s.linear {
		h[i] = v * taper.Rise(float64(i)/(before/2)) * taper.Rise(float64(len(h)-i)/after)
	}
	bin := c.fs / float64(plan.Len())
	low, high := int(echoLow/bin), int(min(echoHigh, 0.9*c.Stimulus.Sweep().Stop())/bin)
	ripple, window := make([]float64, plan.Len()), taper.Hann(high-low)
	var mean, weight float64
	spectrum := plan.Forward(nil, h)[low:high]
	for i, v := range spectrum {
		ripple[i] = math.Log(max(cmplx.Abs(v), 1e-12))
		mean += window[i] * ripple[i]
		weight += window[i]
	}
	for i := range spectrum {
		ripple[i] = 2 * window[i] * (ripple[i] - mean/weight) / weight
	}
	cepstrum := make([]float64, plan.Bins())
	for k, v := range plan.Forward(nil, ripple) {
		cepstrum[k] = cmplx.Abs(v)
	}
	// Bins of the cepstrum are 1/fs apart.
	beside := int(0.004 * c.fs)
	for k := int(echoFirst * c.fs); k < min(len(cepstrum), len(h)-int(before+after)); k++ {
		least := echoLevel
		if !c.Direct && float64(k) < echoRoom*c.fs {
			least = echoRoomLevel
		}
		v := cepstrum[k]
		if v > max(level, least) && v >= cepstrum[k-1] &&
			v > echoStanding*statistic.Median(cepstrum[max(0, k-beside):min(len(cepstrum), k+beside)]) {
			late, level = float64(k)/c.fs, v
		}
	}
	return late, level
}

// detectEcho finds an echo, feedback or a monitor loop: the played or the recorded sound comes
// again.
func detectEcho(c *channel) []response.Finding {
	late, level := c.echo()
	if level == 0 {
		return nil
	}
	severity := unfitIf(level > 4*echoLevel)
	return c.finding(response.Finding{Kind: Echo, Severity: severity, Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("repeats its sound %.3g ms later, %s dB softer: an echo, feedback or a monitor loop; "+
			"the response ripples by up to %.2g dB",
			1000*late, signed(-decibel.OfAmplitude(level), 0), decibel.PerNeper*level),
		Remedy: "switch off monitoring of the recorder's input and effects, " +
			"keep the microphone from hearing loudspeakers, and record again",
		Figures: figures{"delay": figure(late, "s"), "level": figure(decibel.OfAmplitude(level), "dB")}})
}
