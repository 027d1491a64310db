package level

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// ReferencePressure is what 0 dB SPL is, in pascals rms: 20 µPa.
const ReferencePressure = 20e-6

// SPL is the level in dB SPL of an rms pressure in Pa: 20 log10(p/20 µPa). Nothing at all has no level: NaN.
func SPL(pascals float64) float64 { return decibel.OfAmplitude(pascals / ReferencePressure) }

// Pascals is the rms pressure in Pa at a level in dB SPL. 94 dB SPL is 1.002 Pa.
func Pascals(spl float64) float64 { return ReferencePressure * decibel.Amplitude(spl) }

// PerVolt converts a sensitivity in dB SPL/mW into one in dB SPL/V, for an impedance in Ω:
//
//	per volt = per milliwatt + 10 log10(1000 Ω/Z),
//
// since a volt makes 1000/Z milliwatts in Z ohms (P = V²/Z). It holds at frequencies where the impedance has that magnitude.
func PerVolt(perMilliwatt, impedance response.Figure) (response.Figure, error) {
	return convert(perMilliwatt, impedance, SoundPerMilliwatt, SoundPerVolt, +1)
}

// PerMilliwatt converts a sensitivity in dB SPL/V into one in dB SPL/mW, the inverse of PerVolt.
func PerMilliwatt(perVolt, impedance response.Figure) (response.Figure, error) {
	return convert(perVolt, impedance, SoundPerVolt, SoundPerMilliwatt, -1)
}

func convert(sensitivity, impedance response.Figure, from, to string, sign float64) (response.Figure, error) {
	if err := check(sensitivity, "sensitivity", from); err != nil {
		return response.NotKnown(to), err
	}
	if err := checkPositive(impedance, "impedance", Ohm); err != nil {
		return response.NotKnown(to), err
	}
	return propagate(to, func(x []float64) float64 { return x[0] + sign*decibel.OfPower(1000/x[1]) }, sensitivity, impedance), nil
}

// OutputVoltage is what the output gives for a sample of 1, in V/FS: from the rms voltage of a sine, measured at the terminals of the
// headphones while they are connected, and the peak level of that sine in the file, in dBFS (0 for full scale):
//
//	√2 V · 10^(−peak/20)
//
// Measure at a frequency at which the voltmeter is good, as a handheld one is from 50 to 400 Hz.
func OutputVoltage(volts response.Figure, peak float64) (response.Figure, error) {
	if err := checkPositive(volts, "voltage at the terminals", Volt); err != nil {
		return response.NotKnown(VoltPerSample), err
	}
	if math.IsNaN(peak) || peak > 0 || math.IsInf(peak, 0) {
		return response.NotKnown(VoltPerSample), fmt.Errorf("level: peak level of the tone %w: %v dBFS; it is at most 0", ErrInput, peak)
	}
	scale := math.Sqrt2 / decibel.Amplitude(peak)
	return response.Figure{Value: scale * volts.Value, Uncertainty: scale * volts.Uncertainty, Unit: VoltPerSample}, nil
}

// PerVoltCurve turns a response into dB SPL/V. The response is from played to recorded samples (dB re full scale per full scale), with
// the microphone's calibration already applied; the output is from OutputVoltage. The interface's own response, if it was taken out by
// dividing by a direct recording, has to have been taken out as a shape, 0 dB at 1 kHz.
//
// The uncertainty of sensitivity and output is common to all frequencies: it moves the curve as a whole.
func PerVoltCurve(c response.Curve, mic Sensitivity, output response.Figure) (response.Curve, error) {
	if err := check(mic.FullScale, "sensitivity of the recording", SoundPressure); err != nil {
		return response.Curve{}, err
	}
	if err := checkPositive(output, "output voltage", VoltPerSample); err != nil {
		return response.Curve{}, err
	}
	shift := propagate(Decibel, func(x []float64) float64 { return x[0] - decibel.OfAmplitude(x[1]) }, mic.FullScale, output)
	return shifted(c, shift, "20 µPa at 1 V"), nil
}

// PerMilliwattCurve turns dB SPL/V into dB SPL/mW for a nominal impedance in Ω, as PerMilliwatt does: one shift at all
// frequencies, which is what a maker's figure at nominal impedance means.
func PerMilliwattCurve(c response.Curve, impedance response.Figure) (response.Curve, error) {
	shift, err := PerMilliwatt(response.Figure{Unit: SoundPerVolt}, impedance)
	if err != nil {
		return response.Curve{}, err
	}
	return shifted(c, shift, fmt.Sprintf("20 µPa at 1 mW in %.4g Ω", impedance.Value)), nil
}

// shifted moves a curve to another reference by a figure in dB.
func shifted(c response.Curve, by response.Figure, reference string) response.Curve {
	out := c.Offset(by.Value)
	out.Reference = reference
	if c.Uncertainty != nil {
		out.Uncertainty = make([]float64, len(c.Uncertainty))
		for i, u := range c.Uncertainty {
			out.Uncertainty[i] = math.Hypot(u, by.Uncertainty)
		}
	}
	return out
}
