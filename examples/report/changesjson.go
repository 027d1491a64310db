package report

import (
	"maps"
	"slices"

	"example.com/earnest/target/change"
	"example.com/earnest/target/review"
)

// conditionJSON is one condition less another.
type conditionJSON struct {
	From           string        `json:"from"`
	To             string        `json:"to"`
	Design         string        `json:"design"`
	Answer         string        `json:"answer"` // yes, no or cannot tell
	Sentence       string        `json:"sentence"`
	FrequencyHz    []number      `json:"frequency_hz"`
	LevelDB        []number      `json:"level_db"`
	HalfWidth95    []number      `json:"half_width_95_db"`
	Simultaneous95 []number      `json:"simultaneous_half_width_95_db"`
	ChangedHz      [][2]number   `json:"changed_hz"`
	PossibleDB     number        `json:"possible_db"`
	PossibleAtHz   number        `json:"possible_at_hz"`
	MarginDB       number        `json:"margin_db"`
	Figures        []changedJSON `json:"figures"`
	Octaves        []octaveJSON  `json:"octaves"`
	Notes          []string      `json:"notes"`
}

type changedJSON struct {
	Name string `json:"name"`
	figureJSON
	P        number `json:"p"`
	Adjusted number `json:"p_adjusted"`
	Changed  bool   `json:"changed"`
}

// specimensJSON holds the differences between specimens of one model, by frequency and figure.
type specimensJSON struct {
	Names       []string                `json:"names"`
	FrequencyHz []number                `json:"frequency_hz"`
	Variance    []varianceJSON          `json:"variance"`
	Figures     map[string]varianceJSON `json:"figures"`
	Notes       []string                `json:"notes"`
}

func newSpecimens(s *change.Specimens) *specimensJSON {
	if s == nil {
		return nil
	}
	out := &specimensJSON{Names: s.Names, FrequencyHz: numbers(s.Frequency), Figures: map[string]varianceJSON{},
		Notes: list(s.Notes)}
	for _, v := range s.Variance {
		out.Variance = append(out.Variance, newVariance(v))
	}
	for name, v := range s.Figures {
		out.Figures[name] = newVariance(v)
	}
	return out
}

// varianceJSON holds standard deviations and the interval of a further specimen.
type varianceJSON struct {
	Between figureJSON `json:"between"`
	Within  figureJSON `json:"within"`
	Next    figureJSON `json:"next"`
}

func newVariance(v change.Variance) varianceJSON {
	return varianceJSON{newFigure(v.Between), newFigure(v.Within), newFigure(v.Next)}
}

func newConditions(r *review.Results) (out []conditionJSON) {
	for i := range r.Changes {
		c := &r.Changes[i]
		one := conditionJSON{From: c.From, To: c.To, Design: c.Design, Answer: c.Answer.String(), Sentence: c.String(),
			FrequencyHz: numbers(c.Curve.Frequency), LevelDB: numbers(c.Curve.Level),
			HalfWidth95: numbers(c.Curve.HalfWidth(confidence)), Simultaneous95: numbers(c.Simultaneous),
			ChangedHz: [][2]number{}, PossibleDB: number(c.Possible), PossibleAtHz: number(c.PossibleAt),
			MarginDB: number(c.Margin),
			Octaves:  newDeviation(c.Deviation).Octaves, Notes: list(c.Notes)}
		for _, b := range c.Changed {
			one.ChangedHz = append(one.ChangedHz, newBand(b))
		}
		for _, f := range c.Figures {
			one.Figures = append(one.Figures, changedJSON{f.Name, newFigure(f.Figure), number(f.P),
				number(f.Adjusted), f.Changed})
		}
		out = append(out, one)
	}
	return out
}

func sortedKeys[T any](m map[string]T) []string { return slices.Sorted(maps.Keys(m)) }
