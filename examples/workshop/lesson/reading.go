package lesson

import (
	"fmt"
	"math"
	"regexp"

	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/statistic"
)

// notKnown is the reading if a figure is missing.
const notKnown = "With these settings the figure is not known: lengthen the window after the peak."

// typeset is Sprintf with a minus sign for the hyphen before a number. It returns notKnown if a
// figure is not known.
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
	return typeset("This sweep spends %.0f ms in each octave, and its response is %.0f dB above the noise "+
		"around 31.5 Hz and %.0f dB around 8 kHz. "+
		"A linear sweep of the same length would pass the octave around 31.5 Hz in %.1f ms: with %.0f dB "+
		"less energy, the response would be %.0f dB above the noise there.",
		1000*r.Sweep.HarmonicAdvance(2), bass.Level, treble.Level, 1000*linear, loss, bass.Level-loss)
}

func readDirect(r *bench.Result) string {
	low, high := r.Error.Curve.At(25), r.Error.Curve.At(18000)
	if r.Settings.Direct == 1 {
		return typeset("Divided by the direct recording, "+
			"the response is %.1f dB off at 25 Hz and %.1f dB off at 18 kHz. Look how far off it is without.", low, high)
	}
	return typeset("Without the direct recording the response is %+.1f dB off at 25 Hz and %+.1f dB off at "+
		"18 kHz. Neither error is the pair's.", low, high)
}

func readSmoothing(r *bench.Result) string {
	const f = 6300
	truth, shown := r.Truth.At(f), r.Response.At(f)
	if hidden := truth - shown; hidden < 0.1 {
		return typeset("The true level of the resonance at 6.3 kHz is %+.1f dB. This curve shows %+.1f dB "+
			"and hides nothing of it.", truth, shown)
	}
	return typeset("The true level of the resonance at 6.3 kHz is %+.1f dB. This curve shows %+.1f dB and "+
		"hides %.1f dB of it.", truth, shown, truth-shown)
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
	return typeset("The second harmonic is %.0f ms before the peak, the third %.0f ms. The window begins "+
		"%.0f ms before the peak and %s: the response is off by at most %.1f dB.",
		second, third, r.Settings.Before, verdict, math.Abs(r.Error.Max.Level.Value))
}

func readNoise(r *bench.Result) string {
	if r.Harmonics == nil {
		return "This sweep is too short to separate harmonics: lengthen it."
	}
	figure, truth := r.Harmonics.Harmonic(2, 1000), r.TrueHarmonic(2, 1000)
	if figure.Below {
		return typeset("At 1 kHz it reads %.0f dB; "+
			"noise alone would read %.0f dB. So it is noise; the pair's own harmonic is at most %.0f dB. "+
			"Its true level is %.0f dB.",
			figure.AsRead, figure.Floor, figure.Bound, truth)
	}
	return typeset("At 1 kHz it reads %.0f dB, %.0f dB above the reading of noise alone: it is the pair's. "+
		"Its true level is %.0f dB.",
		figure.AsRead, figure.AsRead-figure.Floor, truth)
}

func readSeatings(r *bench.Result) string {
	half := r.Average.Level.HalfWidth(0.95)
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
	half := r.Average.Level.HalfWidth(0.95)
	if half == nil {
		return "One seating does not show how much the next would differ, so a change cannot be " +
			"distinguished from it."
	}
	mean := math.Sqrt(statistic.MeanSquare(half))
	return typeset("The mean of %d seatings is known to ±%.1f dB over the band (95 %%, root mean square). The difference of two "+
		"such means is known to about ±%.1f dB: a smaller change overnight would hardly be seen.",
		r.Average.Count, mean, math.Sqrt2*mean)
}

func readRipple(r *bench.Result) string {
	g := decibel.Amplitude(r.Settings.Reflection)
	if g == 0 {
		return "There is no reflection and no ripple: add one."
	}
	return typeset("The reflection at %.0f dB adds to the response at some frequencies and takes away at others: "+
		"from %+.2f to %+.2f dB.",
		r.Settings.Reflection, decibel.OfAmplitude(1+g), decibel.OfAmplitude(1-g))
}
