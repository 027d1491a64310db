// Package programme measures the response of headphones from music or speech: a direct recording of
// the material is compared with the same material through the headphones. A frequency at which the
// material is too weak, or the two recordings do not agree, is not known.
//
// A sweep measures a device in the one state that a sweep puts it in. Readers
// listen to music and voices, and some headphones change with what they play.
// Here the material itself is the stimulus: record it with the interface
// patched straight into itself, record it again through the headphones, and
// compare:
//
//	direct  x ──────────────┐
//	                        ├── align ── Welch spectra ── H, coherence, levels, residual
//	through y = h∗x + n ────┘   delay,   Sxx, Syy, Sxy
//	                            drift
//
// # Alignment
//
// The recordings may start anywhere, differ in gain and polarity, and drift. A
// stretch of x is sought in y at a low rate; then delays are taken by generalised
// cross-correlation (C. H. Knapp, G. C. Carter, IEEE Trans. ASSP 24(4), 1976,
// from memory),
//
//	R(τ) = ∫ ψ(f) Sxy(f) exp(j2πfτ) df,
//
// first with ψ = 1/|Sxy|, the phase transform, then with the weights of Hannan
// and Thomson, ψ = γ²/(1 − γ²)/|Sxy|, which make the peak the maximum-likelihood
// delay. Each of up to 64 segments is held against what the mean of all
// predicts, so that the phase of the headphones, through which a dull segment
// would come later than a bright one, does not count; a straight line through
// the delays, by weighted least squares, is the clock's drift. y is then read
// on x's clock by a windowed sinc. The minimum phase that belongs to the
// magnitude of H is no delay: what is reported is what remains, sound in air and
// machines that take their time. Beyond the material's own band the magnitude is
// not known, and yet turns the phase within; so the delay is fitted to the phase
// together with a plausible magnitude there, and its uncertainty contains what
// remains open. Speech at 16 kHz leaves 1 µs to 10 µs after a filter, and less than a
// microsecond after a plain gain.
//
// # Spectra
//
// Both are cut into overlapping segments under a Hann window whose spectra
// are averaged (P. D. Welch, IEEE Trans. AU 15(2), 1967, from memory):
//
//	H1 = Sxy/Sxx             unbiased with noise in y
//	H2 = Syy/Syx             unbiased with noise in x
//	γ² = |Sxy|²/(Sxx Syy)    the share of Syy that a steady linear filter explains
//	ε  = √(1 − γ²)/(|γ| √(2 nd))    standard error of |H1|, relative
//
// (J. S. Bendat, A. G. Piersol, Random Data, ch. 9); Point has the
// estimate by total least squares as well. Every octave further down has segments twice as long, from 85 ms
// for the top two octaves to 1.4 s for the bass, taken at a sample rate halved
// as often; the results are joined on one logarithmic grid. Where the material has
// no energy or the coherence is low, nothing is known.
//
// A segment of y is not quite what the filter makes of the segment of x, for the
// filter rings across its ends. To first order in the length of the ring that
// is H'D, H' being the slope of H and D the transform of x under the slope of the
// window; both are known, so it is taken out of what would otherwise pass for noise,
// for scatter or, after an attack, for a wrong level.
//
// # What is uncertain
//
// Differences in third octaves are those of the levels that the same segments
// would show without the noise, and come with a 95 % interval. A window has no sharp
// edges: on slopes of 24 dB per octave and more below 60 Hz a band of infinitely
// steep edges over the whole recording may differ by up to a decibel.
//
// The uncertainty of a level is not taken from ε, for material is not steady noise
// and what is left over need not be noise either: each resolution of segments is divided
// by time into up to 32 pieces, and how much they disagree with the common filter
// says how sure it is (the sandwich estimate by clusters; White 1980), each piece
// freed from how the fit leans on it, and with the degrees of freedom that the
// energy's distribution over the pieces leaves (Bell & McCaffrey 2002, from memory).
// Over 100 draws of noise the intervals hold the truth in 93 % to 97 % of third
// octaves, for recorded speech and music, and for noise and bursts.
//
// They are about this seating on this rig: see response.AverageOf for several.
//
// # What remains
//
// 1 − γ² is the share of what no linear, steady filter explains: noise,
// distortion, a head that moved, a device that adapts. Its floor is what falls
// across the ends of segments to second order: a ring of time constant τ in segments
// of T leaves about (τ/T)⁴ of its power, −60 dB to −80 dB for headphones; see
// the segments above. A sweep cannot show it; Agreement says whether it matters.
//
// # Levels
//
// Levels here are relative to full scale. Before playing material to people, see
// package level and the rules of your country about safe listening; this package
// does not know how loud it is.
package programme
