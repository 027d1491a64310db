package watch

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report"
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/target/review"
)

// verdict is the text about a take: a word large enough to read from the rig, its role, the
// finding, and one thing to do next.
type verdict struct {
	Word, Class string // the class is fit, look, again, or ask
	What, Do    string
}

// verdict returns the verdict on a take.
func (t *take) verdict(p review.Progress) verdict {
	is, w := t.is(), t.worst()
	what := report.Sentence(t.what())
	switch {
	case t.asked():
		return verdict{"Which?", "ask", report.Sentence(t.identity.Candidates[0].Why),
			"Say what it is: press its number."}
	case t.sameAs != "":
		return verdict{"Again", "again", what + " It is the same recording as " + t.sameAs + ", to the last byte.",
			"Record again, and save the recording under a new name."}
	case t.identity.CutShort:
		return verdict{"Again", "again", what + " It ends before the stimulus does.", "Record again until " +
			"the stimulus has ended."}
	case is.Role == review.PlayedFile:
		return verdict{"Play it", "look", what + " It is the played file, not a recording.", "Play it and " +
			"record the result."}
	case is.Role == review.PartAlone:
		return verdict{"Again", "again", report.Sentence(is.Why),
			"Play the stimulus from its beginning, and record again."}
	case is.Role == review.NothingToReview:
		return verdict{"Not used", "look", report.Sentence(is.Why), "Do nothing if it belongs to something " +
			"else; otherwise check the recording."}
	case w != nil && !t.fit():
		return verdict{"Again", "again", what + " " + report.Sentence(w.What), t.remedy(w.Kind, w.Remedy)}
	case t.contradicted != "":
		return verdict{"Look", "look", report.Sentence(t.contradicted), "One of the two is wrong: correct " +
			"the name in session.toml, or correct the cable and record again."}
	case t.leaks():
		return verdict{"Press", "again",
			fmt.Sprintf("%s It has %.0f dB less bass than an earlier seating: the seal leaks.", what, t.leak),
			"Press the cup down, close the gap, and record again. If the pair always fits like this, accept it."}
	case t.soft():
		return verdict{"Raise", "look",
			fmt.Sprintf("%s It is usable but quiet: its peak is %s.", what, decibels(t.peak)),
			fmt.Sprintf("Raise the amplifier by %.0f dB, no more, and record again. "+
				"If that is not possible, accept it.", t.raise())}
	case w != nil:
		return verdict{"Look", "look", what + " " + report.Sentence(w.What),
			report.Sentence(w.Remedy) + " If that is not possible, it is usable with this doubt."}
	}
	if is.Role == review.LonePiece {
		return verdict{"Good", "fit", what + " Its other recording is missing.",
			"Record the same piece the other way too: direct or through the headphones."}
	}
	next := "Everything is recorded."
	if s := nextStep(p); s != nil {
		next = "Next: " + s.What + "."
	}
	return verdict{"Good", "fit", what, next}
}

// what states the role of a take, if it is certain.
func (t *take) what() string {
	if t.chosen == nil && t.identity.Question != "" {
		return "its role is not known yet"
	}
	return t.is().String()
}

// raise returns the next step of the level in dB: at most 6, and not beyond the middle of the
// recommended range of peaks.
func (t *take) raise() float64 { return math.Max(1, math.Min(6, -13-t.peak)) }

// remedy returns one thing to do about a finding: a specific one where the size matters, otherwise
// the finding's own.
func (t *take) remedy(kind any, own string) string {
	switch kind {
	case fitness.Clipping, fitness.FlatTops:
		return "Turn the input down by 6 dB, and record again."
	case fitness.CutTail:
		return "The end is missing: record again until the stimulus has ended."
	case fitness.SilentChannel:
		return "Check the cable, the input and the armed channels, and record again."
	case fitness.LowLevel:
		return fmt.Sprintf("Turn it up by %.0f dB, and record again.", t.raise())
	}
	if own == "" {
		return "Record it again."
	}
	return report.Sentence(own)
}

// cautions returns the cautions before anything is played through the pair, the same as on the
// stimulus sheet, and first the advice about the level, from the last recording through the pair.
func (d *desk) cautions() (first string, all []string) {
	var last *take
	for _, t := range d.takes() {
		if t.is().Role == review.ThroughSweep && !t.asked() {
			last = t
		}
	}
	steps := true
	switch {
	case last == nil:
		first = "First step: set the amplifier to its lowest level. Play, record, and look here before you raise it."
	case !last.fit():
		first = "Stay at this level, or go lower: the last recording was not fit."
	case last.soft():
		first = fmt.Sprintf("The last recording was fit at %s: raise the amplifier by %.0f dB, no "+
			"more.", decibels(last.peak),
			last.raise())
	default:
		first = fmt.Sprintf("The level is right (%s): do not change any gain from here on.", decibels(last.peak))
		steps = false
	}
	all = []string{"Take the headphones off your head. A sweep can hurt before it sounds loud."}
	if steps {
		all = append(all, "Start with the headphone amplifier all the way down. Raise it in steps of 6 dB at most, "+
			"each only after the one before was fit.")
	}
	return first, append(all, "Stop at the first rattle, smell or sign of strain.",
		"What levels are safe for how long is set by local rules. Ask a professional about anything "+
			"that concerns your hearing.")
}

// nextStep returns the first step that is not done; nil if all are done.
func nextStep(p review.Progress) *review.Step {
	for _, s := range p.Steps() {
		if !s.Done {
			return &s
		}
	}
	return nil
}

// decibels formats a peak.
func decibels(peak float64) string {
	return plot.Minus(fmt.Sprintf("%.0f dBFS", peak))
}

// lacks returns what a report made now would lack.
func lacks(p review.Progress) (all []string) {
	for _, s := range p.Steps() {
		if !s.Done {
			all = append(all, s.What)
		}
	}
	return all
}
