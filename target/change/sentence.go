package change

import (
	"fmt"
	"math"
	"strings"

	"example.com/earnest/response"
)

// say adds what a reader has to know beside the change.
func (c *Change) say(d *design, pair [2]int) {
	for _, k := range pair {
		if d.counts[k] == 1 && c.Curve.Uncertainty != nil {
			c.Notes = append(c.Notes, fmt.Sprintf("There is one seating of %q: it is taken to scatter as the others do.",
				d.c.conditions[k]))
		}
	}
	const flat = 2 // dB
	level, ripple := c.Regions[0].Mean.Value, c.Ripple.Value
	if math.Abs(level) > flat && ripple < math.Abs(level)/4 {
		c.Notes = append(c.Notes, fmt.Sprintf("The whole curve moved by %+.1f dB, nearly the same at all frequencies: "+
			"a gain or volume that was changed between the conditions has the same effect. "+
			"If that is possible, look at the change of the shape.", level))
	}
}

// String is the change in a few sentences: by how much and where, or how large it can still be, or
// why nothing is known; and which of the seatings' own figures changed.
func (c *Change) String() string {
	var changed []string
	for _, f := range c.Figures[min(len(c.Figures), ofCurve):] {
		if f.Changed {
			changed = append(changed, fmt.Sprintf("%s changed by %s", f.Name, f.WithInterval(c.confidence)))
		}
	}
	if len(changed) == 0 {
		return c.ofResponse("change")
	}
	return c.ofResponse("change of the response") + " Of the figures, " + list(changed) + "."
}

// ofCurve is the number of figures that come from the curve, level and tilt. They stand first.
const ofCurve = 2

// ofResponse says how the response changed. The argument names the change where none was found.
func (c *Change) ofResponse(change string) string {
	band := c.Curve.Valid
	possible := fmt.Sprintf("no change larger than %.1f dB is left possible from %s to %s (%.3g %% confidence)",
		math.Ceil(10*c.Possible)/10, hertz(band.Low), hertz(band.High), 100*c.confidence)
	if math.IsNaN(c.Possible) {
		possible = "how large it can be elsewhere is not known"
	}
	switch {
	case len(c.Changed) > 0:
		var where []string
		for _, b := range c.Changed {
			where = append(where, spell(b))
		}
		const most = 4
		if len(where) > most {
			where = append(where[:most], "other places")
		}
		low, high := c.Surest.Level.Interval(0.95)
		half, decimals := (high-low)/2, 1
		if math.Abs(c.Surest.Level.Value)-half < 0.1 || half < 0.05 { // so that rounding takes neither the band to none nor its width
			decimals = 2
		}
		return fmt.Sprintf("Changed by %+.*f ± %.*f dB at %s; there is a change at %s. %s.",
			decimals, c.Surest.Level.Value, decimals, half, hertz(c.Surest.Frequency), list(where), strings.ToUpper(possible[:1])+possible[1:])
	case math.IsNaN(c.Possible) && c.Curve.Uncertainty != nil:
		return "Cannot tell: the uncertainty is not known at every frequency of the band; look at a narrower one."
	case math.IsNaN(c.Possible):
		return "Cannot tell: too little was measured to say how much another seating, or another day, would differ, " +
			"so there is no interval."
	case c.Possible <= c.Margin:
		return "No " + change + " was found, and " + possible + "."
	}
	return fmt.Sprintf("Cannot tell: no %s was found, but one of up to %.1f dB is left possible, at %s; "+
		"more seatings would narrow that.", change, math.Ceil(10*c.Possible)/10, hertz(c.PossibleAt))
}

func hertz(f float64) string {
	digits := math.Pow(10, math.Floor(math.Log10(f))-1)
	return response.FormatFrequency(math.Round(f/digits) * digits)
}

// spell is a stretch in words.
func spell(b response.Band) string {
	if hertz(b.Low) == hertz(b.High) {
		return hertz(b.Low)
	}
	return hertz(b.Low) + " to " + hertz(b.High)
}

func list(all []string) string {
	if len(all) == 1 {
		return all[0]
	}
	return strings.Join(all[:len(all)-1], ", ") + " and " + all[len(all)-1]
}
