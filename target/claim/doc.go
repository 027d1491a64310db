// Package claim judges the specifications of a pair of headphones against what was measured of it.
// Each is met, not met, or cannot be told from this measurement.
//
// A claim is a line of a data sheet: [FrequencyRange], [Distortion],
// [MaximumLevel], [Sensitivity], [Impedance] or [Match]. What was measured is an
// [Evidence]. The [Verdict] is met, not met, or cannot tell here, always with the
// figure that was measured, how sure it is, and the reason in words.
//
// # The rule
//
// A claim is met, or not met, only when the figure stands clear of the limit by
// a guard band of its own uncertainty; [target.Decide] has the rule, which is that
// of JCGM 106:2012. In between this measurement cannot tell.
//
// A claim about a whole band is met where every frequency in it stands clear of the limit. It is not met
// where some frequency lies beyond the limit by more than chance makes of all the places in the band
// that are not shown to keep to it: of curves that are at their limit, at one place or at all, at most
// one in twenty is called not met.
//
// Nor can it where the claim does not say what it would take to test it (20 Hz to
// 20 kHz, at how many dB down?), where the microphone or the sample rate ends,
// where the reading is below the noise, or where nobody measured. A claim whose
// range is known to fail in one place is not met, whatever is not known elsewhere.
//
// # What stays in doubt
//
// A maker's figure was found on the maker's rig. A response, a sensitivity and a
// maximum level depend on the ear or plate they are measured on, so a verdict on
// them says what holds on this rig.
package claim
