package fitness

import (
	"fmt"
	"math"
	"slices"

	"example.com/earnest/response"
	"example.com/earnest/response/capture"
	"example.com/earnest/sweep"
)

// slightlyOff is a difference of the clocks in parts per million that no two usual sample rates
// have.
const slightlyOff = 1e4

// ofOffClock are the kinds of faults for which a clock that is far off is taken, if the sweep is
// repeated: the last repeats lie where nothing was played.
var ofOffClock = []response.FindingKind{NoSweep, CutTail, DroppedSamples, Wow, WrongRate}

// withOffClock replaces the findings that a clock that is far off explains by one that names it.
// The distance of the repeats tells it.
func (r *recording) withOffClock(found []response.Finding) []response.Finding {
	explained := func(f response.Finding) bool { return slices.Contains(ofOffClock, f.Kind) }
	if !r.sought() || len(r.Stimulus.Sweeps(sweep.Left)) < 3 || !slices.ContainsFunc(found, func(f response.Finding) bool {
		return explained(f) && f.Severity == response.Unfit
	}) {
		return found
	}
	for _, c := range r.channels {
		off := 1e6 * (float64(r.OtherRate(c.number))/c.fs - 1)
		if math.Abs(off) > 1.5*capture.MaxDrift && math.Abs(off) < slightlyOff {
			return append(slices.DeleteFunc(found, explained), offClock(r, off))
		}
	}
	return found
}

// detectWrongRate compares the sample rate with that of the session. A stimulus of another rate is
// not searched for.
func detectWrongRate(r *recording) []response.Finding {
	want := r.SampleRate
	if want == 0 && r.Stimulus != nil {
		want = r.Stimulus.Sweep().SampleRate()
	}
	if want == 0 || want == r.Recording.SampleRate {
		return nil
	}
	return []response.Finding{
		r.finding(response.Finding{Kind: WrongRate, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
			What:   fmt.Sprintf("recorded at %d Hz, the session is at %d Hz", r.Recording.SampleRate, want),
			Remedy: fmt.Sprintf("set the recorder to %d Hz and record again", want),
			Figures: figures{"sample rate": figure(float64(r.Recording.SampleRate), "Hz"),
				"session": figure(float64(want), "Hz")}})}
}

// offClock returns the finding that the recorder's clock is off by more than crystals differ by, in
// parts per million.
func offClock(r *recording, off float64) response.Finding {
	return r.finding(response.Finding{Kind: WrongRate, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
		What: fmt.Sprintf("runs %.0f parts per million off the player's clock, more than crystals differ by",
			math.Abs(off)),
		Remedy:  "set player and recorder to the same sample rate and record again",
		Figures: figures{"drift": figure(off, "ppm")}})
}
