package plot

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"
)

// Style is the look of a series: a colour with a dash, a weight or a marker, so that curves differ
// in more than colour.
type Style int

// The contrast of each colour to the paper is at least 4.5:1, as WCAG 2.2 (1.4.3) requires of text,
// since labels have the colour of their curves. Colours that look alike without red or green cones
// differ in lightness.
var styles = [...]style{
	Blue:      {light: "#14609f", dark: "#2f97ff", draw: polygon(5, 8, 0.125)},
	Vermilion: {light: "#93290b", dark: "#ee6a33", draw: polygon(5.6, 4, 0.125)},
	Ink:       {light: "#1d1d1f", dark: "#f1f1f1", draw: cross(5)},
	Green:     {light: "#0b8068", dark: "#3db896", draw: polygon(6, 3, 0)},
	Violet:    {light: "#a63ddb", dark: "#e6a9f7", draw: polygon(6, 4, 0)},
	Ochre:     {light: "#966d0a", dark: "#ead07a", draw: polygon(4.6, 8, 0.125), marked: true},
}

func (s Style) known() bool { return s >= 0 && int(s) < len(styles) }

const (
	Blue      Style = iota // solid; round markers
	Vermilion              // long dashes; square markers
	Ink                    // solid and heavy, the colour of the text; crosses
	Green                  // dash and dot; triangles
	Violet                 // dotted; diamonds
	Ochre                  // solid with rings
)

type style struct {
	light, dark string
	marked      bool // markers along the curve
	draw        marker
}

// theme holds the colours of everything except curves.
type theme struct{ paper, ink, quiet, grid, decade string }

func (t theme) properties(isLight bool) string {
	var b strings.Builder
	scheme := "dark"
	if isLight {
		scheme = "light"
	}
	fmt.Fprintf(&b, "color-scheme:%s;--plot-paper:%s;--plot-ink:%s;--plot-quiet:%s;--plot-grid:%s;--plot-decade:%s",
		scheme, t.paper, t.ink, t.quiet, t.grid, t.decade)
	for i, s := range styles {
		colour := s.dark
		if isLight {
			colour = s.light
		}
		fmt.Fprintf(&b, ";--plot-%d:%s", i, colour)
	}
	return b.String()
}

var (
	light = theme{paper: "#fffefc", ink: "#1d1d1f", quiet: "#56565c", grid: "#e6e3dd", decade: "#c4c0b8"}
	dark  = theme{paper: "#15171b", ink: "#ececee", quiet: "#aeb2ba", grid: "#2a2e34", decade: "#4a5059"}
)

//go:embed plot.css
var css string

//go:embed plot.js
var script string

// CSS returns the style sheet, needed once in a page. Its colours are custom properties
// (--plot-paper, --plot-ink, --plot-quiet, --plot-grid, --plot-decade, --plot-0 …) which the rest
// of the page may use. They follow prefers-color-scheme; data-theme="light" or "dark" on the root
// element overrides it. Paper is always light.
func CSS() template.CSS {
	lightRules, darkRules := light.properties(true), dark.properties(false)
	var b strings.Builder
	fmt.Fprintf(&b, ":root{%s}\n", lightRules)
	fmt.Fprintf(&b, "@media screen and (prefers-color-scheme:dark){:root:not([data-theme=light]){%s}}\n", darkRules)
	fmt.Fprintf(&b, "@media screen{:root[data-theme=dark]{%s}}\n", darkRules)
	for i := range styles {
		fmt.Fprintf(&b, ".plot-s%d{--curve:var(--plot-%d)}\n", i, i)
	}
	b.WriteString(css)
	return template.CSS(b.String())
}
