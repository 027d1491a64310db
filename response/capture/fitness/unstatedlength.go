package fitness

import (
	"example.com/earnest/response"
)

// detectUnstatedLength finds a file whose header does not state its length.
func detectUnstatedLength(r *recording) []response.Finding {
	if !r.Recording.LengthUnstated {
		return nil
	}
	return []response.Finding{r.finding(response.Finding{Kind: LengthUnstated, Time: nowhere, Duration: nowhere,
		What:   "the header does not state the length, so a missing end cannot be detected",
		Remedy: "let the recorder finish its file, or compare its length with that of the stimulus"})}
}
