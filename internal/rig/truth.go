package rig

import "math/cmplx"

// Truth is what a perfect measurement of one seating finds at f Hz once the
// direct recording is divided out: the driver, the seating, the plate, the
// microphone, and the difference of the two gains. It is for small signals;
// Headphones.Response says how far a real level departs from it. The latency
// and the interface are in both recordings and cancel.
func (r Rig) Truth(h Headphones, side Side, seating int, f float64) complex128 {
	return h.Response(side, f, float64(r.SampleRate)) * r.fromDriver(h, side, seating, f) *
		complex(factor(-r.DirectGain), 0)
}

// TruthAt is Truth for a steady tone of a peak amplitude, full scale being 1:
// what a sweep of that amplitude finds. It is not known (NaN) above 0.45 of the
// sample rate.
func (r Rig) TruthAt(h Headphones, side Side, seating int, f, amplitude float64) complex128 {
	return r.Harmonic(h, side, seating, 1, f, amplitude) / r.DirectHarmonic(1, f, amplitude)
}

// DirectResponse is the response of the loop-back at f Hz to a small signal,
// latency and gain included. A drift moves tones and is not in it.
func (r Rig) DirectResponse(f float64) complex128 {
	return r.input(f) * complex(factor(r.DirectGain), 0)
}

// Response is the response at f Hz from the stimulus to the recording through
// headphones: Truth times DirectResponse.
func (r Rig) Response(h Headphones, side Side, seating int, f float64) complex128 {
	return r.Truth(h, side, seating, f) * r.DirectResponse(f)
}

// DirectHarmonic is the n-th harmonic in the direct recording of a steady tone
// amplitude·sin(2πft), the phasor H of Im(H exp(j2πnft)): the interface's own.
// It is not known (NaN) where n·f is above 0.45 of the sample rate.
func (r Rig) DirectHarmonic(order int, f, amplitude float64) complex128 {
	nf := float64(order) * f
	if nf > passEdge*float64(r.SampleRate) {
		return cmplx.NaN()
	}
	return r.Interface.Distortion.Harmonic(order, amplitude) * r.DirectResponse(nf)
}

// Harmonic is the n-th harmonic in the recording through headphones of a steady
// tone amplitude·sin(2πft), the phasor H of Im(H exp(j2πnft)): what the driver adds, and what the interface added before
// it. What the driver makes of the interface's harmonics is left out; it is
// down by the level of both. It is not known (NaN) where n·f is above 0.45 of
// the sample rate.
func (r Rig) Harmonic(h Headphones, side Side, seating, order int, f, amplitude float64) complex128 {
	fs, nf := float64(r.SampleRate), float64(order)*f
	played := r.Interface.Distortion.Harmonic(1, amplitude)
	sum := h.Harmonic(side, order, f, real(played), fs)
	if order != 1 {
		sum += r.Interface.Distortion.Harmonic(order, amplitude) * h.Response(side, nf, fs)
	}
	return sum * r.fromDriver(h, side, seating, nf) * r.input(nf)
}

// fromDriver is the response from the driver's sound to the interface's input.
func (r Rig) fromDriver(h Headphones, side Side, seating int, f float64) complex128 {
	return chain(float64(r.SampleRate), r.seat(h, side, seating), r.Microphone).Response(f, float64(r.SampleRate)) *
		newPaths(0, r.Plate).response(f) * complex(factor(r.ThroughGain), 0)
}

// input is the response of the interface's input, latency included.
func (r Rig) input(f float64) complex128 {
	fs := float64(r.SampleRate)
	return chain(fs, r.Interface.Filters).Response(f, fs) * paths{{r.Latency / fs, 1}}.response(f)
}
