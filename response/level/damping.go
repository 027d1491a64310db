package level

import (
	"math"
	"math/cmplx"
	"slices"

	"example.com/earnest/internal/decibel"
	"example.com/earnest/response"
)

// OutputLoss returns the change in response from an output impedance Zo, in Ω and resistive, with
// the impedance of the headphones,
//
//	20 log10 |Z/(Z + Zo)|  dB re an output of no impedance
//
// by circuit theory. It is lower where the impedance is low; a constant Z gives a constant loss.
// Added to a response measured on an output of no impedance, it gives the response on this output.
//
// If only the magnitude of Z is known, Z is taken as resistive, which gives the greatest loss. The
// phase of a passive load lies within ±90°, so the loss lies in the range
//
//	from 20 log10 |Z|/(|Z| + Zo)  to  20 log10 |Z|/√(|Z|² + Zo²)
//
// which is added to the uncertainty as a rectangular distribution (JCGM 100:2008, 4.3.7). Its half
// width is the whole range, since the range lies on one side of the loss.
//
// The uncertainty is not known if that of the impedance or of Zo is not.
func OutputLoss(z Impedance, output response.Figure) (response.Curve, error) {
	if err := checkOutput(output); err != nil {
		return response.Curve{}, err
	}
	c := response.Curve{Frequency: slices.Clone(z.Frequency), Level: make([]float64, len(z.Ohms)),
		Reference: "an output of no impedance", Valid: z.Valid}
	if z.Uncertainty != nil && !math.IsNaN(output.Uncertainty) {
		c.Uncertainty = make([]float64, len(z.Ohms))
	}
	for i, v := range z.Ohms {
		if !z.Valid.Contains(z.Frequency[i]) {
			v = cmplx.NaN()
		}
		u := math.NaN()
		if z.Uncertainty != nil {
			u = z.Uncertainty[i]
		}
		loss := lossIn(v, u, output, z.PhaseKnown)
		c.Level[i] = loss.Value
		if c.Uncertainty != nil {
			c.Uncertainty[i] = loss.Uncertainty
		}
	}
	return c, nil
}

// lossIn returns the loss at one frequency, where u is the uncertainty of the magnitude of z.
func lossIn(z complex128, u float64, output response.Figure, phaseKnown bool) response.Figure {
	size := cmplx.Abs(z)
	turn := z / complex(size, 0)
	loss := propagate(Decibel, func(x []float64) float64 {
		load := complex(x[0], 0) * turn
		return decibel.OfAmplitude(cmplx.Abs(load / (load + complex(x[1], 0))))
	}, response.Figure{Value: size, Uncertainty: u, Unit: Ohm}, output)
	if !phaseKnown {
		most := decibel.OfAmplitude(size / math.Hypot(size, output.Value))
		loss.Uncertainty = math.Hypot(loss.Uncertainty, (most-loss.Value)/math.Sqrt(3))
	}
	return loss
}
