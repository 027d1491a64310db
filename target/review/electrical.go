package review

import (
	"errors"

	"example.com/earnest/response"
	"example.com/earnest/response/level"
)

// ImpedanceRecordings are noise across a known resistor and the headphones in series: one channel
// has the voltage across both, the other that across the headphones alone.
type ImpedanceRecordings struct {
	Source, Load Channel
	// Series is the resistor in Ω.
	Series response.Figure
	// ReferenceSource and ReferenceLoad are the same with a resistor of Known Ω in place of the
	// headphones, which takes out the difference between the channels; they may be left out.
	ReferenceSource, ReferenceLoad Channel
	Known                          response.Figure
}

// Drive says how the pair was driven.
func (p *Pair) Drive(d Drive) { p.drive = d }

// Impedance measures the magnitude of the pair's impedance. The errors are those of level.Divider.
func (p *Pair) Impedance(r ImpedanceRecordings) error {
	ratio, err := voltageRatio(r.Source, r.Load)
	if err != nil {
		return err
	}
	divider := level.Divider{Series: r.Series}
	if r.ReferenceSource.Recording != nil {
		divider.Known = r.Known
		if divider.Reference, err = voltageRatio(r.ReferenceSource, r.ReferenceLoad); err != nil {
			return err
		}
	}
	z, err := divider.Impedance(ratio)
	if err != nil {
		return err
	}
	p.impedance = &z
	return nil
}

func voltageRatio(source, load Channel) (*level.Ratio, error) {
	a, rate, err := source.samples(1)
	if err != nil {
		return nil, err
	}
	b, _, err := load.samples(2)
	if err != nil {
		return nil, err
	}
	return level.RatioFromNoise(a, b, rate)
}

// samples are those of a channel, of the one given where none is named.
func (c Channel) samples(otherwise int) (x []float64, sampleRate int, err error) {
	if c.Number != 0 {
		otherwise = c.Number
	}
	x, err = c.Recording.Channel(otherwise)
	return x, c.Recording.SampleRate, err
}

// Isolation measures how much the cup takes off noise from outside: open is recorded without
// headphones, covered under the cup, and background there while the noise is off; it may be left
// out. The errors are those of level.InsertionLoss.
func (p *Pair) Isolation(open, covered, background Channel) error {
	var r level.NoiseRecordings
	for _, one := range []struct {
		Channel
		into *[]float64
	}{{open, &r.Open}, {covered, &r.Covered}, {background, &r.Background}} {
		if one.Recording == nil {
			continue
		}
		x, rate, err := one.samples(1)
		if err != nil {
			return err
		}
		*one.into, r.SampleRate = x, rate
	}
	loss, err := level.InsertionLoss(r)
	if err != nil {
		return err
	}
	p.isolation = &loss
	return nil
}

// SoundLeakage measures what is heard beside the pair while it plays, and background there while it
// does not, at a distance in metres from the cup. The errors are those of level.MeasureSpill; the
// bench must have a calibrator.
func (p *Pair) SoundLeakage(beside, background Channel, distance response.Figure) error {
	if p.bench.sensitivity == nil {
		return errors.New("what spills is a level in dB SPL; add [calibrator] to the session")
	}
	x, rate, err := beside.samples(1)
	if err != nil {
		return err
	}
	still, _, err := background.samples(1)
	if err != nil {
		return err
	}
	leakage, err := level.MeasureSoundLeakage(level.SoundLeakageRecordings{
		SampleRate: rate, Sensitivity: *p.bench.sensitivity, Beside: x, Background: still, Distance: distance,
	})
	if err != nil {
		return err
	}
	p.leakage = &leakage
	return nil
}

// outputLoss is what the amplifier's output impedance makes of the response; nil where that or the
// impedance is not known.
func (p *Pair) outputLoss() (*response.Curve, error) {
	output := p.drive.Amplifier.OutputImpedance
	if p.impedance == nil || output.Value <= 0 {
		return nil, nil
	}
	loss, err := level.OutputLoss(*p.impedance, output)
	return &loss, err
}

// impedanceAt is the impedance at f Hz: measured, or else as it is stated for 1 kHz.
func (r *Results) impedanceAt(f float64) response.Figure {
	if r.Impedance != nil {
		if z := r.Impedance.At(f); z.Known() {
			return z
		}
	}
	if stated := r.Drive.Impedance; stated.Value > 0 && f == 1000 {
		return stated
	}
	return response.NotKnown(level.Ohm)
}
