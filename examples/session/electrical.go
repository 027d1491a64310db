package session

import (
	"errors"
	"fmt"
	"math"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/level"
)

// ImpedanceFile is a recording of noise across a known resistor and the
// headphones in series: one channel has the voltage across both, the other that
// across the headphones alone.
type ImpedanceFile struct {
	File   string  `toml:"file"`
	Source int     `toml:"source"` // channel, from 1; 0 means the first
	Load   int     `toml:"load"`   // 0 means the second
	Series float64 `toml:"series"` // ohm
	// Reference is the same with a resistor of Known ohm in place of the
	// headphones; it takes out the difference between the channels.
	Reference string  `toml:"reference"`
	Known     float64 `toml:"known"`
	// Tolerance of the resistors in per cent; 0 means 1.
	Tolerance float64 `toml:"tolerance"`
}

// Isolation is noise from outside, recorded without headphones and under the
// cup.
type Isolation struct {
	Open       string `toml:"open"`       // without headphones
	Covered    string `toml:"covered"`    // under the cup
	Background string `toml:"background"` // under the cup, while the noise is off
}

// Spill is what is heard beside the headphones while they play.
type Spill struct {
	Beside     string  `toml:"beside"`     // while they play
	Background string  `toml:"background"` // there, while they do not
	Metres     float64 `toml:"metres"`     // from the cup to the microphone; 0 means 0.5
}

// resistor is a resistor's value with a standard uncertainty from its
// tolerance, a rectangular distribution (JCGM 100:2008, 4.3.7).
func resistor(ohms, tolerance float64) response.Figure {
	return response.Figure{Value: ohms, Uncertainty: ohms * or(tolerance, 1) / 100 / math.Sqrt(3), Unit: level.Ohm}
}

// channels reads the first channel, or those asked for, of a recording.
func (s *Session) channels(file string, numbers ...int) ([][]float64, int, error) {
	rec, err := capture.Read(s.path(file))
	if err != nil {
		return nil, 0, err
	}
	var out [][]float64
	for _, k := range numbers {
		x, err := rec.Channel(k)
		if err != nil {
			return nil, 0, err
		}
		out = append(out, x)
	}
	return out, rec.SampleRate, nil
}

// electrical measures impedance, isolation and spill, as far as the session has
// recordings for them.
func (m *Measurement) electrical(progress func(string)) error {
	for _, part := range []struct {
		file    string
		measure func() error
	}{
		{m.Session.ImpedanceFile.File, m.impedance},
		{m.Session.Isolation.Open, m.isolation},
		{m.Session.Spill.Beside, m.spill},
	} {
		if part.file == "" {
			continue
		}
		progress("reading " + part.file)
		if err := part.measure(); err != nil {
			return fmt.Errorf("%s: %w", part.file, err)
		}
	}
	return nil
}

func (m *Measurement) impedance() error {
	c := m.Session.ImpedanceFile
	ratio, err := m.ratio(c.File)
	if err != nil {
		return err
	}
	divider := level.Divider{Series: resistor(c.Series, c.Tolerance)}
	if c.Reference != "" {
		divider.Known = resistor(c.Known, c.Tolerance)
		if divider.Reference, err = m.ratio(c.Reference); err != nil {
			return err
		}
	}
	z, err := divider.Impedance(ratio)
	if err != nil {
		return err
	}
	m.Impedance = &z
	if a := m.Session.Amplifier; a.OutputOhms > 0 {
		loss, err := level.OutputLoss(z, response.Figure{Value: a.OutputOhms, Unit: level.Ohm})
		if err != nil {
			return err
		}
		m.OutputLoss = &loss
	}
	return nil
}

func (m *Measurement) ratio(file string) (*level.Ratio, error) {
	c := m.Session.ImpedanceFile
	x, rate, err := m.Session.channels(file, or(c.Source, 1), or(c.Load, 2))
	if err != nil {
		return nil, err
	}
	return level.RatioFromNoise(x[0], x[1], rate)
}

func (m *Measurement) isolation() error {
	c := m.Session.Isolation
	var r level.NoiseRecordings
	for _, f := range []struct {
		file string
		into *[]float64
	}{{c.Open, &r.Open}, {c.Covered, &r.Covered}, {c.Background, &r.Background}} {
		if f.file == "" {
			continue
		}
		x, rate, err := m.Session.channels(f.file, 1)
		if err != nil {
			return err
		}
		*f.into, r.SampleRate = x[0], rate
	}
	loss, err := level.InsertionLoss(r)
	if err != nil {
		return err
	}
	m.Isolation = &loss
	return nil
}

func (m *Measurement) spill() error {
	c := m.Session.Spill
	if m.Sound == nil {
		return errors.New("what spills is a level in dB SPL; add [calibrator] to the session")
	}
	beside, rate, err := m.Session.channels(c.Beside, 1)
	if err != nil {
		return err
	}
	background, _, err := m.Session.channels(c.Background, 1)
	if err != nil {
		return err
	}
	spill, err := level.MeasureSpill(level.SpillRecordings{
		SampleRate: rate, Sensitivity: m.Sound.Sensitivity, Beside: beside[0], Background: background[0],
		Distance: response.Figure{Value: or(c.Metres, 0.5), Uncertainty: 0.02, Unit: level.Metre},
	})
	if err != nil {
		return err
	}
	m.Spill = &spill
	return nil
}

// impedanceAt is the impedance at f Hz: measured, or else as the session states
// it at 1 kHz.
func (m *Measurement) impedanceAt(f float64) response.Figure {
	if z := m.Impedance; z != nil {
		c := z.Curve()
		if v := c.At(f); v == v {
			ohms := math.Pow(10, v/20)
			return response.Figure{Value: ohms, Uncertainty: ohms * math.Ln10 / 20 * c.UncertaintyAt(f), Unit: level.Ohm}
		}
	}
	if d := m.Session.Drive; d.Impedance > 0 && f == 1000 {
		return response.Figure{Value: d.Impedance, Uncertainty: d.Impedance * or(d.ImpedanceUncertainty, 5) / 100, Unit: level.Ohm}
	}
	return response.NotKnown(level.Ohm)
}
