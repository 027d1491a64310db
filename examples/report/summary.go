package report

import (
	"fmt"
	"strings"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

var smoothingWords = fmt.Sprintf("1/%d octave, power", review.Smoothing)

// summary is the answer in a few sentences.
func summary(r *review.Results) []string {
	j := r.Judgement
	d := j.Mean
	sentences := []string{
		fmt.Sprintf("Against the %s target, on the rig “%s”, %s deviates by %s over %v, with %s of it, octave by octave, "+
			"within tolerance; it strays furthest at %s, by %s.",
			j.Target.Name, r.Config.Rig, r.About.Name, RMS(d), d.Band, Share(d.Share),
			response.FormatFrequency(d.Max.Frequency), Signed(d.Max.Level)),
		matchSentence(r),
		distortionSentence(r),
	}
	sentences = append(sentences, verdictSentences(j)...)
	if !seatedOften(r) {
		sentences = append(sentences,
			"It was put on once: the intervals take in the noise and what is stated, "+
				"and not how much the next seating would differ.")
	}
	for i, s := range sentences {
		sentences[i] = minus(s)
	}
	return sentences
}

// verdictSentences say what became of the maker's figures, what the pair is good for, and its place
// among others, each where it was judged.
func verdictSentences(j *review.Judgement) []string {
	var sentences []string
	if n := len(j.Claims); n > 0 {
		count := map[claim.Outcome]int{}
		for _, v := range j.Claims {
			count[v.Outcome]++
		}
		sentences = append(sentences,
			fmt.Sprintf("The maker’s %d figures: %d met, %d not met, %d that this measurement cannot tell.",
				n, count[claim.Met], count[claim.NotMet], count[claim.CannotTell]))
	}
	var verdicts []string
	for _, one := range []struct {
		answer target.Answer
		words  string
	}{{target.Yes, "good for "}, {target.No, "not good for "}, {target.CannotTell, "undecided for "}} {
		var uses []string
		for _, v := range j.Uses {
			if v.Answer == one.answer {
				uses = append(uses, v.Use)
			}
		}
		if len(uses) > 0 {
			verdicts = append(verdicts, one.words+listed(uses))
		}
	}
	if len(verdicts) > 0 {
		sentences = append(sentences, "It is "+strings.Join(verdicts, "; ")+".")
	}
	if j.Ranking == nil {
		return sentences
	}
	for _, p := range j.Ranking.Places {
		if p.Pair != 0 {
			continue
		}
		place := fmt.Sprintf("place %d", p.Best)
		if p.Worst != p.Best {
			place = fmt.Sprintf("places %d to %d", p.Best, p.Worst)
		}
		sentences = append(sentences, fmt.Sprintf("Among %d pairs it takes %s.", len(j.Ranking.Places), place))
	}
	return sentences
}

// listed is things with commas and "and".
func listed(things []string) string {
	if len(things) == 1 {
		return things[0]
	}
	return strings.Join(things[:len(things)-1], ", ") + " and " + things[len(things)-1]
}

// RMS is a deviation in words: its rms with the 95 % interval.
func RMS(d target.Deviation) string {
	return written(d.RMS, " dB rms")
}

func matchSentence(r *review.Results) string {
	d := r.Judgement.Difference
	switch {
	case len(r.Difference.Level) == 0:
		return "One side was recorded, so how well left matches right is not known."
	case d == nil:
		return fmt.Sprintf("How well left matches right is not known over %v.", review.MatchBand)
	}
	return fmt.Sprintf("Left and right differ by %s over %v.", RMS(*d), d.Band)
}

func distortionSentence(r *review.Results) string {
	side := r.Sides()[0]
	switch {
	case r.Config.Stimulus == nil:
		return "The response is from music and speech alone, so distortion is not known: it takes an exponential sweep."
	case r.Config.Stimulus.Sweep() == nil:
		return "Distortion is not known: it takes an exponential sweep, and another signal was played."
	}
	return fmt.Sprintf("Total harmonic distortion on the %s is %s at 1 kHz and %s at 100 Hz, "+
		"relative to the fundamental, with the sweep at %.1f dBFS.",
		side.Name, thdAt(side, 1000), thdAt(side, 100), r.Config.Stimulus.Level())
}

func thdAt(side *review.Side, f float64) string {
	return Percent(side.THD(f))
}
