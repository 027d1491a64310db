package plot

import (
	"html/template"
	"slices"
)

// Legend names the curves and shows how each is drawn. When Script runs, every entry has a checkbox
// that shows and hides its curve, and carries its value at the cursor. The plot must be one that
// SVG accepts. Without curves the legend is empty.
func Legend(p Plot) template.HTML {
	if len(p.Series) == 0 {
		return ""
	}
	type entry struct {
		Index                             int
		Name, Class                       string
		Area, Band, Line, Marker, Hanging bool
		Shape                             string
	}
	data := struct {
		ID      string
		Entries []entry
		Unknown []string
	}{ID: p.ID}
	f := newFrame(p)
	for i, s := range p.Series {
		s.mustMatch()
		if s.Name == "" {
			continue
		}
		_, lone := f.curve(s)
		e := entry{
			Index: i, Name: plain(s.Name), Class: s.class(),
			Area: s.Kind == Floor, Band: s.Low != nil && s.Kind != Points, Line: s.Kind != Points,
			Hanging: s.Kind == Bound,
		}
		if s.Kind == Points || lone != "" || styles[s.Style].marked && s.Kind == Line {
			var d pathData
			scale := 1.0
			if lone != "" {
				scale = 0.6
			}
			styles[s.Style].draw(&d, point{18, 8}, scale)
			e.Shape = d.String()
		}
		data.Entries = append(data.Entries, e)
	}
	for _, u := range p.Unknown {
		if label := plain(u.Label); !slices.Contains(data.Unknown, label) {
			data.Unknown = append(data.Unknown, label)
		}
	}
	return render(legendTemplate, data)
}

var legendTemplate = template.Must(template.New("legend").Parse(`<div class="plot-legend" id="{{.ID}}-legend"><ul>
{{range .Entries}}<li data-curve="{{.Index}}"><label><input type="checkbox" checked="" hidden="" disabled="" autocomplete="off"/><svg class="plot-sample plot-curve {{.Class}}" viewBox="0 0 36 16" aria-hidden="true">
{{- if .Band}}<path class="plot-band" d="M1 3h34v10h-34z"/>{{end}}
{{- if .Area}}<path class="plot-area" d="M1 5h34v10h-34z"/>{{end}}
{{- if .Line}}<path class="plot-path" d="M1 {{if .Area}}5{{else}}8{{end}}h34"/>{{end}}
{{- if .Hanging}}<path class="plot-hanging" d="M9 8v6M18 8v6M27 8v6"/>{{end}}
{{- if .Shape}}<path class="plot-marker" d="{{.Shape}}"/>{{end}}</svg><span class="plot-name">{{.Name}}</span></label></li>
{{end}}{{range .Unknown}}<li class="plot-key"><svg class="plot-sample plot-unknown" viewBox="0 0 36 16" aria-hidden="true"><rect x="1" y="1" width="34" height="14" fill="url(#{{$.ID}}-hatch)"/></svg><span class="plot-name">{{.}}</span></li>
{{end}}</ul></div>`))
