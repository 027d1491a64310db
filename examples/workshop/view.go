package main

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"regexp"
	"slices"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/examples/workshop/lesson"
)

var (
	//go:embed page.html
	pageText string
	//go:embed page.css
	pageStyle string
	//go:embed page.js
	pageScript string

	pageTemplate = template.Must(template.New("page").Parse(pageText))
)

// view is the content of the page.
type view struct {
	Nonce      string
	Refused    []string // settings in the address that are not possible
	Lessons    []link
	Lesson     lesson.Lesson
	Number     int
	Tries      []link
	Reading    string
	Groups     []group
	Remarks    []bench.Remark
	Headline   string
	Wrong      bool // whether any of the remarks is
	Sweep      string
	Took       int64           // ms
	Lead       template.HTML   // the picture that the lesson discusses
	Figures    []template.HTML // the others
	PlotStyle  template.CSS
	Style      template.CSS
	PlotScript template.JS
	Script     template.JS
}

func newView(asked request, r *bench.Result) (*view, error) {
	v := &view{
		Number: asked.lesson, Lesson: lesson.All[asked.lesson-1],
		Groups: form(asked.settings), Remarks: r.Remarks(), Headline: r.Headline(),
		PlotStyle: plot.CSS(), Style: template.CSS(pageStyle), PlotScript: plot.Script(plot.English), Script: template.JS(pageScript),
	}
	v.Wrong = slices.ContainsFunc(v.Remarks, func(m bench.Remark) bool { return m.Wrong })
	for i, l := range lesson.All {
		there := request{bench.Default(), i + 1}
		v.Lessons = append(v.Lessons, link{l.Title, there.address(), i+1 == asked.lesson})
	}
	for _, t := range v.Lesson.Tries {
		there := request{t.Settings(), asked.lesson}
		v.Tries = append(v.Tries, link{t.Label, there.address(), t.Settings() == asked.settings})
	}
	v.Reading = v.Lesson.Read(r)
	s := r.Sweep
	v.Sweep = signed(fmt.Sprintf("Played: a sweep from %.0f Hz to %.0f kHz in %.2f s at %.0f dBFS peak.",
		s.Start(), s.Stop()/1000, s.Duration(), s.Level()))
	all, err := figures(r)
	if err != nil {
		return nil, err
	}
	// Without a response that picture may be missing; the first one then replaces it.
	lead := max(0, slices.IndexFunc(all, func(f figure) bool { return f.ID == v.Lesson.Picture }))
	for i, f := range all {
		if i == lead {
			v.Lead = f.HTML
		} else {
			v.Figures = append(v.Figures, f.HTML)
		}
	}
	return v, nil
}

// write writes the page, whole.
func (v *view) write(w io.Writer) {
	var b bytes.Buffer
	if err := pageTemplate.Execute(&b, v); err != nil {
		panic(err) // the template is ours and writes to memory
	}
	w.Write(b.Bytes()) // an error means that the reader has gone
}

type link struct {
	Label, Address string
	Now            bool
}

// signed replaces the hyphen before numbers by a minus sign.
func signed(s string) string { return negative.ReplaceAllString(s, "${1}−${2}") }

var negative = regexp.MustCompile(`(^|[\s(])-(\d)`)
