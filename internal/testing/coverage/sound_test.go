package coverage

import (
	"math"
	"math/cmplx"

	"example.com/earnest/internal/fft"
	"example.com/earnest/internal/rig"
	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
	"example.com/earnest/smoothing"
	"example.com/earnest/target/review"
)

// sound holds a session's statements about levels, and the truth.
type sound struct {
	calibrator     level.Calibrator
	tone           review.Channel // of the calibrator
	perFullScale   float64        // dB SPL of a recorded level of 0 dB rms
	drive          review.Drive
	music          float64 // A-weighted level of the music under the cup in dB SPL; NaN if none is played
	volts, ohms    float64
	amplifier      float64 // V
	output, series float64 // Ω
}

// stating returns a figure and its true value, drawn from the stated uncertainty.
func (s *session) stating(value, uncertainty float64, unit string) (response.Figure, float64) {
	return response.Figure{Value: value, Uncertainty: uncertainty, Unit: unit}, value + uncertainty*s.NormFloat64()
}

// steady returns the spectrum of a signal with a density by frequency, in dB of the rms of white
// noise of that density re full scale.
func (s *session) steady(plan *fft.Plan, density func(f float64) float64) []complex128 {
	x := make([]complex128, plan.Bins())
	n := float64(plan.Len())
	for k := 1; k < len(x)-1; k++ {
		e := math.Pow(10, density(float64(k)*float64(s.rate)/n)/20) * math.Sqrt(n/2)
		x[k] = complex(e*s.NormFloat64(), e*s.NormFloat64())
	}
	return x
}

func (s *session) channel(name string, x []float64) review.Channel {
	return review.Channel{Recording: s.recording(name, x)}
}

// newSound draws a calibrator and the drive of the pair.
func (s *session) newSound() *sound {
	out := &sound{ohms: between(s.Rand, 20, 200), music: math.NaN()}
	tolerance := between(s.Rand, 0.1, 0.5)
	true := 94 + between(s.Rand, -tolerance, tolerance)
	amplitude := 0.1
	out.perFullScale = true - 20*math.Log10(amplitude/math.Sqrt2)
	tone := make([]float64, 5*s.rate)
	for i := range tone {
		tone[i] = amplitude*math.Sin(2*math.Pi*1000*float64(i)/float64(s.rate)) + 1e-4*s.NormFloat64()
	}
	out.tone = s.channel("calibrator", tone)
	out.calibrator = level.Calibrator{Level: 94, Frequency: 1000, Tolerance: tolerance}
	out.drive.Peak = -12
	out.drive.Voltage, out.volts = s.stating(0.3, between(s.Rand, 0.001, 0.02), "V")
	out.drive.AmplifierName = "amplifier"
	out.drive.Amplifier.MaxVoltage, out.amplifier = s.stating(2, between(s.Rand, 0.01, 0.1), "V")
	out.drive.Amplifier.OutputImpedance, out.output = s.stating(10, between(s.Rand, 0.1, 1), level.Ohm)
	return out
}

// impedance returns that of the pair: a resistance and a resonance at 90 Hz.
func impedance(f, ohms float64) complex128 {
	return complex(ohms, 0) + complex(ohms/2, 0)/complex(1, 2*(f/90-90/f))
}

// resistors measures the impedance.
func (s *session) resistors(p *review.Pair, out *sound) error {
	plan := fft.NewPlan(fft.FastLen(6 * s.rate))
	divided := func(series float64, load func(f float64) complex128, name string) (source, across review.Channel) {
		x := s.steady(plan, func(float64) float64 { return -20 })
		y := make([]complex128, len(x))
		for k, v := range x[1:] {
			z := load(float64(k+1) * float64(s.rate) / float64(plan.Len()))
			y[k+1] = v * z / (z + complex(series, 0)) * cmplx.Rect(1.03, 0)
		}
		hiss := func(spectrum []complex128) []float64 {
			for k, v := range s.steady(plan, func(float64) float64 { return -80 }) {
				spectrum[k] += v
			}
			return plan.Inverse(nil, spectrum)
		}
		source, across = s.channel(name+", source", hiss(x)), s.channel(name+", load", hiss(y))
		source.Number, across.Number = 1, 1
		return source, across
	}
	var r review.ImpedanceRecordings
	r.Series, out.series = s.stating(47, between(s.Rand, 0.05, 0.5), level.Ohm)
	var known float64
	r.Known, known = s.stating(33, between(s.Rand, 0.05, 0.3), level.Ohm)
	r.Source, r.Load = divided(out.series, func(f float64) complex128 { return impedance(f, out.ohms) }, "impedance")
	r.ReferenceSource, r.ReferenceLoad = divided(out.series, func(float64) complex128 { return complex(known, 0) }, "reference")
	return p.Impedance(r)
}

// electrical measures the impedance and the isolation.
func (s *session) electrical(p *review.Pair, out *sound) error {
	if err := s.resistors(p, out); err != nil {
		return err
	}
	plan := fft.NewPlan(fft.FastLen(4 * s.rate))
	noise := func(name string, gain float64, loss func(f float64) float64) review.Channel {
		return s.channel(name, plan.Inverse(nil, s.steady(plan, func(f float64) float64 {
			return gain - 10*math.Log10(max(f, 10)/1000) - loss(f)
		})))
	}
	none := func(float64) float64 { return 0 }
	return p.Isolation(noise("open", -30, none), noise("covered", -30, isolation), noise("background", -80, none))
}

