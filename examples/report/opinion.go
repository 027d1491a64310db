package report

import (
	_ "embed"
	"html/template"
	"strings"

	"example.com/earnest/examples/opinion"
	"example.com/earnest/target/review"
)

//go:embed opinion.html
var opinionText string

// opinionJSON holds the reviewer's own words as written: Markdown by section. Text without a
// section is in the document's notes.
type opinionJSON struct {
	Sound        string `json:"sound,omitempty"`
	Comfort      string `json:"comfort,omitempty"`
	Build        string `json:"build,omitempty"`
	Use          string `json:"use,omitempty"`
	Price        string `json:"price,omitempty"`
	Availability string `json:"availability,omitempty"`
}

// newOpinion returns nil if the reviewer wrote no section.
func newOpinion(a review.About) *opinionJSON {
	out := opinionJSON{a.Opinion["sound"], a.Opinion["comfort"], a.Opinion["build"], a.Opinion["use"],
		a.Price, a.Availability}
	if out == (opinionJSON{}) {
		return nil
	}
	return &out
}

// opinions is a section of the reviewer's own words.
type opinions struct {
	Title string
	Words template.HTML
}

// given is a statement of the reviewer that was not measured.
type given struct{ Name, Value string }

// Opinions returns the sections that the reviewer wrote, beginning with the text without a name.
func (v *view) Opinions() (all []opinions, err error) {
	for _, section := range []struct{ name, title string }{{"", ""}, {"sound", v.Text("opinion.sound")},
		{"comfort", v.Text("opinion.comfort")}, {"build", v.Text("opinion.build")}, {"use", v.Text("opinion.use")}} {
		words := v.R.About.Opinion[section.name]
		if strings.TrimSpace(words) == "" {
			continue
		}
		level := 4
		if section.title == "" {
			level = 3
		}
		html, err := opinion.HTML(words, v.R.About.Photos, level, typeset)
		if err != nil {
			return nil, err
		}
		all = append(all, opinions{section.title, html})
	}
	return all, nil
}

// Given returns the price and the availability.
func (v *view) Given() (all []given) {
	for _, one := range []given{{v.Text("opinion.price"), v.R.About.Price},
		{v.Text("opinion.availability"), v.R.About.Availability}} {
		if strings.TrimSpace(one.Value) != "" {
			all = append(all, one)
		}
	}
	return all
}
