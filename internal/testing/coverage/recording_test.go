package coverage

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"time"

	"example.com/earnest/internal/fft"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// bench holds a stimulus, and the plans and spectra for simulating recordings of it. It is shared.
type bench struct {
	rate     int
	stimulus *sweep.Stimulus
	plan     *fft.Plan // of a recording
	phase    *fft.Plan // of a minimum phase response
	// played holds the spectra, by side, of the stimulus and of the sine of the sweep's phase times
	// 2 and 3, with the amplitude of the sweep. In a part that is louder or softer than the sweep,
	// a harmonic of order n has the ratio of amplitudes to the power n.
	played   [2][3][]complex128
	products []products // of the parts of several tones
	samples  int
}

const (
	sweepLevel = -12.0
	latency    = 0.02 // s
	windowed   = 0.6  // s: the length of noise that the window of the response passes
)

func newBench(rate int, asks ...sweep.Question) (*bench, error) {
	s, err := sweep.New(sweep.Config{Duration: time.Second, Level: sweepLevel, SampleRate: rate})
	if err != nil {
		return nil, err
	}
	st, err := sweep.NewStimulus(sweep.StimulusConfig{Sweep: s, Silence: 400 * time.Millisecond, Gap: 400 * time.Millisecond, Asks: asks})
	if err != nil {
		return nil, err
	}
	b := &bench{rate: rate, stimulus: st}
	for _, part := range st.Parts() {
		if len(part.Tones) > 1 {
			b.products = append(b.products, newProducts(part, s.Amplitude(), rate))
		}
	}
	b.samples = fft.FastLen(st.WholeLen() + rate/2)
	b.plan, b.phase = fft.NewPlan(b.samples), fft.NewPlan(fft.FastLen(rate*4/3))
	for side, x := range st.Channels() {
		b.played[side][0] = b.plan.Forward(nil, x)
		for n := 2; n <= 3; n++ {
			y := make([]float64, len(x))
			swept := func(segment sweep.Segment, level float64) {
				size := s.Amplitude() * math.Pow(10, float64(n)*(level-sweepLevel)/20)
				for i := range segment.Len {
					t := float64(i) / float64(rate)
					// A harmonic fades out over a tenth of an octave before it would fold back.
					fade := min(1, max(0, 10*math.Log2(0.49*float64(rate)/(float64(n)*s.FrequencyAt(t)))))
					if phase := s.PhaseAt(t); fade > 0 && !math.IsNaN(phase) {
						y[segment.Start+i] = size * fade * math.Sin(float64(n)*phase)
					}
				}
			}
			for _, segment := range st.Sweeps(sweep.Side(side + 1)) {
				swept(segment, sweepLevel)
			}
			for _, part := range st.Parts() {
				switch {
				case part.Kind == sweep.BothSweeps:
					swept(part.Segment, part.Level)
				case len(part.Tones) == 1:
					size := s.Amplitude() * math.Pow(10, float64(n)*(part.Level-sweepLevel)/20)
					for i := range part.Len {
						y[part.Start+i] = size * math.Sin(2*math.Pi*float64(n)*part.Tones[0].Frequency*float64(i)/float64(rate))
					}
				case len(part.Tones) > 1:
					i := slices.IndexFunc(b.products, func(p products) bool { return p.part.Start == part.Start })
					copy(y[part.Start:], b.products[i].samples(n))
				}
			}
			b.played[side][n-1] = b.plan.Forward(nil, y)
		}
	}
	return b, nil
}

// filter returns the spectrum, with the length of a recording's, of the minimum-phase response with
// the given levels, with the latency.
func (b *bench) filter(l levels) []complex128 {
	out := b.plan.Forward(nil, b.phase.Inverse(nil, b.minimumPhase(l)))
	for k := range out {
		out[k] *= cmplx.Rect(1, -2*math.Pi*float64(k)/float64(b.samples)*math.Round(latency*float64(b.rate)))
	}
	return out
}

// minimumPhase returns the spectrum of the minimum-phase response with the given levels (Oppenheim
// & Schafer's folded cepstrum, from memory).
func (b *bench) minimumPhase(l levels) []complex128 {
	n := 2 * (b.phase.Bins() - 1)
	log := make([]complex128, b.phase.Bins())
	for k := range log {
		log[k] = complex(l.at(float64(k)*float64(b.rate)/float64(n))*math.Ln10/20, 0)
	}
	cepstrum := b.phase.Inverse(nil, log)
	for i := 1; i < n/2; i++ {
		cepstrum[i], cepstrum[n-i] = 2*cepstrum[i], 0
	}
	log = b.phase.Forward(log, cepstrum)
	for k, v := range log {
		log[k] = cmplx.Exp(v)
	}
	return log
}

// noise is white, or pink, with a level at 1 kHz.
type noise struct {
	density float64 // dBFS rms of white noise with the same density at 1 kHz
	pink    bool
}

// noiseFor returns the noise for a signal-to-noise ratio in dB of the response at 1 kHz, whose
// level there is given. The signal's density is that of the sweep's spectrum, (A/2) √(L/f) fs; that
// of the noise within a window of M samples is √(M) of its own.
func (b *bench) noiseFor(ratio, level float64, pink bool) noise {
	s := b.stimulus.Sweep()
	return noise{level - ratio + 20*math.Log10(s.SpectrumLevel(1000)) - 10*math.Log10(windowed*float64(b.rate)), pink}
}

// record returns one channel: the signal of a side through a filter, with the second and third
// harmonic added before it by their amplitudes re the fundamental, and noise.
func (b *bench) record(r *rand.Rand, side int, filter []complex128, harmonics [2]float64, n noise) []float64 {
	spectrum := make([]complex128, len(filter))
	p := b.played[side]
	a2, a3 := complex(harmonics[0], 0), complex(harmonics[1], 0)
	rms := math.Pow(10, n.density/20) * math.Sqrt(float64(b.samples)/2)
	for k, h := range filter {
		e := rms
		if n.pink {
			e *= math.Sqrt(1000 / max(10, float64(k)*float64(b.rate)/float64(b.samples)))
		}
		spectrum[k] = (p[0][k]+a2*p[1][k]+a3*p[2][k])*h + complex(e*r.NormFloat64(), e*r.NormFloat64())
	}
	spectrum[0] = 0
	return b.plan.Inverse(nil, spectrum)
}

func (b *bench) recording(name string, channels ...[]float64) *capture.Recording {
	return &capture.Recording{Name: name, SampleRate: b.rate, Format: capture.Format{Bits: 24}, Channels: channels}
}
