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

// MeterConfig says what a recording stands for.
type MeterConfig struct {
	SampleRate  int // Hz
	Sensitivity Sensitivity
	// Correction, in dB, is added to the spectrum at each frequency: nil for none. For a microphone it is Calibration.Correction; for an ear
	// simulator, minus its response in the diffuse field, so that the level is that of a field, which the limits are for.
	Correction *response.Curve
}

// Meter reads the level of recorded programme. It does not change once made and may be shared.
type Meter struct {
	c       MeterConfig
	plan    *fft.Plan
	window  []float64
	weight  []float64 // power gain of the A-weighting and the correction by bin; 0 where the correction is not known
	plain   []float64 // of the A-weighting alone
	doubt   []float64 // standard uncertainty of the correction in dB by bin
	band    response.Band
	scratch sync.Pool
}

// SoundLevel is the level of a stretch of programme.
type SoundLevel struct {
	A        response.Figure // A-weighted equivalent level over the stretch, dB(A)
	Plain    response.Figure // the same without any weighting or correction, dB SPL
	Peak     response.Figure // the highest sample without any weighting or correction, dB peak
	Crest    response.Figure // Peak − Plain, dB
	Duration float64
	// Band is where the sensitivity is corrected; Outside is the part of the A-weighted power that lies elsewhere, uncorrected, and is not in A.
	Band     response.Band
	Outside  float64
	Findings []string
}

// meterSegment is the length of a piece in seconds. The window spreads a tone over some bins, over which the A-weighting is steep at the bottom: with
// one second, tones of 31.5 Hz read 0.01 dB too high and of 10 Hz 0.4 dB; with a quarter, ten times that.
const meterSegment = 1.0

// NewMeter makes a meter. It fails for a sample rate below 8 kHz or a sensitivity that is not known.
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

// weights fills in the gains by bin, with the scale of a one-sided spectrum.
func (m *Meter) weights() {
	n, bins := m.plan.Len(), m.plan.Bins()
	m.weight, m.plain, m.doubt = make([]float64, bins), make([]float64, bins), make([]float64, bins)
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
		if m.doubt[k] = m.c.Correction.UncertaintyAt(f); math.IsNaN(gain) {
			m.weight[k], m.doubt[k] = 0, 0
			continue
		}
		m.weight[k] *= decibel.Power(gain)
	}
}

// Measure reads the level of samples, of which full scale is 1.
//
// The samples are cut into pieces of one second that overlap by half, under a sine window: the squares of two such windows sum to one, so every
// sample counts once and the sum over the spectra is, by Parseval's theorem, the energy of the whole. The A-weighting of IEC 61672-1 and
// the correction are applied to the spectra as gains of power.
//
// The uncertainty is that of sensitivity and correction; of the correction it is the mean over frequency, weighted by power, since what a calibration errs
// it errs alike throughout. That the same programme reads differently on other ears is not in it.
//
// It fails for no samples, and for silence, which has no level.
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
		A:        response.Figure{Value: full.Value + decibel.OfPower(e.weighted/n), Uncertainty: math.Hypot(full.Uncertainty, e.doubt/e.weighted), Unit: AWeighted},
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
		s.Findings = append(s.Findings, fmt.Sprintf("%.0f %% of the A-weighted power lies outside %v, where the correction is not known; so the level is not known", 100*s.Outside, m.band))
	case s.Outside > some:
		s.Findings = append(s.Findings, fmt.Sprintf("%.0f %% of the A-weighted power lies outside %v, where the correction is not known; it is left out and the level is %.1f dB higher if the microphone is flat there",
			100*s.Outside, m.band, decibel.OfPower(1+e.outside/e.weighted)))
	}
	return s, nil
}

// soundEnergy sums squares of samples.
type soundEnergy struct {
	all, peak      float64 // as recorded
	weighted       float64 // weighted and corrected
	known, outside float64 // weighted: where the correction is known, and elsewhere
	doubt          float64 // weighted and corrected, times the uncertainty in dB
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
			e.doubt += m.doubt[k] * m.weight[k] * power
			if m.weight[k] == 0 {
				e.outside += m.plain[k] * power
			} else {
				e.known += m.plain[k] * power
			}
		}
	}
	return e
}
