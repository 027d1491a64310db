package review

import (
	"cmp"
	"errors"
	"fmt"

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

func (r ImpedanceRecordings) impedance() (z level.Impedance, err error) {
	ratio, err := voltageRatio(r.Source, r.Load)
	if err != nil {
		return z, err
	}
	divider := level.Divider{Series: r.Series}
	if r.ReferenceSource.given() || r.ReferenceLoad.given() {
		divider.Known = r.Known
		if divider.Reference, err = voltageRatio(r.ReferenceSource, r.ReferenceLoad); err != nil {
			return z, err
		}
	}
	return divider.Impedance(ratio)
}

var errNoRecording = errors.New("review: there is no recording")

// missing returns an error for a channel that is not named; role says which of the recordings it
// is.
func (c Channel) missing(role string) error {
	if c.given() {
		return nil
	}
	return fmt.Errorf("%w %s; name it", errNoRecording, role)
}

// Drive sets how the pair was driven.
func (p *Pair) Drive(d Drive) { p.drive = d }

// Impedance measures the magnitude of the pair's impedance. It returns the errors of level.Divider
// and Channel.Err. The results then name the error, and the impedance is not known.
func (p *Pair) Impedance(r ImpedanceRecordings) error {
	z, err := r.impedance()
	if err != nil {
		p.recordings.unusable(cmp.Or(r.Load.name(), r.Source.name()), "the impedance is not known", err)
		return err
	}
	p.impedance = &z
	return nil
}

// given reports whether a channel was named, readable or not.
func (c Channel) given() bool { return c.Recording != nil || c.Err != nil }

// samples returns the samples of a channel; if the channel has no number, of channel otherwise.
func (c Channel) samples(otherwise int) (x []float64, sampleRate int, err error) {
	if c.Err != nil || c.Recording == nil {
		return nil, 0, cmp.Or(c.Err, errNoRecording)
	}
	if c.Number != 0 {
		otherwise = c.Number
	}
	x, err = c.Recording.Channel(otherwise)
	return x, c.Recording.SampleRate, err
}

// Isolation measures how much the cup attenuates noise from outside. Open is recorded without
// headphones, covered under the cup, and background under the cup with the noise off; background
// may be left out. It returns the errors of level.InsertionLoss and Channel.Err. The results then
// name the error, and the isolation is not known.
func (p *Pair) Isolation(open, covered, background Channel) error {
	loss, err := insertionLoss(open, covered, background)
	if err != nil {
		p.recordings.unusable(cmp.Or(covered.name(), open.name()), "the isolation is not known", err)
		return err
	}
	p.isolation = &loss
	return nil
}

// SoundLeakage measures the sound beside the pair while it plays, at a distance in metres from the
// cup; background is recorded there while it does not play. The bench must have a calibrator. It
// returns the errors of level.MeasureSoundLeakage and Channel.Err. The results then name the error,
// and the leakage is not known.
func (p *Pair) SoundLeakage(beside, background Channel, distance response.Figure) error {
	leakage, err := p.bench.soundLeakage(beside, background, distance)
	if err != nil {
		p.recordings.unusable(beside.name(), "the sound leakage is not known", err)
		return err
	}
	p.leakage = &leakage
	return nil
}

func (b *Bench) soundLeakage(beside, background Channel, distance response.Figure) (out level.SoundLeakage, err error) {
	if b.sensitivity == nil && b.config.Calibrator != nil {
		return out, errors.New("a level in dB SPL needs the calibrator's tone, which cannot be used; record it again")
	}
	if b.sensitivity == nil {
		return out, errors.New("a level in dB SPL needs a calibrator's tone; record one, and add " +
			"[calibrator] to the session")
	}
	if err := cmp.Or(beside.missing("beside the headphones while they play"),
		background.missing("beside the headphones while they are silent")); err != nil {
		return out, err
	}
	x, rate, err := beside.samples(1)
	if err != nil {
		return out, err
	}
	still, other, err := background.samples(1)
	if err == nil {
		err = sameRate(rate, other)
	}
	if err != nil {
		return out, err
	}
	r := level.SoundLeakageRecordings{
		SampleRate: rate, Sensitivity: *b.sensitivity, Beside: x, Background: still, Distance: distance,
	}
	if b.microphone != nil {
		r.Correction = b.microphone.Correction()
	}
	return level.MeasureSoundLeakage(r)
}

// outputLoss returns the change of the response in dB by the amplifier's output impedance; nil if
// that or the impedance is not known.
func (p *Pair) outputLoss() (*response.Curve, error) {
	output := p.drive.Amplifier.OutputImpedance
	if p.impedance == nil || output.Value <= 0 {
		return nil, nil
	}
	loss, err := level.OutputLoss(*p.impedance, output)
	return &loss, err
}

// impedanceAt returns the impedance at f Hz, measured or, failing that, as stated for 1 kHz.
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

// sameRate returns an error if two sample rates in Hz differ.
func sameRate(a, b int) error {
	if a != b {
		return fmt.Errorf("recordings do not match: one is at %d Hz, another at %d Hz; record all at one rate", a, b)
	}
	return nil
}

func voltageRatio(source, load Channel) (*level.Ratio, error) {
	if err := cmp.Or(source.missing("of the source's voltage"), load.missing("of the load's voltage")); err != nil {
		return nil, err
	}
	a, rate, err := source.samples(1)
	if err != nil {
		return nil, err
	}
	b, other, err := load.samples(2)
	if err == nil {
		err = sameRate(rate, other)
	}
	if err != nil {
		return nil, err
	}
	return level.RatioFromNoise(a, b, rate)
}

func insertionLoss(open, covered, background Channel) (loss level.BandLevels, err error) {
	if err := cmp.Or(open.missing("of the noise without headphones"), covered.missing("of the noise under the cup")); err != nil {
		return loss, err
	}
	var r level.NoiseRecordings
	for _, one := range []struct {
		Channel
		into *[]float64
	}{{open, &r.Open}, {covered, &r.Covered}, {background, &r.Background}} {
		if !one.given() {
			continue
		}
		x, rate, err := one.samples(1)
		if err == nil {
			err = sameRate(cmp.Or(r.SampleRate, rate), rate)
		}
		if err != nil {
			return loss, err
		}
		*one.into, r.SampleRate = x, rate
	}
	return level.InsertionLoss(r)
}
