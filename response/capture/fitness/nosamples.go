package fitness

import (
	"fmt"

	"example.com/earnest/response"
)

// detectNoSamples finds a recording without samples or without a sample rate, or with values that
// are not numbers. It then has no other findings.
func detectNoSamples(rec *recording) []response.Finding {
	r := rec.Recording
	if r.SampleRate < 1 {
		return []response.Finding{
			rec.finding(response.Finding{Kind: NoSamples, Severity: response.Unfit, Time: nowhere, Duration: nowhere,
				What:   fmt.Sprintf("its sample rate is %d Hz, which is not valid", r.SampleRate),
				Remedy: "set the rate at which it was recorded"})}
	}
	if r.Len() == 0 {
		return []response.Finding{rec.finding(response.Finding{Kind: NoSamples, Severity: response.Unfit,
			What: "there are no samples in it", Remedy: "check that the recorder was armed, and record again"})}
	}
	for k, x := range r.Channels {
		for i, v := range x {
			if v-v != 0 {
				t := float64(i) / float64(r.SampleRate)
				return []response.Finding{
					rec.finding(response.Finding{Kind: NoSamples, Severity: response.Unfit, Channel: k + 1, Time: t,
						What: fmt.Sprintf("%s is not a number at %s", rec.label(k+1), seconds(t)), Remedy: "export the recording again"})}
			}
		}
	}
	return nil
}
