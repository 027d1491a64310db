package capture

import "fmt"

// rate compares the sample rate with that of the session. A stimulus of another rate is then not looked for.
func (e *examination) rate() {
	want := e.SampleRate
	if want == 0 && e.Stimulus != nil {
		want = e.Stimulus.Sweep().SampleRate()
	}
	if want == 0 || want == e.Recording.SampleRate {
		return
	}
	e.add(Finding{Kind: WrongRate, Severity: Unfit, Time: nowhere, Duration: nowhere,
		What:    fmt.Sprintf("recorded at %d Hz, the session is at %d Hz", e.Recording.SampleRate, want),
		Remedy:  fmt.Sprintf("set the recorder to %d Hz and record again", want),
		Figures: []Figure{{"sample rate", float64(e.Recording.SampleRate), "Hz"}, {"session", float64(want), "Hz"}}})
}
