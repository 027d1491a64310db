package rig

import "math/cmplx"

// Truth returns the result of a perfect measurement of one seating at f Hz after division by the
// direct recording: the driver, the seating, the plate, the microphone, and the difference of the
// two gains. It is for small signals; Headphones.Response states the difference at a real level.
// The latency and the interface are in both recordings and cancel.
func (r Rig) Truth(h Headphones, side Side, seating int, f float64) complex128 {
	return h.Response(side, f, float64(r.SampleRate)) * r.fromDriver(h, side, seating, f) *
		complex(factor(-r.DirectGain), 0)
}

// TruthAt is like Truth but for a steady tone of a peak amplitude, with full scale 1: the result of
// a sweep of that amplitude. It is not known (NaN) above 0.45 of the sample rate.
func (r Rig) TruthAt(h Headphones, side Side, seating int, f, amplitude float64) complex128 {
	return r.Harmonic(h, side, seating, 1, f, amplitude) / r.DirectHarmonic(1, f, amplitude)
}

// DirectResponse returns the response of the loop-back at f Hz to a small signal, with latency and
// gain. It does not include a drift, which moves tones.
func (r Rig) DirectResponse(f float64) complex128 {
	return r.input(f) * complex(factor(r.DirectGain), 0)
}

// Response returns the response at f Hz from the stimulus to the recording through headphones:
// Truth times DirectResponse.
func (r Rig) Response(h Headphones, side Side, seating int, f float64) complex128 {
	return r.Truth(h, side, seating, f) * r.DirectResponse(f)
}

// DirectHarmonic returns the n-th harmonic in the direct recording of a steady tone
// amplitude·sin(2πft), the phasor H of Im(H exp(j2πnft)): the interface's own. It is not known
// (NaN) for n·f above 0.45 of the sample rate.
func (r Rig) DirectHarmonic(order int, f, amplitude float64) complex128 {
	nf := float64(order) * f
	if nf > passEdge*float64(r.SampleRate) {
		return cmplx.NaN()
	}
	return r.Interface.Distortion.Harmonic(order, amplitude) * r.DirectResponse(nf)
}

// Harmonic returns the n-th harmonic in the recording through headphones of a steady tone
// amplitude·sin(2πft), the phasor H of Im(H exp(j2πnft)): the driver's and, through the driver, the
// interface's. It leaves out the driver's distortion of the interface's harmonics, which is lower
// by the level of both. It is not known (NaN) for n·f above 0.45 of the sample rate.
func (r Rig) Harmonic(h Headphones, side Side, seating, order int, f, amplitude float64) complex128 {
	fs, nf := float64(r.SampleRate), float64(order)*f
	played := r.Interface.Distortion.Harmonic(1, amplitude)
	sum := h.Harmonic(side, order, f, real(played), fs)
	if order != 1 {
		sum += r.Interface.Distortion.Harmonic(order, amplitude) * h.Response(side, nf, fs)
	}
	return sum * r.fromDriver(h, side, seating, nf) * r.input(nf)
}

// fromDriver returns the response from the driver's sound to the interface's input.
func (r Rig) fromDriver(h Headphones, side Side, seating int, f float64) complex128 {
	return chain(float64(r.SampleRate), r.seat(h, side, seating), r.Microphone).Response(f, float64(r.SampleRate)) *
		newPaths(0, r.Plate).response(f) * complex(factor(r.ThroughGain), 0)
}

// input returns the response of the interface's input, with latency.
func (r Rig) input(f float64) complex128 {
	fs := float64(r.SampleRate)
	return chain(fs, r.Interface.Filters).Response(f, fs) * paths{{r.Latency / fs, 1}}.response(f)
}
