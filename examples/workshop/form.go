package main

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"example.com/earnest/examples/workshop/bench"
	"example.com/earnest/examples/workshop/lesson"
)

// request holds the settings and the lesson of a requested page.
type request struct {
	settings bench.Settings
	lesson   int // from 1
}

// address returns the page's address for a request, without the default values.
func (r request) address() string {
	q := url.Values{"lesson": {strconv.Itoa(r.lesson)}}
	for _, quantity := range bench.Quantities {
		if v := quantity.Of(r.settings); v != quantity.Of(bench.Default()) {
			q.Set(quantity.Name, bench.Format(v))
		}
	}
	return "/?" + q.Encode()
}

// control is one choice of the form.
type control struct {
	Name, Label, Default string
	Options              []option
}

func newControl(q bench.Quantity, s bench.Settings) control {
	c := control{Name: q.Name, Label: q.Label, Default: bench.Format(q.Of(bench.Default()))}
	now, listed := q.Of(s), false
	for _, choice := range q.Choices {
		listed = listed || choice.Value == now
		c.Options = append(c.Options, newOption(q, choice, now))
	}
	if !listed {
		c.Options = append(c.Options, newOption(q, bench.Choice{Value: now}, now))
	}
	return c
}

type option struct {
	Value, Label string
	Selected     bool
}

func newOption(q bench.Quantity, choice bench.Choice, now float64) option {
	o := option{Value: bench.Format(choice.Value), Label: choice.Label, Selected: choice.Value == now}
	if o.Label == "" {
		o.Label = signed(o.Value)
		if q.Unit != "" && o.Value != "none" {
			o.Label += " " + q.Unit
		}
	}
	return o
}

type group struct {
	Name     string
	Controls []control
}

// readRequest reads the address. Missing values keep their defaults. Invalid ones do too, and
// refused explains them.
func readRequest(q url.Values) (r request, refused []string) {
	r = request{bench.Default(), 1}
	for _, quantity := range bench.Quantities {
		if text := q.Get(quantity.Name); text != "" {
			if err := quantity.Set(&r.settings, text); err != nil {
				refused = append(refused, strings.TrimPrefix(err.Error(), "bench: "))
			}
		}
	}
	if text := q.Get("lesson"); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > len(lesson.All) {
			refused = append(refused, fmt.Sprintf("lesson %q does not exist; choose 1 to %d", text, len(lesson.All)))
		} else {
			r.lesson = n
		}
	}
	return r, refused
}

// form returns the controls with the current settings.
func form(s bench.Settings) []group {
	var out []group
	for _, g := range bench.Groups {
		f := group{Name: g.Name}
		for _, q := range g.Quantities {
			f.Controls = append(f.Controls, newControl(q, s))
		}
		out = append(out, f)
	}
	return out
}
