// Package tone measures distortion with steady tones: one, two, or many at once. It is the classic
// way, to check what a sweep gives and to measure intermodulation. Package sweep makes the tones.
//
//   - [Analyse]: one tone. Harmonics, THD, THD+N, noise.
//   - [Modulation], [Difference]: two tones. Modulation distortion and difference-frequency distortion.
//   - [AnalyseMultitone]: many tones at once, and everything that is not the tones.
//
// # How
//
// The model of a recording x is an offset, lines, and noise,
//
//	x(t) = C + Σ Re(cₖ exp(j2πfₖt)) + noise,
//
// where every fₖ is a whole multiple of the tone's frequency (or m f₁ + n f₂ for two tones).
// Offset, amplitudes, phases and the frequency itself are found together by least squares, as in
// the four-parameter sine fit of IEEE Std 1057 and 1241. So a recording need not hold a whole
// number of periods, and a difference between the clocks of player and recorder does no harm. The
// standard gives all samples the same weight; this fit weights them by a Hann window. Hum and other
// components that are not in the model then leak into a harmonic x bins away by 1/x³ instead of
// 1/x, at the cost of 1.76 dB more noise.
//
// # Uncertainty
//
// The remainder of the fit is the noise. Its density S around a line, in power
// per Hz, gives the standard uncertainty of each quadrature of the line's
// amplitude,
//
//	u = √(S B),  B = fs Σw² / (Σw)²,  about 1.5 Hz over a second,
//
// and the floor √2 u, the rms amplitude of noise alone. Distortion is a [distortion.Reading] above
// that floor, as that of a sweep is: the floor's power is subtracted, intervals hold in 95 of 100
// readings above the margin, and a reading within 6 dB of the floor is not known but has a bound. A
// line above half the sample rate or above Config.MaxFrequency is not known either. Neither is ever
// zero.
//
// # Before playing any of this
//
// Steady tones put all their power into one place in the voice coil and in the ear, for as long as
// they last. Take the headphones off your head, start at the lowest level and raise it in steps;
// high tones can be too loud long before they sound so. For limits, defer to local rules and to
// professionals.
package tone
