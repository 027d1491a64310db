package session

import "fmt"

// checkElectrical returns an error for a number about sound pressure, voltage, impedance or
// distance that no instrument gives. Zero means that it is not stated.
func (s *Session) checkElectrical() error {
	type number struct {
		key         string
		value       float64
		least, most float64
		unit        string
	}
	for _, n := range []number{
		{"[calibrator] level", s.Calibrator.Level, 60, 140, "dB SPL"},
		{"[calibrator] frequency", s.Calibrator.Frequency, 50, 6000, "Hz"},
		{"[calibrator] tolerance", s.Calibrator.Tolerance, 0, 10, "dB"},
		{"[drive] volts", s.Drive.Volts, 0, 1000, "V"},
		{"[drive] peak", s.Drive.Peak, -120, 0, "dBFS"},
		{"[drive] uncertainty", s.Drive.Uncertainty, 0, 100, "%"},
		{"[drive] impedance", s.Drive.Impedance, 0.1, 1e6, "Ω"},
		{"[drive] impedance_uncertainty", s.Drive.ImpedanceUncertainty, 0, 100, "%"},
		{"[amplifier] max_volts", s.Amplifier.MaxVolts, 0, 1000, "V"},
		{"[amplifier] max_milliamps", s.Amplifier.MaxMilliamps, 0, 1e5, "mA"},
		{"[amplifier] output_ohms", s.Amplifier.OutputOhms, 0, 1e6, "Ω"},
		{"[impedance] series", s.ImpedanceFile.Series, 0.1, 1e6, "Ω"},
		{"[impedance] known", s.ImpedanceFile.Known, 0.1, 1e6, "Ω"},
		{"[impedance] tolerance", s.ImpedanceFile.Tolerance, 0, 50, "%"},
		{"[spill] metres", s.Spill.Metres, 0.01, 100, "m"},
	} {
		if n.value != 0 && !(n.value >= n.least && n.value <= n.most) {
			return fmt.Errorf("%s = %v; it lies from %v to %v %s: correct it, or leave it out if it is not known",
				n.key, n.value, n.least, n.most, n.unit)
		}
	}
	return nil
}
