package report_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"example.com/earnest/internal/testing/browser"
)

func TestPageByAxe(t *testing.T) {
	v := browser.Visit(t)
	path := page(t, "whole", all())
	for _, path := range []string{path, strings.TrimSuffix(path, ".html") + "-de.html"} {
		v.Open("file://" + path)
		v.Press(kb.Tab) // somebody with a keyboard, to whom a definition is shown
		v.Do(chromedp.Focus(chromedp.CSS(".answer a.term")))
		v.Axe()
	}
}
