package review

import (
	"fmt"

	"example.com/earnest/response"
)

// NotAsPlayed is the kind of finding about a recording of a signal without a sweep's law that does not
// follow what was played. Of sweeps package fitness says more.
const NotAsPlayed response.FindingKind = "not as it was played"

// mostUnexplained is the share of the power, -15 dB, that may be something else than the response to
// what was played. Noise 15 dB below the signal is as much, and clocks that differ by 30 parts per
// million make as much of ten seconds of pink noise.
const mostUnexplained = 0.03

// checkFollows looks whether a recording follows what was played.
func (p *parts) checkFollows(recording string, channel int) []response.Finding {
	if !(p.unexplained > mostUnexplained) {
		return nil
	}
	f := doubt(recording, NotAsPlayed, response.Warning)
	f.Channel = channel
	f.What = fmt.Sprintf("%.2g %% of the power is not what any response makes of what was played: noise, something else, "+
		"or player and recorder did not run at one speed, which costs the treble", 100*p.unexplained)
	f.Remedy = "play and record with one interface, or play an exponential sweep; " +
		"raise the level if the recording is noisy"
	f.Figures = map[string]response.Figure{"unexplained": {Value: 100 * p.unexplained, Unit: "%"}}
	return []response.Finding{f}
}
