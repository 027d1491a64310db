// Package tone measures distortion with steady tones: one, two, many at once, or one after another.
// It is the classic way, to check what a sweep gives and to measure intermodulation.
//
//   - [Analyse]: one tone. Harmonics, THD, THD+N, SINAD, noise, effective bits.
//   - [Stepped]: one tone after another across a band, for distortion against
//     frequency as a sweep gives it.
//   - [TwoTones]: modulation distortion and difference-frequency distortion.
//   - [Multitone]: many tones at once, and everything that is not the tones.
//
// # How
//
// A recording x is taken as an offset, lines, and noise,
//
//	x(t) = C + Σ Re(cₖ exp(j2πfₖt)) + noise,
//
// where every fₖ is a whole multiple of the tone's frequency (or m f₁ + n f₂ of
// two tones), and offset, amplitudes, phases and the frequency itself are found
// together by least squares, as in the four-parameter sine fit of IEEE Std 1057
// and 1241. So no whole number of periods is needed, and a recorder whose clock
// differs from the player's does no harm. Where the standard's sum counts every
// sample alike, this one weights them by a Hann window: what is not in the
// model, such as hum, then leaks into a harmonic x bins away by 1/x³ and not by
// 1/x, at a price of 1.76 dB more noise. [FitSine] is the standard's own.
//
// # How sure
//
// What remains after the fit is the noise. Its density S around a line, one
// value per Hz, gives the standard uncertainty of each quadrature of the line's
// amplitude,
//
//	u = √(S B),  B = fs Σw² / (Σw)²,  about 1.5 Hz over a second,
//
// and the floor √2 u: the amplitude that noise alone shows there, root mean
// square. A line within 6 dB of it is reported as below the floor, with a bound
// that holds in 95 cases of 100; one above half the sample rate or the
// microphone's range is not known. Neither is ever zero.
//
// # Before playing any of this
//
// Steady tones put all their power into one place, for as long as they last, in the
// voice coil and in the ear. Take the headphones off your head, start at the
// lowest level and raise it in steps; high tones can be too loud long before
// they sound so. For limits, defer to local rules and to professionals.
package tone
