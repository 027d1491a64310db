package watch

import (
	"fmt"
	"math"

	"example.com/earnest/examples/report"
	"example.com/earnest/examples/report/plot"
	"example.com/earnest/response/capture/fitness"
	"example.com/earnest/target/review"
)

// verdict is what is said of a take: a word that can be read from the rig, what it is, what is found, and one
// thing to do now.
type verdict struct {
	Word, Class string // the class is fit, look, again, or ask
	What, Do    string
}

// verdict says whether a take will do.
func (t *take) verdict(p review.Progress) verdict {
	is, w := t.is(), t.worst()
	what := report.Sentence(t.what())
	switch {
	case t.asked():
		return verdict{"Which?", "ask", report.Sentence(t.identity.Candidates[0].Why),
			"Say what it is: press its number."}
	case t.sameAs != "":
		return verdict{"Again", "again", what + " It is the same recording as " + t.sameAs + ", to the last byte.",
			"Record it, and save what was recorded under a name of its own."}
	case t.identity.CutShort:
		return verdict{"Again", "again", what + " It stops before the stimulus does.", "Let it play " +
			"to its end, and record again."}
	case is.Role == review.PlayedFile:
		return verdict{"Play it", "look", what + " Nothing was recorded in it.", "Play it, and record what comes back."}
	case is.Role == review.PartAlone:
		return verdict{"Again", "again", report.Sentence(is.Why),
			"Play the stimulus from its beginning, and record again."}
	case is.Role == review.NothingToReview:
		return verdict{"Not used", "look", report.Sentence(is.Why), "Nothing, if it belongs to something else; " +
			"otherwise check what is recorded."}
	case w != nil && !t.fit():
		return verdict{"Again", "again", what + " " + report.Sentence(w.What), t.remedy(w.Kind, w.Remedy)}
	case t.contradicted != "":
		return verdict{"Look", "look", report.Sentence(t.contradicted), "One of the two is wrong: " +
			"correct the name in session.toml, or the cable, and record again."}
	case t.leaks():
		return verdict{"Press", "again",
			fmt.Sprintf("%s It has %.0f dB less bass than a seating before: the seal leaks.", what, t.leak),
			"Press the cup down, close the gap, and record again. If the pair fits so, take it all the same."}
	case t.soft():
		return verdict{"Raise", "look",
			fmt.Sprintf("%s It will do, but it is quiet: its peak is %s.", what, decibels(t.peak)),
			fmt.Sprintf("Raise the amplifier by %.0f dB, no more, and record again. "+
				"If it can do no more, take it all the same.", t.raise())}
	case w != nil:
		return verdict{"Look", "look", what + " " + report.Sentence(w.What),
			report.Sentence(w.Remedy) + " If that cannot be, it will do with this doubt."}
	}
	if is.Role == review.LonePiece {
		return verdict{"Good", "fit", what + " Nothing else here is a recording of it.",
			"Record the same piece the other way too: direct, or through the headphones."}
	}
	next := "Everything is there."
	if s := nextStep(p); s != nil {
		next = "Next: " + s.What + "."
	}
	return verdict{"Good", "fit", what, next}
}

// what says what a take is, as far as that is sure.
func (t *take) what() string {
	if t.chosen == nil && t.identity.Question() != "" {
		return "not known yet what it is"
	}
	return t.is().String()
}

// raise is the next step in dB: 6 at the most, and not beyond the middle of where peaks should be.
func (t *take) raise() float64 { return math.Max(1, math.Min(6, -13-t.peak)) }

// remedy is one thing to do about a finding: ours where it depends on how far it is off, else the finding's own.
func (t *take) remedy(kind any, own string) string {
	switch kind {
	case fitness.Clipping, fitness.FlatTops:
		return "Turn the input down by 6 dB, and record again."
	case fitness.CutTail:
		return "The end is missing: let it play to its end, and record again."
	case fitness.SilentChannel:
		return "Check the cable, the input and what is armed, and record again."
	case fitness.LowLevel:
		return fmt.Sprintf("Turn it up by %.0f dB, and record again.", t.raise())
	}
	if own == "" {
		return "Record it again."
	}
	return report.Sentence(own)
}

// nextStep is the first that is not done; nil where all are.
func nextStep(p review.Progress) *review.Step {
	for _, s := range p.Steps() {
		if !s.Done {
			return &s
		}
	}
	return nil
}

// cautions come before whatever is played through the pair (as the sheet beside a stimulus has them), with what
// to do about the level: where it stands, the last of the recordings that were made through the pair tells.
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
		first = "First step: the amplifier at its lowest. Play, record, and look here before you raise it."
	case !last.fit():
		first = "Stay at this level, or go lower: the last recording was not fit."
	case last.soft():
		first = fmt.Sprintf("The last one was fit at %s: raise the amplifier by %.0f dB, no more.", decibels(last.peak),
			last.raise())
	default:
		first = fmt.Sprintf("This is the level (%s): leave every gain alone from here on.", decibels(last.peak))
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

// decibels is a peak in words.
func decibels(peak float64) string {
	return plot.Minus(fmt.Sprintf("%.0f dBFS", peak))
}

// lacks is what a report made now would lack.
func lacks(p review.Progress) (all []string) {
	for _, s := range p.Steps() {
		if !s.Done {
			all = append(all, s.What)
		}
	}
	return all
}
