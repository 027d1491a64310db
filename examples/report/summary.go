package report

import (
	"fmt"

	"example.com/earnest/response"
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

var smoothingWords = fmt.Sprintf("1/%d octave, power", review.Smoothing)

// summary is the answer in three sentences, or four.
func summary(r *review.Results) []string {
	j := r.Judgement
	d := j.Mean
	sentences := []string{
		fmt.Sprintf("Against the %s target, on the rig “%s”, %s deviates by %s over %v, with %s of it, octave by octave, within tolerance; it strays furthest at %s, by %s.",
			j.Target.Name, r.Config.Rig, r.About.Name, RMS(d), d.Band, Share(d.Share),
			response.FormatFrequency(d.Max.Frequency), Signed(d.Max.Level)),
		matchSentence(r),
		distortionSentence(r),
	}
	if !seatedOften(r) {
		sentences = append(sentences, "It was put on once: the intervals take in the noise and what is stated, and not how much the next seating would differ.")
	}
	for i, s := range sentences {
		sentences[i] = minus(s)
	}
	return sentences
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
	if r.Config.Stimulus.Sweep() == nil {
		return "Distortion is not known: it takes an exponential sweep, and another signal was played."
	}
	return fmt.Sprintf("Total harmonic distortion on the %s is %s at 1 kHz and %s at 100 Hz, relative to the fundamental, with the sweep at %.1f dBFS.",
		side.Name, thdAt(side, 1000), thdAt(side, 100), r.Config.Stimulus.Level())
}

func thdAt(side *review.Side, f float64) string {
	return Percent(side.THD(f))
}
