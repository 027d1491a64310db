package review

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// Drive says how the headphones were driven and which amplifier readers may use. Figures that need
// a value which is not stated are not known.
type Drive struct {
	// Voltage is the rms voltage at the headphones' terminals of a sine with a peak of Peak dBFS in
	// its file.
	Voltage response.Figure
	Peak    float64
	// Impedance in Ω at 1 kHz, if stated and not measured.
	Impedance response.Figure
	// Amplifier that readers may use, with its name.
	Amplifier     level.Amplifier
	AmplifierName string
}

// check returns an error for a stated impedance that no load has, and for an amplifier that none
// is.
func (d Drive) check() error {
	ohms := response.Figure{Value: 100, Unit: level.Ohm}
	if d.Impedance.Value != 0 {
		ohms = d.Impedance
		if _, err := level.PerMilliwatt(response.Figure{Value: 100, Unit: level.SoundPerVolt}, ohms); err != nil {
			return err
		}
	}
	if a := d.Amplifier; a.MaxVoltage.Value != 0 || a.MaxCurrent.Value != 0 {
		_, err := a.MaxSPL(response.Figure{Value: 100, Unit: level.SoundPerVolt}, ohms)
		return err
	}
	return nil
}

// Sound holds the results in sound pressure.
type Sound struct {
	// Sensitivity of the microphone in dBFS per dB SPL, from the calibrator's tone.
	Sensitivity level.Sensitivity
	// PerVolt and PerMilliwatt are the headphones' sensitivity at 1 kHz, mean of the sides, in dB
	// SPL/V and dB SPL/mW. The first needs the voltage, the second the impedance too.
	PerVolt, PerMilliwatt response.Figure
	// PerVolt500 and PerMilliwatt500 are the same at 500 Hz, the frequency of the characteristic
	// sensitivity in IEC 60268-7 (from memory); the second is not known unless the impedance was
	// measured.
	PerVolt500, PerMilliwatt500 response.Figure
	// Impedance at 1 kHz, measured or as stated.
	Impedance response.Figure
	// MaxSPL is the highest level with the named amplifier; nil if none is named.
	MaxSPL *level.MaxSPL
	// SweepLevel is the level of the sweep at 1 kHz at the microphone in dB SPL. Distortion was
	// measured at this level.
	SweepLevel response.Figure
	// Findings about the calibrator's tone and the amplifier.
	Findings []response.Finding

	// at returns the sensitivity and the impedance at f Hz; nil if the voltage is not known.
	at func(f float64) (volt, milliwatt, impedance response.Figure, err error)
}

// calibrate finds the microphone's sensitivity, or returns a finding if the recording does not show
// it.
func (b *Bench) calibrate() []response.Finding {
	b.sensitivity, b.calibratorFindings = nil, nil
	c := b.config.Calibrator
	if c == nil {
		return nil
	}
	x, rate, err := b.config.CalibratorTone.samples(1)
	var tone *level.CalibratorTone
	var sensitivity level.Sensitivity
	if err == nil {
		tone, err = c.Tone(x, rate)
	}
	if err == nil {
		sensitivity, err = c.Sensitivity(tone.Level)
	}
	if err != nil {
		return b.direct.unusable(b.config.CalibratorTone.name(), "nothing is known in dB SPL", err)
	}
	b.sensitivity, b.calibratorFindings = &sensitivity, tone.Findings
	return nil
}

// absolute returns the budget of a level in sound pressure, from that of the response.
func (b *Bench) absolute(relative response.Budget, s level.Sensitivity) response.Budget {
	calibrator := response.Cause{Name: "calibrator",
		CommonTo: response.OneRig, Key: b.identity, DegreesOfFreedom: s.FullScale.DegreesOfFreedom}
	budget := append(slices.Clone(relative),
		response.Component{Cause: calibrator, Effects: []float64{s.FullScale.Uncertainty}})
	for _, one := range b.stated {
		if absolute(one.Name) {
			budget = append(budget, response.Component{Cause: one.cause(""), Effects: []float64{one.Uncertainty}})
		}
	}
	return budget
}

