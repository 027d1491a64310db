// Package claim judges the specifications of a pair of headphones against its measurements. Each is
// met, not met, or cannot be decided by this measurement.
//
// A claim is a line of a data sheet: [FrequencyRange], [Distortion], [MaximumLevel], [Sensitivity],
// [Impedance] or [Match]. The measurements are an [Evidence]. The [Verdict] is met, not met, or
// cannot tell here, always with the measured figure, its uncertainty, and the reason in words.
//
// # The rule
//
// A claim is met, or not met, only if the figure is clear of the limit by a guard band of its own
// uncertainty; [target.Decide] has the rule, which is that of JCGM 106:2012. In between, this
// measurement cannot tell.
//
// A claim about a whole band is met if every frequency in it is clear of the limit. It is not met
// if some frequency lies beyond the limit by more than is likely by chance among all places in the
// band that are not shown to be within it. Of curves that are at their limit, in one place or
// everywhere, at most one in twenty is called not met.
//
// The measurement also cannot tell if the claim does not say how it could be tested (20 Hz to 20
// kHz, at how many dB down?), where the microphone or the sample rate ends, if the reading is below
// the noise, or without a measurement. A claim whose range is known to fail in one place is not
// met, whatever is not known elsewhere.
//
// # What stays in doubt
//
// A maker's figure was found on the maker's rig. A response, a sensitivity and a maximum level
// depend on the ear or plate they are measured on, so a verdict on them says what holds on this
// rig.
package claim
