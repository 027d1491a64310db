package report

import (
	"fmt"
	"html/template"
	"regexp"
	"strings"

	"example.com/earnest/examples/report/plot"
)

// definition defines a figure of the page. The review's glossary has the same words; a test
// compares them.
type definition struct {
	ID, Term string
	// Meaning in one or two sentences. The glossary has the first one.
	Meaning string
	// Unit, and the reference of the figure; empty if there is none.
	Unit, Reference string
	Formula         string
	Source          string

	// Said is a regular expression for the figure in the page's sentences; empty if only labels
	// mention it.
	Said string
}

// glossaryUse is a section of the page that uses a definition. At is the id of the first link
// there.
type glossaryUse struct{ Section, At string }

// glossary holds the definitions of one page and their uses. It counts links in the order in which
// the page is written, so it is for one page and one goroutine.
type glossary struct {
	language
	section string
	uses    map[string][]glossaryUse
	count   int
}

// in sets the section of the links that follow.
func (g *glossary) in(section string) { g.section = section }

// use counts a link to a definition and returns the link's id.
func (g *glossary) use(id string) string {
	g.definition(id) // panics if there is none
	g.count++
	at := fmt.Sprintf("from-%s-%d", id, g.count)
	uses := g.uses[id]
	if len(uses) == 0 || uses[len(uses)-1].Section != g.section {
		g.uses[id] = append(uses, glossaryUse{g.section, at})
	}
	return at
}

// link returns a label that links to its definition.
func (g *glossary) link(id, label string) template.HTML {
	return template.HTML(fmt.Sprintf(`<a class="term" id="%s" href="#%s">%s</a>`,
		g.use(id), anchor(id), template.HTMLEscapeString(typeset(label))))
}

// explained returns the links of a plot.
func (g *glossary) explained(ids []string) []plot.Link {
	var links []plot.Link
	for _, id := range ids {
		links = append(links, plot.Link{Text: g.definition(id).Term, To: anchor(id), ID: g.use(id)})
	}
	return links
}

// sentence returns a text in which the first mention of each defined figure links to its
// definition.
func (g *glossary) sentence(text string) template.HTML {
	var out strings.Builder
	linked := map[string]bool{}
	end := 0
	for _, at := range g.mentions.FindAllStringSubmatchIndex(text, -1) {
		id := g.mentioned(at)
		if linked[id] {
			continue
		}
		linked[id] = true
		out.WriteString(template.HTMLEscapeString(typeset(text[end:at[0]])))
		out.WriteString(string(g.link(id, text[at[0]:at[1]])))
		end = at[1]
	}
	out.WriteString(template.HTMLEscapeString(typeset(text[end:])))
	return template.HTML(out.String())
}

// entries returns the definitions that the page has used so far.
func (g *glossary) entries() []glossaryEntry {
	var out []glossaryEntry
	for _, d := range g.Definitions {
		if uses := g.uses[d.ID]; len(uses) > 0 {
			out = append(out, glossaryEntry{d, anchor(d.ID), uses})
		}
	}
	return out
}

// glossaryEntry is a definition with the places that link to it.
type glossaryEntry struct {
	definition
	Anchor string
	Uses   []glossaryUse
}

// definition returns the definition of an id.
func (l language) definition(id string) definition {
	for _, d := range l.Definitions {
		if d.ID == id {
			return d
		}
	}
	panic("report: no definition " + id + " in " + l.Code)
}

// mentioned returns the id of the definition whose group matched.
func (l language) mentioned(at []int) string {
	group := 0
	for _, d := range l.Definitions {
		if d.Said == "" {
			continue
		}
		group++
		if at[2*group] >= 0 {
			return d.ID
		}
	}
	panic("report: a match without a group")
}

func anchor(id string) string { return "what-" + id }

// mentions returns an expression that finds figures in sentences, with a group for each definition.
func mentions(definitions []definition) *regexp.Regexp {
	var all []string
	for _, d := range definitions {
		if d.Said != "" {
			all = append(all, "("+d.Said+")")
		}
	}
	return regexp.MustCompile(`(?i)` + strings.Join(all, "|"))
}