// isolation returns the attenuation of the cup in dB.
func isolation(f float64) float64 { return 25 / (1 + math.Pow(500/f, 2)) }

// sounds counts the figures of levels.
func (s *session) sounds(d draw, r *review.Results, out *sound) {
	if z := r.Impedance; z != nil {
		for _, f := range []float64{90, 300, 1000, 5000} {
			d.figure("impedance at a frequency", z.At(f), out.magnitude(f))
		}
		lowest, f := z.Lowest(response.Band{Low: 20, High: 20000})
		d.figure("impedance, lowest, at its place", lowest, out.magnitude(f))
	}
	if c := r.OutputLoss; c != nil {
		for _, f := range []float64{90, 1000} {
			z := impedance(f, out.ohms)
			d.figure("what the output impedance does", c.Figure(f), 20*math.Log10(cmplx.Abs(z/(z+complex(out.output, 0)))))
		}
	}
	if b := r.Isolation; b != nil {
		for i, band := range b.Bands {
			if math.IsNaN(b.Curve.Level[i]) || b.Curve.Uncertainty == nil {
				continue
			}
			d.figure("isolation in a third octave", b.Curve.Figure(b.Curve.Frequency[i]), bandLoss(band.Low, band.High))
		}
	}
	v := r.Sound
	if v == nil {
		return
	}
	perVolt, magnitude := out.perVolt(s), out.magnitude(1000)
	d.figure("level of the sweep", v.SweepLevel, s.atKilohertz()+sweepLevel-20*math.Log10(math.Sqrt2)+out.perFullScale)
	d.figure("sensitivity per volt", v.PerVolt, perVolt)
	d.figure("sensitivity per milliwatt", v.PerMilliwatt, perVolt+10*math.Log10(magnitude/1000))
	if v.MaxSPL != nil {
		d.figure("highest level", v.MaxSPL.Level, perVolt+20*math.Log10(out.amplifier*magnitude/(magnitude+out.output)))
	}
}

// atKilohertz returns the mean of the sides at 1 kHz.
func (s *session) atKilohertz() float64 { return (s.true[0].at(1000) + s.true[1].at(1000)) / 2 }

func (out *sound) perVolt(s *session) float64 {
	return s.atKilohertz() + out.drive.Peak - 20*math.Log10(out.volts*math.Sqrt2) + out.perFullScale
}

func (out *sound) magnitude(f float64) float64 { return cmplx.Abs(impedance(f, out.ohms)) }

// weighted returns the A-weighted level in dB re full scale, both rms, of samples with a spectrum
// at multiples of step Hz, once a filter has changed it.
func weighted(spectrum []complex128, filter levels, step float64) float64 {
	var sum float64
	for k, v := range spectrum[1:] {
		f := float64(k+1) * step
		sum += real(v*cmplx.Conj(v)) * math.Pow(10, (filter.at(f)+smoothing.AWeighting(f))/10)
	}
	n := float64(2*len(spectrum) - 2)
	return 10 * math.Log10(2*sum/(n*n))
}

// bandLoss returns the isolation for a band of pink noise.
func bandLoss(low, high float64) float64 {
	const steps = 50
	var sum float64
	for k := range steps {
		sum += math.Pow(10, -isolation(low*math.Pow(high/low, (float64(k)+0.5)/steps))/10) / steps
	}
	return -10 * math.Log10(sum)
}

// material plays six seconds of music through the left side in one seating, whose levels have the
// errors off.
func (s *session) material(p *review.Pair, out *sound, seated, off levels) error {
	music := rig.Music(s.rate, 6, s.Uint64())
	plan := fft.NewPlan(fft.FastLen(len(music[0]) + s.rate/2))
	longer := &bench{rate: s.rate, plan: plan, phase: s.phase, samples: plan.Len()}
	played := plan.Forward(nil, music[0])
	out.music = out.perFullScale + weighted(played, seated.plus(-1, off), float64(s.rate)/float64(plan.Len()))
	record := func(name string, l levels, floor float64) *capture.Recording {
		spectrum := longer.filter(l)
		hiss := s.steady(plan, func(float64) float64 { return floor })
		for k, h := range spectrum {
			spectrum[k] = played[k]*h + hiss[k]
		}
		return s.recording(name, plan.Inverse(nil, spectrum))
	}
	return p.Play(review.Material{Name: "tune", Kind: "music", Side: "left",
		Direct:  review.Channel{Recording: record("tune, direct", flat(0), -100), Number: 1},
		Through: review.Channel{Recording: record("tune, through", seated, between(s.Rand, -100, -70)), Number: 1}})
}

// programmes counts the figures of the response from music. The error of the rig is not known, so it
// is in the truth here.
func (s *session) programmes(d draw, r *review.Results, out *sound, seated levels) {
	for _, p := range r.Programmes {
		if p.Level != nil {
			d.figure("level of music in dB(A)", p.Level.A, out.music)
		}
		if p.Comparison == nil {
			continue
		}
		for band, at := range places {
			for _, f := range at {
				v := p.Comparison.At(f)
				if v.Known {
					level := 20 * math.Log10(cmplx.Abs(v.H1))
					d.holds(interval, "response from music, "+band, level-v.HalfWidth95, level+v.HalfWidth95, seated.at(f))
				}
			}
		}
		if a := p.Agreement; a != nil {
			d.add(rare, "music and sweep reported to differ", !a.Agree)
		}
	}
}
