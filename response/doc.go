// Package response turns a recording of a sweep into a frequency response. It smooths, averages and
// compares responses as curves, and keeps what is known of their uncertainty and of their noise.
//
//	recording y ──▶ impulse response h ──▶ transfer function H ──▶ Curve
//	   Deconvolver.Impulse      Window, Transfer      Divide, Smoothed, Magnitude
//
// # From a recording to an impulse response
//
// What is recorded is the sweep x convolved with the device's impulse response h, so its spectrum
// is divided by that of the sweep as played:
//
//	H(f) = Y(f) X*(f) / (|X(f)|² + ε),   ε = 10⁻⁶ of the sweep's own power
//
// Inside the sweep's band the ε changes almost nothing (less than 0.0001 dB, up to 0.002 dB at the
// very ends); outside, where the sweep has no power, it keeps noise from being divided by zero
// (Kirkeby & Nelson, J. Audio Eng. Soc. 47(7/8), 1999; from memory). Each harmonic that the device
// adds comes before the linear response, the n-th by L ln n seconds (A. Farina, AES 108th
// Convention, 2000):
//
//	  5th   4th     3rd          2nd                     linear
//	   .     .       |            |                         █
//	   .     |       |            █                         █▄
//	───┴─────┴───────┴────────────┴─────────────────────────┴▀─────▶ time
//	 −L ln 5       −L ln 3      −L ln 2                   delay
//
// Impulse is all that a response needs. Separate also takes the harmonics apart, for package
// distortion.
//
// # Window
//
// A window around the peak leaves out the harmonics, and the noise and reflections that come later.
// It also limits the band: T seconds after the peak say nothing about frequencies below 1/T Hz, and
// the valid band begins there.
//
// # The headphones and the rig
//
// The interface and the recorder are in every recording. They are measured by patching the
// interface into itself, and divided out:
//
//	H(f) = H_through(f) / H_direct(f)
//
// Window both to the same lengths, so that both have the same bins.
//
// # Reading the phase
//
// The phase of H is counted from time zero, so that a delay of τ seconds turns it by −2πfτ. Take
// the bulk delay out first (Delay, Delayed). The rest is the phase that any device of this
// magnitude must have (MinimumPhase) and the excess over it (ExcessPhase): delay, all-pass
// behaviour, reversed polarity.
//
// # What is not known
//
// A Transfer and a Curve carry the band in which they are valid. Values that are not known, there
// and outside, are NaN, never zero. A Curve also carries its uncertainty, its reference and the rig
// it was measured on; curves of different rigs are not combined unless the caller clears a Rig.
//
// Frequencies are in Hz, levels in dB with their reference named, phase in radians, times in
// seconds; samples have full scale 1.
package response
