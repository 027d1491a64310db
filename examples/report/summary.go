package report

import (
	"strings"

	"example.com/earnest/target"
	"example.com/earnest/target/claim"
	"example.com/earnest/target/review"
)

// smoothing states how the response is smoothed.
func (l language) smoothing() string { return l.Text("response.smoothing", review.Smoothing) }

// summary returns the answer in a few sentences.
func (l language) summary(r *review.Results) []string {
	j := r.Judgement
	d := j.Mean
	sentences := []string{
		l.Text("summary.deviation", j.Target.Name, l.rms(d), l.Band(d.Band), l.Share(d.Share)+" %",
			l.Signed(d.Max.Level)+" dB", l.plainHz(d.Max.Frequency)),
		l.matchSentence(r),
		l.distortionSentence(r),
	}
	sentences = append(sentences, l.changeSentences(r)...)
	sentences = append(sentences, l.verdictSentences(j)...)
	if !seatedOften(r) {
		sentences = append(sentences,
			l.Text("summary.once"))
	}
	for i, s := range sentences {
		sentences[i] = minus(s)
	}
	return sentences
}

// verdictSentences returns the verdicts on the maker's figures and on uses, and the place among
// other pairs, as far as they were judged.
func (l language) verdictSentences(j *review.Judgement) []string {
	var sentences []string
	if len(j.Claims) > 0 {
		count := map[claim.Outcome]int{}
		for _, v := range j.Claims {
			count[v.Outcome]++
		}
		sentences = append(sentences,
			l.Text("summary.claims", count[claim.Met], count[claim.NotMet], count[claim.CannotTell]))
	}
	var verdicts []string
	for _, one := range []struct {
		answer target.Answer
		key    string
	}{{target.Yes, "summary.good"}, {target.No, "summary.not-good"}, {target.CannotTell, "summary.undecided"}} {
		var uses []string
		for _, v := range j.Uses {
			if v.Answer == one.answer {
				uses = append(uses, l.Use(v.Use))
			}
		}
		if len(uses) > 0 {
			verdicts = append(verdicts, l.Text(one.key, l.listed(uses)))
		}
	}
	if len(verdicts) > 0 {
		sentences = append(sentences, l.Text("summary.uses", strings.Join(verdicts, "; ")))
	}
	if j.Ranking == nil {
		return sentences
	}
	for _, p := range j.Ranking.Places {
		if p.Pair != 0 {
			continue
		}
		rank := l.Text("summary.rank", p.Best, len(j.Ranking.Places))
		if p.Worst != p.Best {
			rank = l.Text("summary.ranks", p.Best, p.Worst, len(j.Ranking.Places))
		}
		sentences = append(sentences, rank)
	}
	return sentences
}

// listed joins texts with commas and "and".
func (l language) listed(things []string) string {
	if len(things) == 1 {
		return things[0]
	}
	return strings.Join(things[:len(things)-1], ", ") + l.Text("list.and") + things[len(things)-1]
}

func (l language) rms(d target.Deviation) string {
	return l.written(d.RMS, " dB rms")
}

func (l language) matchSentence(r *review.Results) string {
	d := r.Judgement.Difference
	switch {
	case len(r.Difference.Level) == 0:
		return l.Text("match.one")
	case d == nil:
		return l.Text("match.not-known", l.Band(review.MatchBand))
	}
	return l.Text("match.summary", l.rms(*d), l.Band(d.Band))
}

func (l language) distortionSentence(r *review.Results) string {
	side := r.Sides()[0]
	switch {
	case r.Config.Stimulus == nil:
		return l.Text("distortion.music")
	case r.Config.Stimulus.Sweep() == nil:
		return l.Text("distortion.other")
	}
	return l.Text("summary.distortion", l.Side(side.Name), r.Config.Stimulus.Level(),
		l.thdAt(side, 1000), l.thdAt(side, 100))
}

func (l language) thdAt(side *review.Side, f float64) string {
	return l.percent(side.THD(f))
}

// RMS formats the rms of a deviation with its 95 % interval.
func RMS(d target.Deviation) string { return english.rms(d) }
