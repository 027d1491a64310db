package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/response/capture/placement"
)

// leastBesideGain is the least deviation in samples of a sweep from its place if the gain moves, or
// if the sides mix, which changes its delay a little.
const leastBesideGain = 5

// leastWithin is the least change in samples of that deviation within one sweep that shows a
// wavering time. A jump by whole periods, which leaves no trace in the sound, rarely makes one. A
// speed that wavers fast enough to matter is found by its phase; 0.1 ms once in a second move the
// response by 0.01 dB.
const leastWithin = 1

// withoutSideEffects removes the findings that are side effects of a jump. A cutoff that only some
// channels have is one: the missing samples held the treble.
func (r *recording) withoutSideEffects(found []response.Finding) []response.Finding {
	cut := func(f response.Finding) bool { return f.Figures["cutoff"].Known() }
	some := 0
	for _, f := range found {
		if cut(f) {
			some++
		}
	}
	return slices.DeleteFunc(found, func(f response.Finding) bool {
		return slices.Contains([]response.FindingKind{Wow, Disturbance, LevelControl, Fade, Echo}, f.Kind) ||
			some < len(r.channels) && cut(f)
	})
}

// detectMarkTiming compares the positions of marks and sweeps with those in the stimulus. A clock
// at another rate stretches all of them alike; a block that is missing, even from silence, does
// not. It is not used if a jump was found by its sound, or if nothing fits because the speed
// wavers.
func detectMarkTiming(r *recording, known []response.Finding) []response.Finding {
	is := func(kinds ...response.FindingKind) bool {
		return slices.ContainsFunc(known, func(f response.Finding) bool { return slices.Contains(kinds, f.Kind) })
	}
	if is(DroppedSamples, RepeatedSamples, NoSweep) {
		return nil
	}
	j, found := r.Jump()
	whole := j.Explained > 0.9
	// A mark is on both sides. If they mix, it is heard through another filter than the sweep, and only
	// a jump is known.
	mixed := slices.ContainsFunc(r.Placement.Channels, func(p placement.Place) bool { return p.OtherSide > mixedAbove })
	if (is(LevelControl, Fade) || mixed) && math.Abs(j.Farthest) < leastBesideGain || mixed && !whole {
		return nil
	}
	fs := float64(r.Recording.SampleRate)
	remedy := "raise the recorder's buffer size, close other programs, and record again"
	switch {
	case found && whole:
		f := response.Finding{Kind: DroppedSamples, Severity: response.Unfit, Time: j.From,
			Duration: j.To - j.From, Remedy: remedy,
			Figures: figures{"missing": figure(j.Missing/fs, "s"), "drift": figure(j.Drift, "ppm")}}
		what := map[bool]string{true: "missing", false: "too many"}[j.Missing > 0]
		f.What = fmt.Sprintf("about %s samples (%.2g ms) are %s between %s and %s",
			count(int(math.Round(math.Abs(j.Missing)))),
			1000*math.Abs(j.Missing)/fs, what, seconds(j.From), seconds(j.To))
		return []response.Finding{r.finding(f)}
	case found && j.Within > leastWithin && !is(Wow, LevelControl, Fade, LossyCodec, Resampled, Echo):
		return []response.Finding{
			r.finding(response.Finding{Kind: Wow, Severity: unfitIf(j.Within > 1e-4*fs), Time: nowhere, Duration: nowhere,
				What: fmt.Sprintf("wavers in time: parts of one sweep are up to %.2g ms off their places among each other; "+
					"the speed wavers, or an effect moves the sound", 1000*j.Within/fs),
				Remedy:  "play from a file at the session's rate and over a cable, without effects, and record again",
				Figures: figures{"off by": figure(j.Within/fs, "s")}})}
	case found && !is(Wow, LevelControl, Fade, LossyCodec, Resampled) && detectMovingEffect(r, known) == nil:
		return []response.Finding{
			r.finding(response.Finding{Kind: DroppedSamples, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
				What: fmt.Sprintf("sweeps are up to %.2g ms away from their places between the marks: "+
					"samples are missing or too many at several places, or the speed wavers, or an effect moves the sound", 1000*j.Farthest/fs),
				Remedy: remedy, Figures: figures{"off by": figure(j.Farthest/fs, "s")}})}
	case !found && math.Abs(j.Drift) > 1.5*capture.MaxDrift:
		return []response.Finding{offClock(r, j.Drift)}
	}
	return nil
}
