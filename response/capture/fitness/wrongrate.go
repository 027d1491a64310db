package fitness

import (
	"fmt"

	"example.com/earnest/response"
)

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
