package report

import (
	"html/template"
	"regexp"
	"strings"
)

var (
	strongText = regexp.MustCompile(`\*\*([^*\s](?:[^*\n]*[^*\s])?)\*\*`)
	emphasis   = regexp.MustCompile(`\*([^*\s](?:[^*\n]*[^*\s])?)\*`)
	heading    = regexp.MustCompile(`^#{1,6}\s+(\S.*)$`)
	item       = regexp.MustCompile(`^\s*[-*+]\s+(\S.*)$`)
)

// markdown sets a reviewer's own words: paragraphs, "# headings", "- lists", *emphasis* and **strong
// emphasis** of Markdown. Everything else, HTML and links too, stays text.
func markdown(text string) template.HTML {
	var out strings.Builder
	var paragraph, items []string
	end := func() {
		if paragraph != nil {
			out.WriteString("<p>" + strings.Join(paragraph, "\n") + "</p>\n")
		}
		if items != nil {
			out.WriteString("<ul><li>" + strings.Join(items, "</li>\n<li>") + "</li></ul>\n")
		}
		paragraph, items = nil, nil
	}
	for _, line := range strings.Split(strings.ReplaceAll(text, "\r\n", "\n"), "\n") {
		switch {
		case strings.TrimSpace(line) == "":
			end()
		case heading.MatchString(line):
			end()
			out.WriteString("<h3>" + inline(heading.FindStringSubmatch(line)[1]) + "</h3>\n")
		case item.MatchString(line):
			if paragraph != nil {
				end()
			}
			items = append(items, inline(item.FindStringSubmatch(line)[1]))
		case items != nil: // goes on with the last item
			items[len(items)-1] += "\n" + inline(strings.TrimSpace(line))
		default:
			paragraph = append(paragraph, inline(line))
		}
	}
	end()
	return template.HTML(out.String())
}

// inline sets what stands within a line.
func inline(text string) string {
	text = template.HTMLEscapeString(typeset(text))
	text = strongText.ReplaceAllString(text, "<strong>$1</strong>")
	return emphasis.ReplaceAllString(text, "<em>$1</em>")
}
