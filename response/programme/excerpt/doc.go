// Package excerpt cuts the same few seconds out of the direct recording of some material and out of
// the recording through the headphones, so that they can be compared by ear: aligned, of one
// polarity, and equally loud.
//
// A third version is the direct recording filtered by a measured response. It has the tonal change
// alone, without the rig's noise and room:
//
//	comparison, err := programme.Compare(direct, through, programme.Config{})
//	cut, err := excerpt.Cut(direct, through, comparison.Alignment, excerpt.Config{})
//	cut, err = cut.Filter("direct, filtered by the measured response", response)
//	versions, err := cut.Equalise()
//
// The listener's own headphones colour every version, and the recording through the headphones
// contains the rig as well.
package excerpt
