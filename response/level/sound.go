package level

import (
	"fmt"
	"math"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// PerMilliwatt converts a sensitivity in dB SPL/V into one in dB SPL/mW, for an impedance in Ω:
//
//	per milliwatt = per volt − 10 log10(1000 Ω/Z),
//
// since a volt makes 1000/Z milliwatts in Z ohms (P = V²/Z). It holds at frequencies where the
// impedance has that magnitude.
func PerMilliwatt(perVolt, impedance response.Figure) (response.Figure, error) {
	if err := check(perVolt, "sensitivity", SoundPerVolt); err != nil {
		return response.NotKnown(SoundPerMilliwatt), err
	}
	if err := checkPositive(impedance, "impedance", Ohm); err != nil {
		return response.NotKnown(SoundPerMilliwatt), err
	}
	perMilliwatt := func(x []float64) float64 { return x[0] - decibel.OfPower(1000/x[1]) }
	return propagate(SoundPerMilliwatt, perMilliwatt, perVolt, impedance), nil
}

// OutputVoltage returns the voltage of the output for a sample of 1, in V/FS, from the rms voltage
// of a sine and its peak level in the file in dBFS (0 for full scale). The voltage is measured at
// the terminals of the headphones while they are connected:
//
//	√2 V · 10^(−peak/20)
//
// Measure at a frequency for which the voltmeter is accurate: 50 to 400 Hz for a handheld one.
func OutputVoltage(volts response.Figure, peak float64) (response.Figure, error) {
	if err := checkPositive(volts, "voltage at the terminals", Volt); err != nil {
		return response.NotKnown(VoltPerSample), err
	}
	if math.IsNaN(peak) || peak > 0 || math.IsInf(peak, 0) {
		return response.NotKnown(VoltPerSample), fmt.Errorf("level: peak level of the tone %w: %v dBFS; it is at most 0",
			ErrInput, peak)
	}
	scale := math.Sqrt2 / decibel.Amplitude(peak)
	return response.Figure{Value: scale * volts.Value, Uncertainty: scale * volts.Uncertainty, Unit: VoltPerSample}, nil
}

// PerVoltCurve converts a response into dB SPL/V. The response is from played to recorded samples
// (dB re full scale per full scale), with the calibration of the microphone applied; the output is
// from
// OutputVoltage. If the response was divided by that of a direct recording, the latter has to be
// relative to its value at 1 kHz.
//
// The uncertainty of sensitivity and output is common to all frequencies: it shifts the whole
// curve.
func PerVoltCurve(c response.Curve, mic Sensitivity, output response.Figure) (response.Curve, error) {
	if err := check(mic.FullScale, "sensitivity of the recording", SoundPressure); err != nil {
		return response.Curve{}, err
	}
	if err := checkPositive(output, "output voltage", VoltPerSample); err != nil {
		return response.Curve{}, err
	}
	shift := propagate(Decibel, func(x []float64) float64 { return x[0] - decibel.OfAmplitude(x[1]) },
		mic.FullScale, output)
	out := c.Offset(shift.Value)
	if c.Components != nil {
		everywhere := func(float64) float64 { return shift.Uncertainty }
		out = out.With(response.Cause{Name: "level", CommonTo: response.OnePair}, everywhere, math.Inf(1))
	} else {
		for i, own := range out.Uncertainty {
			out.Uncertainty[i] = math.Hypot(own, shift.Uncertainty)
		}
	}
	out.Reference = "20 µPa at 1 V"
	return out, nil
}
