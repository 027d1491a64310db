package bench

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// wrongPeak is the change of the curve in dB from which a fault counts as wrong.
const wrongPeak = 1.5

func (r *Result) aboutClipping() []Remark {
	if r.session.clipping == "" {
		return nil
	}
	return []Remark{{true, "Clipping",
		"The recorder was overloaded: the " + strings.TrimPrefix(r.session.clipping, "the ") + ".",
		"Lower the sweep's level or the gain."}}
}

// enoughSNR is the signal-to-noise ratio in dB below which noise shows: at 20 dB a single line of
// the spectrum scatters by 20/ln 10 · 0.1/√2 = 0.6 dB.
const enoughSNR = 20

func (r *Result) aboutNoise() []Remark {
	least, most, ok := r.SNRRange()
	if !ok {
		return nil
	}
	m := Remark{
		Wrong: least.Level < enoughSNR, Topic: "Noise",
		What: fmt.Sprintf("The response is %.0f dB above the noise in the octave around %s, and %.0f dB around %s.",
			least.Level, hz(least.Nominal), most.Level, hz(most.Nominal)),
	}
	if m.Wrong {
		m.Remedy = "Twice the length gains 3 dB; a higher level gains as many dB as it is raised. Raise it " +
			"in steps, with the headphones off the head."
	}
	return []Remark{m}
}

func (r *Result) aboutClock() []Remark {
	p := r.session.through[0]
	if p.clockErr != nil {
		return []Remark{{true, "Clock", "The drift is not known: " + p.clockErr.Error() + ".", ""}}
	}
	measured := fmt.Sprintf("The recorder's clock runs %+.1f ppm against the player's (standard uncertainty %.2g ppm)",
		p.clock.Drift, p.clock.Uncertainty)
	smear := math.Abs(p.clock.Drift) * r.Sweep.Duration() // microseconds
	switch {
	case math.Abs(p.clock.Drift) <= max(noDrift, 2*p.clock.Uncertainty):
		return nil
	case r.Settings.Clock == 1:
		return []Remark{{false, "Clock", measured + ". This was corrected.", ""}}
	}
	return []Remark{{
		smear > 1e6/sampleRate, "Clock",
		fmt.Sprintf("%s: the end of the sweep is off by %.0f µs, so the impulse is smeared by %.1f samples. "+
			"This hardly changes the level, but it changes the phase and the impulse.",
			measured, smear, smear*sampleRate/1e6),
		"Correct the drift by means of the timing marks.",
	}}
}

func (r *Result) aboutDirect() []Remark {
	if r.Settings.Direct == 1 {
		return nil
	}
	at := simulated(r.Settings.Conditions)
	low, high := decibels(at.DirectResponse(20)), decibels(at.DirectResponse(18000))
	return []Remark{{
		true, "Interface",
		fmt.Sprintf("The interface's own response is still in the curve: %+.1f dB at 20 Hz, %+.1f dB at 18 kHz.", low,
			high),
		"Patch the interface into itself, record the same sweep and divide by it.",
	}}
}

func (r *Result) aboutReflection() []Remark {
	s := r.Settings
	if math.IsInf(s.Reflection, -1) {
		return nil
	}
	g := decibel.Amplitude(s.Reflection)
	if s.Delay >= s.After {
		return []Remark{{false, "Reflection",
			fmt.Sprintf("It comes %.3g ms after the peak, after the end of the window, and is left out. The "+
				"short window also loses the bass.", s.Delay), ""}}
	}
	return []Remark{{
		g > 0.06, "Reflection",
		fmt.Sprintf("It comes %.3g ms after the peak, inside the window: "+
			"the response ripples between %+.1f and %+.1f dB, a crest every %.3g Hz.",
			s.Delay, decibel.OfAmplitude(1+g), decibel.OfAmplitude(1-g), 1000/s.Delay),
		"Move away from the surface, or end the window before the reflection.",
	}}
}

func (r *Result) aboutWindowBefore() []Remark {
	advance := 1000 * r.Sweep.HarmonicAdvance(2)
	if r.Settings.Before < advance {
		return nil
	}
	harmonic := math.Inf(-1)
	if r.Harmonics != nil {
		harmonic = r.Harmonics.Harmonic(2, 1000).AsRead
	}
	return []Remark{{
		harmonic > -30, "Window before",
		fmt.Sprintf("It reaches %.3g ms before the peak, but the second harmonic is at %.0f ms: distortion "+
			"is taken for response.", r.Settings.Before, advance),
		fmt.Sprintf("Keep it below %.0f ms, or make the sweep longer.", advance),
	}}
}

func (r *Result) aboutWindowAfter() []Remark {
	if low := r.Response.Valid.Low; low > 1.05*audible.Low {
		return []Remark{{
			true, "Window after",
			fmt.Sprintf("It ends %.3g ms after the peak, so nothing is known below %s, where one period is "+
				"as long as the window.", r.Settings.After, hz(low)),
			"Lengthen the window after the peak as far as reflections allow.",
		}}
	}
	return nil
}

func (r *Result) aboutSmoothing() []Remark {
	w := r.SmoothingError.Max
	if r.Settings.Smoothing == 0 || math.Abs(w.Level.Value) < 0.1 {
		return nil
	}
	return []Remark{{
		math.Abs(w.Level.Value) > wrongPeak, "Smoothing",
		fmt.Sprintf("Smoothing alone changes the truth by %+.1f dB at %s, and by %.2f dB rms overall.",
			w.Level.Value, hz(w.Frequency), r.SmoothingError.RMS.Value),
		"Smooth less to see narrow resonances; state the smoothing beside the curve.",
	}}
}

func (r *Result) aboutSeatings() []Remark {
	s := r.Settings
	if s.Seatings == 1 {
		if s.Spread == 0 {
			return nil
		}
		return []Remark{{true, "Seatings",
			"Only one seating was measured: it does not show how much of the curve is due to the seating.",
			"Take the pair off, put it on again and repeat."}}
	}
	f, widest := widestSpread(r.Average)
	m := Remark{Topic: "Seatings",
		What: fmt.Sprintf("Of %d seatings, the spread is largest at %s, %.1f dB (standard deviation).",
			r.Average.Count, hz(f), widest)}
	if half := r.Average.Level.HalfWidth(0.95); len(half) > 0 {
		m.What += fmt.Sprintf(" At 10 kHz the mean is known to ±%.1f dB (95 %%).", at(r.Response.Frequency, half, 10000))
	}
	m.Wrong = widest > wrongPeak
	if m.Wrong {
		m.Remedy = "Measure more seatings: the uncertainty of the mean falls with their number, and fastest " +
			"from two to four."
	}
	return []Remark{m}
}

func hz(f float64) string { return response.FormatFrequency(f) }

func widestSpread(a *response.Average) (f, spread float64) {
	for i, v := range a.Spread {
		if v > spread {
			f, spread = a.Level.Frequency[i], v
		}
	}
	return f, spread
}
