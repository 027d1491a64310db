package report

import (
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// useJSON is the verdict for one use of headphones.
type useJSON struct {
	Use     string   `json:"use"`
	Answer  string   `json:"answer"`
	Reasons []string `json:"reasons"`
	// Warnings belong beside the answer.
	Warnings []string `json:"warnings"`
}

// claimJSON is the verdict on a claim of the maker.
type claimJSON struct {
	Claim    string     `json:"claim"`
	Outcome  string     `json:"outcome"`
	Cause    string     `json:"cause"`
	Measured figureJSON `json:"measured"`
	Reason   string     `json:"reason"`
	// Warnings belong beside the outcome.
	Warnings []string `json:"warnings"`
}

// placeJSON is a pair in the ranking, the pair itself among them. Best and Worst are the ends of
// its possible places, from 1; a range is a tie.
type placeJSON struct {
	Name   string     `json:"name"`
	Itself bool       `json:"itself"`
	Best   int        `json:"best"`
	Worst  int        `json:"worst"`
	RMS    figureJSON `json:"rms"`
}

func newUses(j *review.Judgement) []useJSON {
	out := []useJSON{}
	for _, v := range j.Uses {
		out = append(out, useJSON{v.Use, v.Answer.String(), v.Reasons, list(v.Warnings)})
	}
	return out
}

func newClaims(j *review.Judgement) []claimJSON {
	out := []claimJSON{}
	for _, v := range j.Claims {
		out = append(out, claimJSON{v.Claim, string(v.Outcome), string(v.Cause), newFigure(v.Measured),
			v.Reason, list(v.Warnings)})
	}
	return out
}

// newRanking returns the places and the warnings.
func newRanking(r *target.Ranking) (places []placeJSON, warnings []string) {
	if r == nil {
		return []placeJSON{}, []string{}
	}
	for _, p := range r.Places {
		places = append(places, placeJSON{p.Name, p.Pair == 0, p.Best, p.Worst, newFigure(p.Deviation.RMS)})
	}
	return places, list(r.Warnings)
}

// list returns a slice that JSON writes as [] if it is empty.
func list(sentences []string) []string { return append([]string{}, sentences...) }
