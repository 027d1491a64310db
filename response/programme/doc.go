// Package programme measures the response of headphones from music or speech: a direct recording of
// the material is compared with the same material through the headphones. A frequency at which the
// material is too weak, or the two recordings do not agree, is not known.
//
// A sweep measures a device in one state only. Readers listen to music and voices, and some
// headphones change with what they play. Here the material itself is the stimulus: record it with
// the interface patched straight into itself, record it again through the headphones, and compare:
//
//	direct  x ──────────────┐
//	                        ├── align ── Welch spectra ── H, coherence, levels, residual
//	through y = h∗x + n ────┘   delay,   Sxx, Syy, Sxy
//	                            drift
//
// # Alignment
//
// The recordings may start at any time, differ in gain and polarity, and drift. A stretch of x is
// searched for in y at a low sample rate. Then delays are estimated by generalised
// cross-correlation (C. H. Knapp, G. C. Carter, IEEE Trans. ASSP 24(4), 1976, from memory),
//
//	R(τ) = ∫ ψ(f) Sxy(f) exp(j2πfτ) df,
//
// first with ψ = 1/|Sxy|, the phase transform, then with the weights of Hannan and Thomson, ψ =
// γ²/(1 − γ²)/|Sxy|, for which the peak is the maximum-likelihood delay. The delay of each of up to
// 64 segments is relative to what the mean of all segments predicts. So the phase of the
// headphones, which delays a dull segment more than a bright one, has no effect. The slope of a
// line through the delays, by weighted least squares, is the drift of the clock. A windowed sinc
// then reads y on the clock of x.
//
// The delay that is reported is what the phase of H has beyond the minimum phase of its magnitude:
// the travel of sound through air, and the latency of devices. Beyond the band of the material the
// magnitude is not known, but it contributes to the phase within. So the delay is fitted to the
// phase together with a plausible magnitude there, and its uncertainty contains what this leaves
// open. For speech at 16 kHz it is 1 µs to 10 µs after a filter, and less than a microsecond after
// a plain gain.
//
// # Spectra
//
// Both recordings are cut into overlapping segments under a Hann window, whose spectra are averaged
// (P. D. Welch, IEEE Trans. AU 15(2), 1967, from memory):
//
//	H1 = Sxy/Sxx             unbiased with noise in y
//	H2 = Syy/Syx             unbiased with noise in x
//	γ² = |Sxy|²/(Sxx Syy)    the share of Syy that a steady linear filter explains
//	ε  = √(1 − γ²)/(|γ| √(2 nd))    relative standard error of |H1|
//
// (J. S. Bendat, A. G. Piersol, Random Data, ch. 9). Point has the estimate by total least squares
// as well. Each octave further down has segments twice as long, from 85 ms for the top two octaves
// to 1.4 s for the bass, at a sample rate that is halved each time. The results are joined on one
// logarithmic grid. Where the material has no energy or the coherence is low, the response is not
// known.
//
// A segment of y is not exactly the filtered segment of x, since the filter rings across its ends.
// To first order in the length of the ring the difference is H'D, where H' is the slope of H and D
// is the transform of x under the slope of the window. Both are known, so the difference is
// subtracted. Otherwise it would pass for noise or scatter or, after an attack, for a wrong level.
//
// # Uncertainty
//
// Differences in third octaves are those of the levels that the same segments would show without
// the noise, with a 95 % interval. The edges of a window are not steep: below 60 Hz, on slopes of
// 24 dB per octave and more, the level in a band with ideal edges over the whole recording may
// differ by up to a decibel. So the uncertainty has a component, Unresolved, from the change that
// segments of half the length make, or a shift of an edge by a bin. Points of the response have it
// too.
//
// The uncertainty of a level is not taken from ε, since material is not steady noise, and what is
// not explained need not be noise either. Each resolution is divided by time into up to 32 pieces,
// and the uncertainty follows from how much these differ from the common filter (the sandwich
// estimate by clusters; White 1980), corrected for the leverage of each piece, with the degrees of
// freedom that follow from how the energy is distributed over the pieces (Bell & McCaffrey 2002,
// from memory). Over 100 draws of noise the intervals contain the truth in 93 % to 97 % of third
// octaves, for recorded speech and music, and for noise and bursts.
//
// The intervals are for this seating on this rig: see response.AverageOf for several seatings.
//
// # Residual
//
// 1 − γ² is the share of the through power that no linear, steady filter explains: noise,
// distortion, a head that moved, a device that adapts. A sweep cannot show it; Agreement says
// whether it matters. Its floor is leakage across the ends of segments to second order: a ring with
// time constant τ in segments of length T leaves about (τ/T)⁴ of its power, −60 dB to −80 dB for
// headphones. An echo later than half a segment counts as residual.
//
// # Levels
//
// Levels here are relative to full scale. Before you play material to people, see package level and
// the rules of your country about safe listening; this package does not know how loud it is.
package programme
