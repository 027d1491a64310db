package plot

import (
	"fmt"
	"html/template"
	"math"
	"slices"
)

// mostRows is the largest number of rows before a table is thinned.
const mostRows = 40

// place is the position of a table row, and the distance in viewBox units within which a separate
// point belongs to it.
type place struct {
	x, near float64
	name    string
}

func (s Series) cell(p Plot, v float64) string {
	number := p.words().local(Minus(p.Y.number(v)))
	switch {
	case !finite(v) && (s.Kind == Points || s.Kind == Bound):
		return "–"
	case !finite(v):
		return p.words().NotKnown
	case s.Kind == Bound:
		return "≤\u00a0" + number
	}
	return number
}

// rows chooses the rows and states how they were thinned.
func (f frame) rows(p Plot) (rows []place, thinned string) {
	xs := f.everyX(p.Series)
	near := 0.0
	switch {
	case len(xs) <= mostRows:
	case p.X.Unit == "Hz":
		return f.thirdOctaves(xs[0], xs[len(xs)-1]), p.words().Thirds
	default:
		near = f.width / mostRows
		xs = f.positions(p.Series, near)
		thinned = fmt.Sprintf(p.words().Rows, len(xs))
	}
	for _, x := range xs {
		rows = append(rows, place{x, near / 2, p.X.text(x)})
	}
	return rows, thinned
}

// nominal lists the nominal third-octave frequencies of a decade (ISO 266 and IEC 61260-1, annex E;
// from memory).
var nominal = [10]float64{1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8}

// thirdOctaves returns the nominal frequencies from low to high in Hz, from 1 Hz up. The values are
// read at the nominal frequency of a row, which is up to 1.2 % from the exact midband
// 1000·10^(n/10).
func (f frame) thirdOctaves(low, high float64) []place {
	var out []place
	for decade := 0; decade < maxDecades; decade++ {
		for _, digits := range nominal {
			x := digits * powerOfTen(1, decade)
			if x < low*(1-1e-9) || x > high*(1+1e-9) { // rounding
				continue
			}
			out = append(out, place{x, f.atX(x*math.Pow(10, 0.05)) - f.atX(x), f.x.text(x)})
		}
	}
	return out
}

// Table returns the data of the plot as a folded table. A long table over frequency is thinned to
// the nominal frequencies of third octaves, others to about forty rows of the series' own values.
// Values that are not known are marked so. The plot must be one that SVG accepts. Without curves
// the table is empty.
func Table(p Plot) template.HTML {
	if len(p.Series) == 0 {
		return ""
	}
	type cell struct {
		Text    string
		Unknown bool
	}
	type row struct {
		Place string
		Cells []cell
	}
	data := struct {
		ID, Title, X, Thinned, Table, Values string
		Columns                              []string
		Rows                                 []row
	}{ID: p.ID, Title: plain(p.Title), X: p.X.title(), Table: p.words().Table,
		Values: fmt.Sprintf(p.words().Values, plain(p.Title))}

	p.Series = slices.DeleteFunc(slices.Clone(p.Series), func(s Series) bool { return s.Name == "" })
	for _, s := range p.Series {
		s.mustMatch()
		data.Columns = append(data.Columns, column(s, p)...)
	}
	f := newFrame(p)
	var places []place
	places, data.Thinned = f.rows(p)
	for _, at := range places {
		r := row{Place: p.words().local(at.name)}
		for _, s := range p.Series {
			read := f.at(s, at.x, at.near)
			values := []float64{read.y}
			if s.Low != nil {
				values = append(values, read.low, read.high)
			}
			for _, v := range values {
				r.Cells = append(r.Cells, cell{s.cell(p, v), !finite(v)})
			}
		}
		data.Rows = append(data.Rows, r)
	}
	return render(tableTemplate, data)
}

func column(s Series, p Plot) []string {
	name := plain(s.Name)
	if p.Y.Unit != "" {
		name += ", " + plain(p.Y.Unit)
	}
	if s.Low == nil {
		return []string{name}
	}
	return []string{name, p.words().From, p.words().To}
}

var tableTemplate = template.Must(template.New("table").Parse(`<details class="plot-table" id="{{.ID}}-table"><summary>{{.Table}}<span class="plot-said">: {{.Title}}</span></summary>
{{- if .Thinned}}<p>{{.Thinned}}</p>{{end}}<div class="plot-scroll" tabindex="0" role="region" aria-label="{{.Values}}"><table>
<thead><tr><th scope="col">{{.X}}</th>{{range .Columns}}<th scope="col">{{.}}</th>{{end}}</tr></thead>
<tbody>{{range .Rows}}
<tr><th scope="row">{{.Place}}</th>{{range .Cells}}<td{{if .Unknown}} class="plot-gap"{{end}}>{{.Text}}</td>{{end}}</tr>{{end}}
</tbody></table></div></details>`))