// loudness sets the sensitivity per volt and milliwatt, and the highest level with the amplifier.
func (p *Pair) loudness(r *Results) error {
	b, d := p.bench, p.drive
	if err := d.check(); err != nil {
		return err
	}
	if b.sensitivity == nil {
		return nil
	}
	s := &Sound{Sensitivity: *b.sensitivity, Findings: slices.Clone(b.calibratorFindings),
		PerVolt: response.NotKnown(level.SoundPerVolt), PerMilliwatt: response.NotKnown(level.SoundPerMilliwatt),
		Impedance:  response.NotKnown(level.Ohm),
		PerVolt500: response.NotKnown(level.SoundPerVolt), PerMilliwatt500: response.NotKnown(level.SoundPerMilliwatt)}
	r.Sound = s
	if p.twoMicrophones() {
		r.Notes = append(r.Notes, "Left and right were recorded by two microphones, and the calibrator by one. Both are taken "+
			"to be equally sensitive, so their difference is part of the levels in dB SPL and of the channel balance (L−R); "+
			"record the calibrator on each, and set the gains until both read the same.")
	}
	if b.config.Stimulus == nil {
		s.SweepLevel = response.NotKnown(level.SoundPressure)
		return nil
	}
	// The division by the direct recording removed the interface's response. Sensitivity is defined
	// from samples played to samples recorded, so its level at 1 kHz is added again.
	recorded := r.Mean.Offset(b.directLevel())
	sweepLevel := recorded.At(1000) + b.config.Stimulus.Level() - decibel.OfPower(2)
	s.SweepLevel = s.Sensitivity.SPL(response.Figure{Value: sweepLevel, Unit: level.RecordedLevel})
	budget := b.absolute(r.Mean.Figure(1000).Budget, s.Sensitivity)
	s.SweepLevel = budget.Figure(s.SweepLevel.Value, s.SweepLevel.Unit)
	if d.Voltage.Value == 0 {
		return nil
	}
	output, err := level.OutputVoltage(d.Voltage, d.Peak)
	if err != nil {
		return err
	}
	perVolt, err := level.PerVoltCurve(recorded, s.Sensitivity, output)
	if err != nil {
		return err
	}
	sensitivity := func(f float64) (volt, milliwatt, impedance response.Figure, err error) {
		budget := append(b.absolute(r.Mean.Figure(f).Budget, s.Sensitivity), ofLevel("voltmeter",
			decibel.PerNeper, d.Voltage))
		volt, milliwatt, impedance = budget.Figure(perVolt.At(f), level.SoundPerVolt),
			response.NotKnown(level.SoundPerMilliwatt), r.impedanceAt(f)
		if !volt.Known() || !impedance.Known() {
			return volt, milliwatt, impedance, nil
		}
		milliwatt, err = level.PerMilliwatt(volt, impedance)
		budget = append(budget, ofLevel("impedance", decibel.PerNeper/2, impedance))
		return volt, budget.Figure(milliwatt.Value, milliwatt.Unit), impedance, err
	}
	s.at = sensitivity
	if s.PerVolt500, s.PerMilliwatt500, _, err = sensitivity(500); err != nil {
		return err
	}
	s.PerVolt, s.PerMilliwatt, s.Impedance, err = sensitivity(1000)
	r.Findings = append(r.Findings, unlikely(p.about.Name, s.PerVolt)...)
	if err != nil || !s.Impedance.Known() {
		return err
	}
	if d.Amplifier.MaxVoltage.Value == 0 && d.Amplifier.MaxCurrent.Value == 0 {
		return nil
	}
	highest, err := d.Amplifier.MaxSPL(s.PerVolt, s.Impedance)
	if err != nil {
		return err
	}
	if more := highest.Level.Uncertainty*highest.Level.Uncertainty - s.PerVolt.Uncertainty*s.PerVolt.Uncertainty; more >= 0 {
		amplifier := response.Component{Cause: response.Cause{Name: "amplifier", CommonTo: response.Everything},
			Effects: []float64{math.Sqrt(more)}}
		highest.Level = append(slices.Clone(s.PerVolt.Budget), amplifier).Figure(highest.Level.Value, highest.Level.Unit)
	}
	s.MaxSPL = &highest
	s.Findings = append(s.Findings, highest.Findings...)
	return nil
}

// unlikely returns a finding about a sensitivity that headphones do not have. Headphones and
// earphones of all kinds are known from 60 dB SPL/V, with a transformer, to 140 (common practice).
func unlikely(name string, perVolt response.Figure) []response.Finding {
	const least, most = 60, 140
	if !perVolt.Known() || perVolt.Value >= least && perVolt.Value <= most {
		return nil
	}
	f := doubt(name, WrongSetting, response.Warning)
	f.What = fmt.Sprintf("a sensitivity of %.0f dB SPL/V at 1 kHz is not that of headphones, which lie between %d and %d",
		perVolt.Value, least, most)
	f.Remedy = "look at the voltage, in V and not in mV, at the peak level of its tone, at the level of the calibrator, and " +
		"at the gain, which is the same for the calibrator and the headphones"
	return []response.Finding{f}
}

// ofLevel returns the component of a level in dB that comes from a factor: perNeper times its
// relative uncertainty.
func ofLevel(name string, perNeper float64, factor response.Figure) response.Component {
	cause := response.Cause{Name: name, CommonTo: response.Everything, DegreesOfFreedom: factor.DegreesOfFreedom}
	return response.Component{Cause: cause, Effects: []float64{perNeper * factor.Uncertainty / factor.Value}}
}
