package report

import (
	"example.com/earnest/response/capture"
)

// Finding is something about a recording.
type Finding struct {
	Recording string `json:"recording"`
	Kind      string `json:"kind"`
	Severity  string `json:"severity"`
	Channel   int    `json:"channel"` // from 1; 0 for all of it
	TimeS     Number `json:"time_s"`
	DurationS Number `json:"duration_s"`
	What      string `json:"what"`
	Remedy    string `json:"remedy"`
}

func compileFindings(findings []capture.Finding) []Finding {
	out := []Finding{}
	for _, f := range findings {
		out = append(out, Finding{f.Recording, f.Kind.String(), f.Severity.String(), f.Channel, Number(f.Time), Number(f.Duration), f.What, f.Remedy})
	}
	return out
}
