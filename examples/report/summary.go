package report

import (
	"fmt"
	"math"

	"example.com/earnest/distortion"
	"example.com/earnest/examples/session"
	"example.com/earnest/response"
	"example.com/earnest/target"
)

var smoothingWords = fmt.Sprintf("1/%d octave, power", session.Smoothing)

// matchBand is where the two sides are compared in a word: below it the fit on
// the rig decides, above it a millimetre does.
var matchBand = response.Band{Low: 100, High: 8000}

// Summary is the answer in three sentences.
func Summary(m *session.Measurement, j *session.Judgement) []string {
	d := j.Mean
	return []string{
		fmt.Sprintf("Against the %s target, on the rig “%s”, %s deviates by %s over %v, with %.0f %% of it, octave by octave, within tolerance; it strays furthest at %s, by %+.1f dB.",
			j.Target.Name, m.Session.Rig.Name, m.Session.Headphones.Name, rms(d), d.Band, 100*d.Share.Value,
			response.FormatFrequency(d.Widest.Frequency), d.Widest.Level.Value),
		matchSentence(m),
		distortionSentence(m),
	}
}

// rms is a deviation in words.
func rms(d target.Deviation) string {
	f := figure(d.RMS)
	f.Unit = "dB rms"
	return interval(f)
}

func matchSentence(m *session.Measurement) string {
	if len(m.Match.Level) == 0 {
		return "One side was recorded, so how well left matches right is not known."
	}
	var sum, weight float64
	for i, w := range m.Match.OctaveWeights() {
		if v := m.Match.Level[i]; matchBand.Contains(m.Match.Frequency[i]) && !math.IsNaN(v) {
			sum += w * v * v
			weight += w
		}
	}
	if weight == 0 {
		return fmt.Sprintf("How well left matches right is not known over %v.", matchBand)
	}
	return fmt.Sprintf("Left and right differ by %.1f dB rms over %v.", math.Sqrt(sum/weight), matchBand)
}

func distortionSentence(m *session.Measurement) string {
	side := m.Sides()[0]
	hs := side.Seatings[0].Harmonics
	thd := hs.THD(distortion.ToFundamental)
	return fmt.Sprintf("Total harmonic distortion on the %s is %s at 1 kHz and %s at 100 Hz, relative to the fundamental, with the sweep at %.1f dBFS.",
		side.Name, Percent(thd.Figure(1000)), Percent(thd.Figure(100)), m.Stimulus.Sweep().Level())
}
