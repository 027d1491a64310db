package level

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// Meter measures the level of recorded programme: it relates recordings to sound pressure.
type Meter struct {
	SampleRate  int // Hz, 8 kHz at least
	Sensitivity Sensitivity
	// Correction, in dB, is added to the spectrum at each frequency; nil means none. For a
	// microphone it is Calibration.Correction. For an ear simulator it is the negative of the
	// simulator's response in the diffuse field, since the limits apply to levels in a sound field.
	Correction *response.Curve
}

// meterSegment is the length of a segment in seconds. The window spreads a tone over several bins,
// and the A-weighting is steep at low frequencies: with one second, a tone of 31.5 Hz reads 0.01 dB
// too high and one of 10 Hz 0.4 dB; with a quarter of a second, ten times that.
const meterSegment = 1.0

// check returns an error for a sample rate below 8 kHz or a sensitivity that is not known.
func (m Meter) check() error {
	if err := checkRate(m.SampleRate); err != nil {
		return err
	}
	return check(m.Sensitivity.FullScale, "sensitivity of the recording", SoundPressure)
}

func (m Meter) gains() gains {
	n := fft.FastLen(int(meterSegment * float64(m.SampleRate)))
	g := gains{plan: fft.NewPlan(n)}
	g.weight, g.plain = make([]float64, g.plan.Bins()), make([]float64, g.plan.Bins())
	for k := range g.weight {
		f := g.plan.Frequency(k, float64(m.SampleRate))
		scale := 2 / float64(n)
		if k == 0 || 2*k == n {
			scale /= 2
		}
		g.plain[k] = scale * decibel.Power(smoothing.AWeighting(f))
		g.weight[k] = g.plain[k]
		if m.Correction == nil {
			continue
		}
		gain := m.Correction.At(f)
		if math.IsNaN(gain) {
			g.weight[k] = 0
			continue
		}
		g.weight[k] *= decibel.Power(gain)
	}
	return g
}

// Measure returns the level of samples with full scale 1.
//
// The samples are divided into segments of one second that overlap by half, under a sine window.
// The squares of overlapping windows add up to one, so every sample has the same weight and, by
// Parseval's theorem, the sum over the spectra is the energy of the whole. The A-weighting of IEC
// 61672-1 and the correction are applied to the spectra as gains of power.
//
// The uncertainty is that of sensitivity and correction. An error of the correction moves the level
// by its mean over frequency, weighted by power: each of the correction's components separately, or
// its whole uncertainty as one error at all frequencies if it has no components. If the uncertainty
// of the correction is unknown for more than 2 % of the power, so is that of the level. The
// difference between ears is not part of it.
//
// It returns an error if there are no samples or only zeros, for a sample that is not finite, for a
// sample rate below 8 kHz and for a sensitivity that is not known.
func (m Meter) Measure(samples []float64) (SoundLevel, error) {
	if err := m.check(); err != nil {
		return SoundLevel{}, err
	}
	if len(samples) == 0 {
		return SoundLevel{}, fmt.Errorf("level: programme: %w: no samples", ErrNoSignal)
	}
	if err := checkFinite("programme", samples, m.SampleRate); err != nil {
		return SoundLevel{}, err
	}
	g := m.gains()
	e := g.energy(samples)
	if e.all == 0 {
		return SoundLevel{}, fmt.Errorf("level: programme: %w: all samples are zero", ErrNoSignal)
	}
	n, full := float64(len(samples)), m.Sensitivity.FullScale
	figure := func(dB float64, unit string, more ...response.Component) response.Figure {
		calibrated := response.Component{Effects: []float64{full.Uncertainty},
			Cause: response.Cause{Name: "calibrator", CommonTo: response.OneRig, DegreesOfFreedom: full.DegreesOfFreedom}}
		return append(response.Budget{calibrated}, more...).Figure(full.Value+dB, unit)
	}
	s := SoundLevel{
		A:        figure(decibel.OfPower(e.weighted/n), AWeighted, m.corrected(g.plan, e.spectrum)...),
		Plain:    figure(decibel.OfPower(e.all/n), SoundPressure),
		Peak:     figure(decibel.OfAmplitude(e.peak), PeakSoundPressure),
		Crest:    response.Figure{Value: decibel.OfAmplitude(e.peak) - decibel.OfPower(e.all/n), Unit: Decibel},
		Duration: n / float64(m.SampleRate),
		Band:     response.AllFrequencies,
		Outside:  e.outside / (e.outside + e.known),
	}
	if m.Correction != nil {
		s.Band = m.Correction.Valid
	}
	const half = 0.5 // of the power: 3 dB
	switch {
	case s.Outside > half || e.weighted == 0:
		s.A = response.NotKnown(AWeighted)
		s.Findings = append(s.Findings, remark(Uncorrected,
			fmt.Sprintf("%.0f %% of the A-weighted power lies outside %v, where the correction is not known; so the level is not known",
				100*s.Outside, s.Band), ""))
	case s.Outside > some:
		s.Findings = append(s.Findings, remark(Uncorrected,
			fmt.Sprintf("%.0f %% of the A-weighted power lies outside %v, where the correction is not known; it is left out and the level is %.1f dB higher if the microphone is flat there",
				100*s.Outside, s.Band, decibel.OfPower(1+e.outside/e.weighted)), ""))
	}
	return s, nil
}

