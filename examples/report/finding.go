package report

import (
	"example.com/earnest/response"
)

// findingJSON is a finding about a recording.
type findingJSON struct {
	Recording string `json:"recording"`
	Kind      string `json:"kind"`
	Severity  string `json:"severity"`
	Channel   int    `json:"channel"` // from 1; 0 for all of it
	TimeS     number `json:"time_s"`
	DurationS number `json:"duration_s"`
	What      string `json:"what"`
	Remedy    string `json:"remedy"`
}

func newFindings(findings []response.Finding) []findingJSON {
	out := []findingJSON{}
	for _, f := range findings {
		out = append(out, findingJSON{f.Recording, string(f.Kind), f.Severity.String(), f.Channel, number(f.Time),
			number(f.Duration), f.What, f.Remedy})
	}
	return out
}

// remarks returns findings, one line each.
func remarks(findings []response.Finding) []string {
	out := []string{}
	for _, f := range findings {
		out = append(out, f.String())
	}
	return out
}
