package programme

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// Wow is a delay that wavers.
const Wow response.FindingKind = "wow"

// leastWanderLoss is the loss in dB at wanderTop Hz from which on a delay that wavers is named. Sound
// recordings, filters, rooms and gains that follow the level stay below 0.01 dB. wanderSure is the
// least ratio of the scatter of the delays to that from noise: noise alone reaches 1.6, and a wireless
// link 20 or more.
const (
	leastWanderLoss = 0.1
	wanderTop       = 16000.0
	wanderSure      = 5.0
)

// wanderLoss returns the loss in dB of the mean response at a frequency if the delay is scattered
// normally with an rms of σ: exp(−(2πfσ)²/2).
func (a *Alignment) wanderLoss(frequency float64) float64 {
	turn := 2 * math.Pi * frequency * a.wander
	return decibel.PerNeper * turn * turn / 2
}

// detectWander finds a delay that wavers between the segments.
func (c *Comparison) detectWander(through string) {
	top := min(wanderTop, c.Config.Band.High)
	loss := c.Alignment.wanderLoss(top)
	if !(loss > leastWanderLoss) {
		return
	}
	rms := 1e6 * c.Alignment.wander
	c.Findings = append(c.Findings, response.Finding{Recording: through, Kind: Wow, Severity: response.Warning,
		Time: math.NaN(), Duration: math.NaN(),
		Figures: map[string]response.Figure{"delay": {Value: rms, Unit: "µs"}, "loss": {Value: loss, Unit: "dB"}},
		What: fmt.Sprintf("The delay of %s wavers by %.2g µs rms about that of a steady clock: the treble comes out too low, "+
			"by about %.2g dB at %s. A wireless link, a converter that follows another clock, an effect that moves the sound, "+
			"or a microphone that moves does that: play from a file over a cable, switch off effects, and record again.",
			through, rms, loss, response.FormatFrequency(top))})
}