// some is the share of the power that may be unknown: 0.09 dB of the level.
const some = 0.02

// corrected returns the components of the A-weighted level's uncertainty in dB from the correction,
// given the weighted power in each bin.
func (m Meter) corrected(plan *fft.Plan, spectrum []float64) []response.Component {
	if m.Correction == nil {
		return nil
	}
	var frequency, power []float64
	for k, p := range spectrum {
		if f := plan.Frequency(k, float64(m.SampleRate)); p > 0 && !math.IsNaN(m.Correction.UncertaintyAt(f)) {
			frequency, power = append(frequency, f), append(power, p)
		}
	}
	known := floats.Sum(power)
	c := m.Correction.Resample(frequency)
	switch {
	case !(known >= (1-some)*floats.Sum(spectrum)):
		return []response.Component{{Effects: []float64{math.NaN()}}}
	case c.Components == nil:
		c.Components = []response.CurveComponent{{Cause: response.Cause{Name: "correction"}, Effects: [][]float64{c.Uncertainty}}}
	}
	var out []response.Component
	for _, one := range c.Components {
		moved := response.Component{Cause: one.Cause}
		for _, effect := range one.Effects {
			if effect != nil {
				moved.Effects = append(moved.Effects, floats.Dot(power, effect)/known)
			}
		}
		out = append(out, moved)
	}
	return out
}

// SoundLevel is the level of a piece of programme.
type SoundLevel struct {
	A        response.Figure // A-weighted equivalent level, dB(A)
	Plain    response.Figure // equivalent level without weighting and correction, dB SPL
	Peak     response.Figure // peak level without weighting and correction, dB peak
	Crest    response.Figure // crest factor, Peak − Plain, dB
	Duration float64         // seconds
	// Band is the band in which the correction is known. Outside is the share of the A-weighted
	// power outside of Band, which is not in A.
	Band     response.Band
	Outside  float64
	Findings []response.Finding
}

// gains are those of power by the bins of one segment, with the scale of a one-sided spectrum.
type gains struct {
	plan   *fft.Plan
	plain  []float64 // of the A-weighting
	weight []float64 // the same with the correction; 0 where the correction is not known
}

func (g gains) energy(samples []float64) soundEnergy {
	var e soundEnergy
	for _, v := range samples {
		e.all += v * v
		e.peak = max(e.peak, math.Abs(v))
	}
	n := g.plan.Len()
	window, segment, spectrum := make([]float64, n), make([]float64, n), make([]complex128, g.plan.Bins())
	e.spectrum = make([]float64, g.plan.Bins())
	for i := range window {
		window[i] = math.Sin(math.Pi * (float64(i) + 0.5) / float64(n))
	}
	for at := -n / 2; at < len(samples); at += n / 2 {
		for i, w := range window {
			segment[i] = 0
			if j := at + i; j >= 0 && j < len(samples) {
				segment[i] = w * samples[j]
			}
		}
		g.plan.Forward(spectrum, segment)
		for k, v := range spectrum {
			power := fft.Power(v)
			e.spectrum[k] += g.weight[k] * power
			if g.weight[k] == 0 {
				e.outside += g.plain[k] * power
			} else {
				e.known += g.plain[k] * power
			}
		}
	}
	e.weighted = floats.Sum(e.spectrum)
	return e
}

// soundEnergy holds sums of squares of samples.
type soundEnergy struct {
	all, peak      float64   // as recorded
	weighted       float64   // weighted and corrected
	known, outside float64   // weighted: where the correction is known, and elsewhere
	spectrum       []float64 // weighted and corrected, in each bin
}
