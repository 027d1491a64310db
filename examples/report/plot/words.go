package plot

import (
	"encoding/json"
	"html/template"
	"image/color"
	"strings"
)

// Words are the texts of a plot, its table and its script. The zero value is English.
type Words struct {
	Decimal string // sign of numbers

	Table, Values, Thirds, Rows, Terms, NotKnown, From, To, Scale string

	// Of the script.
	At, Cell, Range, Read, Touch, Point, Tools, Mark, In, Out, Whole string
}

// local returns a number with the decimal sign of the language.
func (w Words) local(number string) string { return strings.Replace(number, ".", w.Decimal, 1) }

// English are the default words.
var English = Words{
	Decimal: ".",
	Table:   "Values as a table", Values: "%s: values", Thirds: "Third octaves only; the plot shows more.",
	Rows: "%d rows only; the plot shows more.", Terms: "Terms:", NotKnown: "not known", From: "from", To: "to",
	Scale: "Colour scale: %s, from dark to light %s",
	At:    "At %s", Cell: "At %s, %s: %s", Range: "%s to %s", Read: "Read values: %s",
	Touch: "To read values, touch a plot and move along it.",
	Point: "To read values, point at a plot, or move to it with Tab and use the arrow keys. To zoom, drag across it, " +
		"or use + and −; 0 shows the whole again.",
	Tools: "Zoom and marks", Mark: "Mark at: %s", In: "Zoom in", Out: "Zoom out", Whole: "Whole",
}

func (p Plot) words() Words {
	if p.Words == (Words{}) {
		return English
	}
	return p.Words
}

// Script returns the script that shows and hides curves, reads values at a cursor, zooms and sets
// marks. Put it into a script element anywhere in the page. Its controls are visible only when it
// runs.
func Script(w Words) template.JS {
	if w == (Words{}) {
		w = English
	}
	words, err := json.Marshal(w)
	if err != nil {
		panic(err) // cannot happen: strings always have a JSON form
	}
	var colours []int // of a map, as its lowest value to its highest
	for _, c := range palette[:shades] {
		n := c.(color.NRGBA)
		colours = append(colours, int(n.R)<<16|int(n.G)<<8|int(n.B))
	}
	scale, err := json.Marshal(colours)
	if err != nil {
		panic(err) // so have integers
	}
	return template.JS(strings.NewReplacer("WORDS", string(words), "COLOURS", string(scale)).Replace(script))
}
