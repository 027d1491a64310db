package plot

import (
	"fmt"
	"html/template"
)

func (p Plot) proportionNote() string {
	return fmt.Sprintf("One decade is as long as %g dB (IEC 60263).", p.proportion())
}

// Figure returns the whole plot: title, SVG, Key, Legend, Notes and Table in one figure element
// with the plot's id. Errors and panics are those of SVG.
func Figure(p Plot) (template.HTML, error) {
	svg, err := SVG(p)
	if err != nil {
		return "", err
	}
	return render(figureTemplate, struct {
		ID, Title                      string
		SVG, Key, Legend, Notes, Table template.HTML
	}{p.ID, plain(p.Title), svg, Key(p), Legend(p), Notes(p), Table(p)}), nil
}

// Notes returns the plot's notes and the links to explanations elsewhere in the page.
func Notes(p Plot) template.HTML {
	var notes []string
	for _, n := range p.Notes {
		notes = append(notes, plain(n))
	}
	return render(notesTemplate, struct {
		Notes     []string
		Terms     string
		Explained []Link
	}{notes, p.words().Terms, p.Explained})
}

var (
	figureTemplate = template.Must(template.New("figure").Parse(`<figure class="plot" id="{{.ID}}"><figcaption>{{.Title}}</figcaption>
{{.SVG}}
{{.Key}}{{.Legend}}
{{.Notes}}{{.Table}}
</figure>`))
	notesTemplate = template.Must(template.New("notes").Parse(`{{range .Notes}}<p class="plot-note">{{.}}</p>
{{end}}{{with .Explained}}<p class="plot-note">{{$.Terms}} {{range $i, $l := .}}{{if $i}}, {{end}}<a href="#{{.To}}"{{with .ID}} id="{{.}}"{{end}}>{{.Text}}</a>{{end}}</p>
{{end}}`))
)
