package capture

import (
	"fmt"

	"example.com/earnest/response"
)

// rate compares the sample rate with that of the session. A stimulus of another rate is then not looked for.
func (e *examination) rate() {
	want := e.SampleRate
	if want == 0 && e.Stimulus != nil {
		want = e.Stimulus.Sweep().SampleRate()
	}
	if want == 0 || want == e.Recording.SampleRate {
		return
	}
	e.add(response.Finding{Kind: WrongRate, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
		What:    fmt.Sprintf("recorded at %d Hz, the session is at %d Hz", e.Recording.SampleRate, want),
		Remedy:  fmt.Sprintf("set the recorder to %d Hz and record again", want),
		Figures: figures{"sample rate": figure(float64(e.Recording.SampleRate), "Hz"), "session": figure(float64(want), "Hz")}})
}
