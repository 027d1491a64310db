package lesson

import (
	"fmt"
	"math"
	"regexp"

	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
)

// notKnown is what is read where a figure is missing.
const notKnown = "With these settings the figure is not known: lengthen the window after the peak."

// typeset is Sprintf with the sign for the hyphen before a number, or notKnown
// when one of the figures is.
func typeset(format string, a ...any) string {
	for _, v := range a {
		if f, ok := v.(float64); ok && (math.IsNaN(f) || math.IsInf(f, 0)) {
			return notKnown
		}
	}
	return negative.ReplaceAllString(fmt.Sprintf(format, a...), "${1}−${2}")
}

var negative = regexp.MustCompile(`(^|[\s(])-(\d)`)

func readLogarithmic(r *bench.Result) string {
	bass, treble := r.SNR[0], r.SNR[8] // 31.5 Hz and 8 kHz
	logarithmic, linear := r.TimeInBand(bass.Band)
	loss := decibel.OfPower(logarithmic / linear)
	return typeset("This sweep stays %.0f ms on each octave, "+
		"and its response stands %.0f dB above the noise around 31.5 Hz and %.0f dB around 8 kHz. "+
		"As long a sweep rising evenly in hertz would pass the octave around 31.5 Hz in %.1f ms: "+
		"with %.0f dB less energy, the response would stand %.0f dB above the noise there.",
		1000*r.Sweep.HarmonicAdvance(2), bass.Level, treble.Level, 1000*linear, loss, bass.Level-loss)
}

func readDirect(r *bench.Result) string {
	low, high := r.Error.Curve.At(25), r.Error.Curve.At(18000)
	if r.Settings.Direct == 1 {
		return typeset("Divided by the direct recording, "+
			"the response is %.1f dB off at 25 Hz and %.1f dB off at 18 kHz. Look how far off it is without.", low, high)
	}
	return typeset("Without the direct recording the response is %+.1f dB off at 25 Hz and %+.1f dB off at 18 kHz. The "+
		"pair is innocent of both.", low, high)
}

func readSmoothing(r *bench.Result) string {
	const f = 6300
	truth, shown := r.Truth.At(f), r.Response.At(f)
	if hidden := truth - shown; hidden < 0.1 {
		return typeset("In truth the resonance at 6.3 kHz reaches %+.1f dB. This curve shows %+.1f dB and hides "+
			"nothing of it.", truth, shown)
	}
	return typeset("In truth the resonance at 6.3 kHz reaches %+.1f dB. This curve shows %+.1f dB and hides %.1f "+
		"dB of it.", truth, shown, truth-shown)
}

func readHarmonics(r *bench.Result) string {
	second, third := 1000*r.Sweep.HarmonicAdvance(2), 1000*r.Sweep.HarmonicAdvance(3)
	verdict := "leaves both out"
	switch before := r.Settings.Before; {
	case before >= third:
		verdict = "lets both in"
	case before >= second:
		verdict = "lets the second in"
	}
	return typeset("The second harmonic stands %.0f ms before the peak, "+
		"the third %.0f ms. The window begins %.0f ms before the peak and %s: the response is off by at most %.1f dB.",
		second, third, r.Settings.Before, verdict, math.Abs(r.Error.Max.Level.Value))
}

func readNoise(r *bench.Result) string {
	if r.Harmonics == nil {
		return "This sweep is too short to tell harmonics apart: lengthen it."
	}
	figure, truth := r.Harmonics.Harmonic(2, 1000), r.TrueHarmonic(2, 1000)
	if figure.Below {
		return typeset("At 1 kHz it reads %.0f dB; "+
			"noise alone would read %.0f dB. It is noise, "+
			"and all that is known is that the pair's own is at most %.0f dB. In truth it is %.0f dB.",
			figure.AsRead, figure.Floor, figure.Bound, truth)
	}
	return typeset("At 1 kHz it reads %.0f dB, %.0f dB above what noise alone would read: "+
		"it is the pair's. In truth it is %.0f dB.",
		figure.AsRead, figure.AsRead-figure.Floor, truth)
}

func readSeatings(r *bench.Result) string {
	half := r.Average.Confidence(0.95)
	if half == nil {
		return typeset("One seating, and it is %.1f dB rms away from the truth. The measurement itself has no means of "+
			"knowing that.", r.Error.RMS.Value)
	}
	return typeset("The mean of %d seatings is known to ±%.1f dB over the band (95 %%, root mean square), "+
		"and is %.1f dB rms away from the truth.",
		// the grid has as many points in every octave
		r.Average.Count, math.Sqrt(statistic.MeanSquare(half)), r.Error.RMS.Value)
}

func readOvernight(r *bench.Result) string {
	half := r.Average.Confidence(0.95)
	if half == nil {
		return "One seating does not tell how much the next would differ, so that no change can be told from it."
	}
	mean := math.Sqrt(statistic.MeanSquare(half))
	return typeset("The mean of %d seatings is known to ±%.1f dB over the band (95 %%, root mean square). The difference of two "+
		"such means is known to about ±%.1f dB: a smaller change overnight would hardly be seen.",
		r.Average.Count, mean, math.Sqrt2*mean)
}

func readRipple(r *bench.Result) string {
	g := decibel.Amplitude(r.Settings.Reflection)
	if g == 0 {
		return "There is no reflection, and so no ripple of it: try one."
	}
	return typeset("The reflection at %.0f dB adds to the response at some frequencies and takes away at others: "+
		"from %+.2f to %+.2f dB.",
		r.Settings.Reflection, decibel.OfAmplitude(1+g), decibel.OfAmplitude(1-g))
}
