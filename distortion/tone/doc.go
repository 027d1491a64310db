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
// where every fₖ is a whole multiple of the tone's frequency (or m f₁ + n f₂ of
// two tones), and offset, amplitudes, phases and the frequency itself are found
// together by least squares, as in the four-parameter sine fit of IEEE Std 1057
// and 1241. So a recording needs no whole number of periods, and a difference
// between the clocks of player and recorder does no harm. The standard weights
// all samples alike; this fit weights them by a Hann window. Hum and whatever
// else is not in the model then leaks into a harmonic x bins away by 1/x³
// instead of 1/x, at the cost of 1.76 dB more noise.
//
// # Uncertainty
//
// The remainder of the fit is the noise. Its density S around a line, in power
// per Hz, gives the standard uncertainty of each quadrature of the line's
// amplitude,
//
//	u = √(S B),  B = fs Σw² / (Σw)²,  about 1.5 Hz over a second,
//
// and the floor √2 u: the amplitude that noise alone shows there, root mean
// square. Distortion is a [distortion.Reading] above that floor, as that of a sweep
// is: the floor's power is taken off, intervals hold in 95 cases of 100 of those
// that are told, and what is within 6 dB of the floor is not known and has a bound.
// A line above half the sample rate or above Config.MaxFrequency is not known
// either. Neither is ever zero.
//
// # Before playing any of this
//
// Steady tones put all their power into one place, for as long as they last, in the
// voice coil and in the ear. Take the headphones off your head, start at the
// lowest level and raise it in steps; high tones can be too loud long before
// they sound so. For limits, defer to local rules and to professionals.
package tone
