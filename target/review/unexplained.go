package review

import (
	"fmt"

	"example.com/earnest/response"
)

// NotAsPlayed is the kind of finding about a recording that does not follow the played signal, if
// that signal is not a sweep. For sweeps, package fitness has detectors.
const NotAsPlayed response.FindingKind = "not as it was played"

// mostUnexplained is the largest accepted share of the power that is not a response to the played
// signal, -15 dB. Noise 15 dB below the signal reaches it, and so do clocks that differ by 30 parts
// per million with ten seconds of pink noise.
const mostUnexplained = 0.03

// checkFollows checks whether a recording follows the played signal.
func (p *parts) checkFollows(recording string, channel int) []response.Finding {
	if !(p.unexplained > mostUnexplained) {
		return nil
	}
	f := doubt(recording, NotAsPlayed, response.Warning)
	f.Channel = channel
	f.What = fmt.Sprintf("%.2g %% of the power is not a linear response to the played signal: noise or "+
		"another sound, or player and recorder ran at different speeds, which makes the treble too "+
		"low", 100*p.unexplained)
	f.Remedy = "play and record with one interface, or play an exponential sweep; " +
		"raise the level if the recording is noisy"
	f.Figures = map[string]response.Figure{"unexplained": {Value: 100 * p.unexplained, Unit: "%"}}
	return []response.Finding{f}
}
