package report

import (
	"example.com/earnest/target"
	"example.com/earnest/target/review"
)

// Use is the verdict for something that headphones are worn for.
type Use struct {
	Use     string   `json:"use"`
	Answer  string   `json:"answer"`
	Reasons []string `json:"reasons"`
	// Warnings belong beside the answer.
	Warnings []string `json:"warnings"`
}

// Claim is the verdict on a figure of the maker's.
type Claim struct {
	Claim    string `json:"claim"`
	Outcome  string `json:"outcome"`
	Cause    string `json:"cause"`
	Measured Figure `json:"measured"`
	Reason   string `json:"reason"`
	// Warnings belong beside the outcome.
	Warnings []string `json:"warnings"`
}

// Place is a pair in the ranking, the pair itself among them. From Best to Worst
// are the places, from 1, that it may hold: a range is a tie.
type Place struct {
	Name   string `json:"name"`
	Itself bool   `json:"itself"`
	Best   int    `json:"best"`
	Worst  int    `json:"worst"`
	RMS    Figure `json:"rms"`
}

func compileUses(j *review.Judgement) []Use {
	out := []Use{}
	for _, v := range j.Uses {
		out = append(out, Use{v.Use, v.Answer.String(), v.Reasons(), list(v.Warnings)})
	}
	return out
}

func compileClaims(j *review.Judgement) []Claim {
	out := []Claim{}
	for _, v := range j.Claims {
		out = append(out, Claim{v.Claim, v.Outcome.String(), v.Cause.String(), figure(v.Measured), v.Reason, list(v.Warnings)})
	}
	return out
}

// compileRanking has the places, and what belongs beside them.
func compileRanking(r *target.Ranking) (places []Place, warnings []string) {
	if r == nil {
		return []Place{}, []string{}
	}
	for _, p := range r.Places {
		places = append(places, Place{p.Name, p.Session == 0, p.Best, p.Worst, figure(p.Deviation.RMS)})
	}
	return places, list(r.Warnings)
}

// list is what JSON writes as [] where there is nothing.
func list(sentences []string) []string { return append([]string{}, sentences...) }
