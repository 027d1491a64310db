package level

import (
	"fmt"
	"math"
	"sync"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/internal/fft"
	"example.com/earnest/response"
	"example.com/earnest/smoothing"
)

// MeterConfig relates recordings to sound pressure.
type MeterConfig struct {
	SampleRate  int // Hz
	Sensitivity Sensitivity
	// Correction, in dB, is added to the spectrum at each frequency; nil means none. For a
	// microphone it is Calibration.Correction. For an ear simulator it is minus its response in the
	// diffuse field, since the limits are for levels in a field.
	Correction *response.Curve
}

// Meter measures the level of recorded programme. It does not change once made, and may be shared.
type Meter struct {
	c           MeterConfig
	plan        *fft.Plan
	window      []float64
	plain       []float64 // power gain of the A-weighting by bin
	weight      []float64 // the same with the correction; 0 where the correction is not known
	uncertainty []float64 // standard uncertainty of the correction in dB by bin
	band        response.Band
	scratch     sync.Pool
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

// meterSegment is the length of a segment in seconds. The window spreads a tone over several bins,
// and the A-weighting is steep at low frequencies: with one second, a tone of 31.5 Hz reads 0.01 dB
// too high and one of 10 Hz 0.4 dB; with a quarter of a second, ten times that.
const meterSegment = 1.0

// NewMeter makes a meter. It returns an error for a sample rate below 8 kHz or a sensitivity that
// is not known.
func NewMeter(c MeterConfig) (*Meter, error) {
	if err := checkRate(c.SampleRate); err != nil {
		return nil, err
	}
	if err := check(c.Sensitivity.FullScale, "sensitivity of the recording", SoundPressure); err != nil {
		return nil, err
	}
	n := fft.FastLen(int(meterSegment * float64(c.SampleRate)))
	m := &Meter{c: c, plan: fft.NewPlan(n), window: make([]float64, n), band: response.AllFrequencies}
	m.scratch.New = func() any { return &meterScratch{make([]float64, n), make([]complex128, m.plan.Bins())} }
	for i := range m.window {
		m.window[i] = math.Sin(math.Pi * (float64(i) + 0.5) / float64(n))
	}
	m.weights()
	return m, nil
}

type meterScratch struct {
	samples  []float64
	spectrum []complex128
}

// weights sets the gains by bin, with the scale of a one-sided spectrum.
func (m *Meter) weights() {
	n, bins := m.plan.Len(), m.plan.Bins()
	m.weight, m.plain, m.uncertainty = make([]float64, bins), make([]float64, bins), make([]float64, bins)
	if m.c.Correction != nil {
		m.band = m.c.Correction.Valid
	}
	for k := range m.weight {
		f := m.plan.Frequency(k, float64(m.c.SampleRate))
		scale := 2 / float64(n)
		if k == 0 || 2*k == n {
			scale /= 2
		}
		m.plain[k] = scale * decibel.Power(smoothing.AWeighting(f))
		m.weight[k] = m.plain[k]
		if m.c.Correction == nil {
			continue
		}
		gain := m.c.Correction.At(f)
		if m.uncertainty[k] = m.c.Correction.UncertaintyAt(f); math.IsNaN(gain) {
			m.weight[k], m.uncertainty[k] = 0, 0
			continue
		}
		m.weight[k] *= decibel.Power(gain)
	}
}

// Measure returns the level of samples with full scale 1.
//
// The samples are divided into segments of one second that overlap by half, under a sine window.
// The squares of overlapping windows add up to one, so every sample has the same weight and, by
// Parseval's theorem, the sum over the spectra is the energy of the whole. The A-weighting of IEC
// 61672-1 and the correction are applied to the spectra as gains of power.
//
// The uncertainty is that of sensitivity and correction. For the correction it is the mean over
// frequency, weighted by power, since the errors of a calibration are taken as fully correlated. It
// does not contain the difference between ears.
//
// It returns an error if there are no samples, or only zeros.
func (m *Meter) Measure(samples []float64) (SoundLevel, error) {
	if len(samples) == 0 {
		return SoundLevel{}, fmt.Errorf("level: programme: %w: no samples", ErrNoSignal)
	}
	e := m.energy(samples)
	if e.all == 0 {
		return SoundLevel{}, fmt.Errorf("level: programme: %w: all samples are zero", ErrNoSignal)
	}
	n, full := float64(len(samples)), m.c.Sensitivity.FullScale
	s := SoundLevel{
		A:        response.Figure{Value: full.Value + decibel.OfPower(e.weighted/n), Uncertainty: math.Hypot(full.Uncertainty, e.uncertain/e.weighted), Unit: AWeighted},
		Plain:    response.Figure{Value: full.Value + decibel.OfPower(e.all/n), Uncertainty: full.Uncertainty, Unit: SoundPressure},
		Peak:     response.Figure{Value: full.Value + decibel.OfAmplitude(e.peak), Uncertainty: full.Uncertainty, Unit: PeakSoundPressure},
		Crest:    response.Figure{Value: decibel.OfAmplitude(e.peak) - decibel.OfPower(e.all/n), Uncertainty: 0, Unit: Decibel},
		Duration: n / float64(m.c.SampleRate),
		Band:     m.band,
		Outside:  e.outside / (e.outside + e.known),
	}
	const some, half = 0.02, 0.5 // of the power: 0.09 dB, and 3 dB
	switch {
	case s.Outside > half || e.weighted == 0:
		s.A = response.NotKnown(AWeighted)
		s.Findings = append(s.Findings, remark(Uncorrected,
			fmt.Sprintf("%.0f %% of the A-weighted power lies outside %v, where the correction is not known; so the level is not known", 100*s.Outside, m.band), ""))
	case s.Outside > some:
		s.Findings = append(s.Findings, remark(Uncorrected,
			fmt.Sprintf("%.0f %% of the A-weighted power lies outside %v, where the correction is not known; it is left out and the level is %.1f dB higher if the microphone is flat there",
				100*s.Outside, m.band, decibel.OfPower(1+e.outside/e.weighted)), ""))
	}
	return s, nil
}

// soundEnergy holds sums of squares of samples.
type soundEnergy struct {
	all, peak      float64 // as recorded
	weighted       float64 // weighted and corrected
	known, outside float64 // weighted: where the correction is known, and elsewhere
	uncertain      float64 // weighted and corrected, times the uncertainty in dB
}

func (m *Meter) energy(samples []float64) soundEnergy {
	scratch := m.scratch.Get().(*meterScratch)
	defer m.scratch.Put(scratch)
	var e soundEnergy
	for _, v := range samples {
		e.all += v * v
		e.peak = max(e.peak, math.Abs(v))
	}
	n := m.plan.Len()
	for at := -n / 2; at < len(samples); at += n / 2 {
		for i, w := range m.window {
			v := 0.0
			if j := at + i; j >= 0 && j < len(samples) {
				v = samples[j]
			}
			scratch.samples[i] = w * v
		}
		m.plan.Forward(scratch.spectrum, scratch.samples)
		for k, v := range scratch.spectrum {
			power := fft.Power(v)
			e.weighted += m.weight[k] * power
			e.uncertain += m.uncertainty[k] * m.weight[k] * power
			if m.weight[k] == 0 {
				e.outside += m.plain[k] * power
			} else {
				e.known += m.plain[k] * power
			}
		}
	}
	return e
}
