// Package opinion prepares a reviewer's own words and photographs for the report. It converts
// Markdown to HTML that runs no code and loads nothing from elsewhere, and image files to small
// ones without place, date or camera.
package opinion

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"github.com/microcosm-cc/bluemonday"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/text"
)

// MaxText is the largest number of bytes of Markdown that are converted, some five thousand words.
// The time to convert hostile text grows with the square of its length.
const MaxText = 30_000

// markdown is CommonMark without raw HTML and without links that run something.
var markdown = goldmark.New()

// policy lists what is allowed in the page: text, its structure, links to other sites, and images
// inside the page.
var policy = func() *bluemonday.Policy {
	p := bluemonday.NewPolicy()
	p.AllowElements("p", "br", "hr", "h3", "h4", "h5", "h6", "ul", "ol", "li", "em", "strong", "blockquote", "code", "pre")
	p.AllowStandardURLs()
	p.AllowRelativeURLs(false) // they do not work once the page is passed on
	p.AllowAttrs("href").OnElements("a")
	p.AllowAttrs("alt").OnElements("img")
	p.AllowAttrs("src").OnElements("img")
	p.AllowDataURIImages()
	p.RequireNoReferrerOnLinks(true)
	return p
}()

// Photos returns the image files named in Markdown, each once and in order: ![caption](front.jpg).
func Photos(words string) (files []string) {
	source := []byte(words)
	eachImage(markdown.Parser().Parse(text.NewReader(source)), func(image *ast.Image) {
		if file := string(image.Destination); !slices.Contains(files, file) {
			files = append(files, file)
		}
	})
	return files
}

// HTML converts Markdown to HTML. Its headings begin at the given level, from 3 to 6. An image
// becomes the photograph of that file as returned by ReadPhoto, or only its caption if photos has
// none. Raw HTML and links other than http, https and mailto are left out. Typeset is applied to
// all texts.
func HTML(words string, photos map[string][]byte, level int, typeset func(string) string) (template.HTML, error) {
	if len(words) > MaxText {
		return "", fmt.Errorf("opinion: %d bytes of text, but at most %d are allowed; shorten "+
			"it", len(words), MaxText)
	}
	source := []byte(words)
	document := markdown.Parser().Parse(text.NewReader(source))
	var missing, shown []*ast.Image
	eachImage(document, func(image *ast.Image) {
		photo, there := photos[string(image.Destination)]
		if !there {
			missing = append(missing, image)
			return
		}
		image.Destination = []byte("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(photo))
		shown = append(shown, image)
	})
	for _, image := range shown { // its text is also its caption
		if words := plainText(image, source); words != "" {
			caption := ast.NewEmphasis(1)
			caption.AppendChild(caption, ast.NewString([]byte(words)))
			image.Parent().InsertAfter(image.Parent(), image, caption)
		}
	}
	for _, image := range missing {
		for child := image.FirstChild(); child != nil; child = image.FirstChild() {
			image.Parent().InsertBefore(image.Parent(), image, child)
		}
		image.Parent().RemoveChild(image.Parent(), image)
	}
	set(document, source, level, typeset)
	var out bytes.Buffer
	if err := markdown.Renderer().Render(&out, source, document); err != nil {
		return "", err
	}
	return template.HTML(policy.SanitizeBytes(out.Bytes())), nil
}

// set moves headings to their level and applies typeset to texts.
func set(document ast.Node, source []byte, level int, typeset func(string) string) {
	var texts []*ast.Text
	ast.Walk(document, func(n ast.Node, entering bool) (ast.WalkStatus, error) { //nolint:errcheck // it returns none
		switch n := n.(type) {
		case *ast.CodeSpan:
			return ast.WalkSkipChildren, nil
		case *ast.Heading:
			if entering {
				n.Level = min(6, level+n.Level-1)
			}
		case *ast.Text:
			if entering && !n.HardLineBreak() && n.Parent().Kind() != ast.KindImage {
				texts = append(texts, n)
			}
		}
		return ast.WalkContinue, nil
	})
	for _, n := range texts {
		words := typeset(string(n.Value(source)))
		if n.SoftLineBreak() {
			words += "\n"
		}
		n.Parent().ReplaceChild(n.Parent(), n, ast.NewString([]byte(words)))
	}
}

// plainText returns the text inside a node.
func plainText(n ast.Node, source []byte) string {
	var out strings.Builder
	ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) { //nolint:errcheck // it returns none
		if words, is := n.(*ast.Text); is && entering {
			out.Write(words.Value(source))
		}
		return ast.WalkContinue, nil
	})
	return out.String()
}

// eachImage calls do for each image.
func eachImage(document ast.Node, do func(*ast.Image)) {
	ast.Walk(document, func(n ast.Node, entering bool) (ast.WalkStatus, error) { //nolint:errcheck // it returns none
		if image, is := n.(*ast.Image); is && entering {
			do(image)
		}
		return ast.WalkContinue, nil
	})
}
